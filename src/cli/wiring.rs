//! `duskloom wiring`.

use std::path::PathBuf;

use clap::Args;

use duskloom::board;
use duskloom::board::wiring::{Figure, Item};
use duskloom::design::Design;

use super::failure::Failure;
use super::file;
use super::project::ProjectFile;
use super::screen::{self, Form, Format};
use super::watch::{Again, again};

/// Show how to wire it: the package, the parts, the fuses, what to mind
///
/// Draws the chip from above with what goes to each leg; lists the parts with their values, worked out
/// from `strings`, `supply` and `charge_pump` where the project has them; and tells what each fuse bit
/// does, with the avrdude line that sets them and a warning before any that would shut the programmer
/// out. `build` writes the same to wiring.txt, to keep at the bench. With `--svg` it draws the whole
/// circuit, every part under the mark that the parts list has for it; `--format csv` is the parts list
/// for a shop's form or a spreadsheet.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Wiring {
    #[command(flatten)]
    project: ProjectFile,
    /// Draw the circuit into this file instead, as a picture
    #[arg(long, value_name = "PICTURE", conflicts_with = "format")]
    svg: Option<PathBuf>,
    #[command(flatten)]
    again: Again,
    /// For people, or for scripts; as CSV, the parts list alone
    #[arg(long, value_enum, default_value_t = Form::Text)]
    format: Form,
}

const EXAMPLES: &str = "\
Examples:
  duskloom wiring porch.yaml
  duskloom wiring porch.yaml --svg porch-circuit.svg
  duskloom wiring porch.yaml --format csv > porch-parts.csv
  duskloom explain E001                         why a string may not get its current

Follow your local codes, and leave mains wiring to licensed people.";

impl Wiring {
    pub(super) fn reader(&self) -> Format {
        self.format.reader()
    }

    pub(super) fn run(self) -> Result<(), Failure> {
        if self.again.watch {
            return again(&self.project, |design| self.show(design));
        }
        self.show(&self.project.design()?)
    }

    fn show(&self, design: &Design) -> Result<(), Failure> {
        screen::cautions(design.advice());
        let card = board::wiring(design, &board::report(design));
        if let Some(place) = &self.svg {
            return file::write(place, file::Kind::Svg, &card.svg());
        }
        screen::print(&match self.format {
            Form::Text => card.text(),
            Form::Json => screen::json(&card)?,
            Form::Csv => table(&card.parts)?,
        })
    }
}

/// The parts list, as RFC 4180 has it.
fn table(parts: &[Item]) -> Result<String, Failure> {
    let head = [
        "marks", "count", "kind", "value", "unit", "ratings", "what", "place",
    ];
    let mut writer = csv::Writer::from_writer(Vec::new());
    let failure = |error: csv::Error| Failure::world(error.to_string());
    writer.write_record(head).map_err(failure)?;
    for item in parts {
        let (value, unit) = item
            .value
            .map_or_else(Default::default, |figure| (figure.number(), figure.unit));
        let ratings: Vec<String> = item.ratings.iter().map(Figure::to_string).collect();
        let count = item.count.to_string();
        let (marks, ratings) = (item.marks.join(" "), ratings.join("; "));
        let record = [
            &marks,
            &count,
            item.kind.text(),
            &value,
            unit,
            &ratings,
            &item.what,
            &item.place,
        ];
        writer.write_record(record).map_err(failure)?;
    }
    let bytes = writer
        .into_inner()
        .map_err(|error| Failure::world(error.to_string()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
