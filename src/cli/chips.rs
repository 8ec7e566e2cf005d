//! `duskloom chips`.

use clap::Args;

use duskloom::chip;

use super::failure::Failure;
use super::{chip_card, screen};

/// List the supported chips, or show what one of them offers
///
/// Without a chip: one line each, with memories, PWM outputs and the fastest clock. With one: its
/// PWM outputs and their pins, clocks, timers, fuses as delivered, and its package.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Chips {
    /// The chip, such as attiny2313a
    #[arg(value_name = "CHIP")]
    chip: Option<String>,
}

const EXAMPLES: &str = "\
Examples:
  duskloom chips
  duskloom chips attiny85";

impl Chips {
    pub(super) fn run(self) -> Result<(), Failure> {
        match self.chip {
            None => screen::print(&chip_card::list()),
            Some(name) => {
                let chip = chip::find(&name.to_lowercase()).map_err(|nearest| {
                    let failure = Failure::usage(format!("there is no chip `{name}`"));
                    failure.hint(match nearest.as_slice() {
                        [] => "`duskloom chips` lists them".to_string(),
                        names => format!("did you mean {}?", names.join(" or ")),
                    })
                })?;
                screen::print(&chip_card::card(chip))
            }
        }
    }
}
