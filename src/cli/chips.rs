//! `duskloom chips`.

use clap::Args;

use duskloom::chip::{self, Chip};

use super::chip_card;
use super::chip_data::ChipData;
use super::failure::Failure;
use super::screen::{self, Format};

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
    /// Use plain ASCII
    #[arg(long)]
    ascii: bool,
    /// For people, or for scripts
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

const EXAMPLES: &str = "\
Examples:
  duskloom chips
  duskloom chips attiny85
  duskloom chips attiny85 --format json";

impl Chips {
    pub(super) fn reader(&self) -> Format {
        self.format
    }

    pub(super) fn run(self) -> Result<(), Failure> {
        let chip = self.chip.as_deref().map(found).transpose()?;
        screen::print(&match (self.format, chip) {
            (Format::Text, None) => chip_card::list(),
            (Format::Text, Some(chip)) => chip_card::card(chip, self.ascii),
            (Format::Json, None) => {
                screen::json(&chip::all().map(ChipData::of).collect::<Vec<_>>())?
            }
            (Format::Json, Some(chip)) => screen::json(&ChipData::of(chip))?,
        })
    }
}

/// The chip of this name.
///
/// # Errors
/// There is none; names those that are near.
pub(super) fn found(name: &str) -> Result<&'static Chip, Failure> {
    chip::find(&name.to_lowercase()).map_err(|nearest| {
        let failure = Failure::usage(format!("there is no chip `{name}`"));
        failure.hint(match nearest.as_slice() {
            [] => "`duskloom chips` lists them".to_string(),
            names => format!("did you mean {}?", names.join(" or ")),
        })
    })
}
