//! What comes before the tables: vectors, the interrupt, and the start-up, which may lie among the vectors.

use std::sync::LazyLock;

use minijinja::Environment;
use serde::Serialize;

use crate::assembly::Listing;
use crate::drive::Drive;
use crate::drive::timer::{self, Text};
use crate::plan::Plan;
use crate::template::{environment, rendered};
use crate::units::Bytes;

/// The start-up's text, and what the drive has in it, by name.
pub const TEMPLATES: [(&str, &str); 4] = {
    let [about, handler, dark] = timer::TEMPLATES;
    let text = include_str!("../../templates/c/start_up.S.j2").trim_ascii_end();
    [("start_up.S", text), about, handler, dark]
};

static ENVIRONMENT: LazyLock<Environment<'static>> = LazyLock::new(|| environment(&TEMPLATES));

/// What its text says.
#[derive(Debug, Serialize)]
pub struct StartUp {
    /// Outputs may be turned on before the first light is at the pins.
    dark_first: bool,
    /// The stack pointer has a high byte; addresses in memory do.
    stack_high: bool,
    /// `rjmp` or `jmp`.
    jump: &'static str,
    vector_size: u32,
}

impl StartUp {
    pub fn new(plan: &Plan, dark_first: bool) -> Self {
        let chip = plan.chip;
        let last = u32::from(chip.ram.start) + chip.ram.size.0 - 1;
        Self {
            dark_first,
            stack_high: last > 0xFF,
            jump: if chip.vectors.size.0 == 4 {
                "jmp "
            } else {
                "rjmp"
            },
            vector_size: chip.vectors.size.0,
        }
    }

    fn size(self, plan: &Plan) -> Bytes {
        #[derive(Serialize)]
        struct Context {
            #[serde(flatten)]
            drive: Text,
            #[serde(flatten)]
            start_up: StartUp,
        }
        let Drive::Timer(drive) = &plan.drive;
        let context = Context {
            drive: drive.nameless(),
            start_up: self,
        };
        let text = rendered(&ENVIRONMENT, "start_up.S", &context);
        Listing::read(&text).size()
    }
}

/// The vectors before the interrupt's.
fn gap(plan: &Plan) -> Bytes {
    Bytes(u32::from(plan.handlers()[0].number) * plan.chip.vectors.size.0)
}

/// Whether the start-up finds room in the vectors that are never used.
pub fn starts_in_gap(plan: &Plan, dark_first: bool) -> bool {
    StartUp::new(plan, dark_first).size(plan) <= gap(plan)
}

/// All that comes before the tables: vectors and interrupt.
pub fn before_tables(plan: &Plan) -> Bytes {
    Bytes(gap(plan).0 + plan.drive.cost().size.0)
}

/// The start-up before `main`, where it takes room of its own; `dark_first`: with what makes the outputs
/// dark.
pub fn once(plan: &Plan, dark_first: bool) -> Bytes {
    let size = StartUp::new(plan, dark_first).size(plan);
    if size <= gap(plan) { Bytes(0) } else { size }
}
