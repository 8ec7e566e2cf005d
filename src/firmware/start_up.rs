//! What comes before the tables: vectors, the interrupt, and the start-up, which may lie among the vectors.

use std::sync::LazyLock;

use minijinja::Environment;
use serde::Serialize;

use super::Firmware;
use super::dark::{self, DarkText};
use super::vectors::Vectors;
use crate::assembly::Listing;
use crate::drive::timer::Keeper;
use crate::drive::{Text, mixed, port, timer};
use crate::plan::Plan;
use crate::template::{environment, rendered};
use crate::units::Bytes;

/// The start-up's text and that of the dark, by name.
pub const TEMPLATES: [(&str, &str); 2] = {
    let text = include_str!("../../templates/c/start_up.S.j2").trim_ascii_end();
    [("start_up.S", text), dark::TEMPLATE]
};

static ENVIRONMENT: LazyLock<Environment<'static>> = LazyLock::new(|| {
    environment(
        &[
            &TEMPLATES[..],
            &timer::TEMPLATES,
            &port::TEMPLATES,
            &mixed::TEMPLATES,
        ]
        .concat(),
    )
});

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
        let nameless = std::iter::repeat("");
        let context = Context {
            drive: plan.drive.text(nameless, Keeper::Registers),
            start_up: self,
        };
        let text = rendered(&ENVIRONMENT, "start_up.S", &context);
        Listing::read(&text).size()
    }
}

/// What lies at the vectors, the start-up among it where there is room.
pub fn vectors(plan: &Plan, dark_first: bool) -> Vectors {
    Vectors::new(plan, StartUp::new(plan, dark_first).size(plan))
}

/// All that comes before the tables: vectors and interrupt.
pub fn before_tables(plan: &Plan) -> Bytes {
    // Where the start-up lies among them, they take no more.
    Vectors::new(plan, Bytes(0)).size()
}

/// What takes room of its own besides vectors, tables, player and `main`: the start-up and the interrupts, where
/// they do not lie at the vectors, and what standby and evenings have.
pub fn once(plan: &Plan, firmware: &Firmware) -> Bytes {
    let dark_first = firmware.dark_first;
    let start_up = StartUp::new(plan, dark_first).size(plan);
    let start_up = match vectors(plan, dark_first).have_start_up() {
        true => 0,
        false => start_up.0,
    };
    let apart = plan.handlers().iter();
    let apart = apart.filter(|handler| handler.apart.is_some());
    let interrupts: u32 = apart.map(|handler| handler.size.0).sum();
    Bytes(start_up + interrupts + in_the_dark(plan, firmware).0)
}

/// What standby and evenings take.
fn in_the_dark(plan: &Plan, firmware: &Firmware) -> Bytes {
    #[derive(Serialize)]
    struct Context {
        #[serde(flatten)]
        text: DarkText,
        jump: &'static str,
    }
    if plan.power_down.is_none() {
        return Bytes(0);
    }
    let context = Context {
        text: DarkText::new(plan, firmware),
        jump: StartUp::new(plan, false).jump,
    };
    Listing::read(&rendered(&ENVIRONMENT, dark::TEMPLATE.0, &context)).size()
}
