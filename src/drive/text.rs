//! What the templates of every drive are told in the same words.

use serde::Serialize;

use super::timer::{Keeper, Shelter};

/// Registers that the interrupt keeps from the compiler.
#[derive(Debug, Serialize)]
pub(super) struct RegisterNames {
    pub first: u8,
    pub last: u8,
    pub work: Option<u8>,
    pub fixed: Vec<u8>,
    pub names: Vec<RegisterName>,
    pub overflows: u8,
}

#[derive(Debug, Serialize)]
pub(super) struct RegisterName {
    pub name: String,
    pub number: u8,
}

/// The light, for comments and for counts.
#[derive(Debug, Serialize)]
pub(super) struct PwmText {
    pub counts: u32,
    pub phases: u16,
    pub bits: u8,
    pub slowest: String,
}

/// Where the interrupt's state is when the compiler may use all registers. `None`: it has its own.
pub(super) fn shelter(keeper: Keeper) -> Option<Shelter> {
    match keeper {
        Keeper::Shelter(shelter) => Some(shelter),
        Keeper::Registers | Keeper::Nobody => None,
    }
}
