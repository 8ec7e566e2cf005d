//! What lies at the interrupts' vectors, and where between them the start-up has room.

use serde::Serialize;

use crate::plan::Plan;
use crate::units::Bytes;

/// An interrupt that the firmware handles.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Vector {
    /// As avr-libc names it.
    pub vector: &'static str,
    pub number: u8,
    /// Where it lies, in bytes, and where what lies there ends.
    pub at: u32,
    pub end: u32,
    /// The template of the code that lies there, or where the jump there goes.
    pub code: Option<&'static str>,
    /// `None`, and no code: all it does is wake the processor.
    pub to: Option<&'static str>,
    /// What it is for.
    pub note: &'static str,
    /// The start-up follows.
    pub start_up: bool,
}

/// All vectors that are used but for reset's, by number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Vectors {
    pub used: Vec<Vector>,
    /// The start-up lies at reset's vector.
    pub starts_first: bool,
}

impl Vectors {
    /// With a start-up of so many bytes.
    pub fn new(plan: &Plan, start_up: Bytes) -> Self {
        let size = plan.chip.vectors.size.0;
        let mut used = handled(plan);
        used.sort_by_key(|vector| vector.number);
        let starts_first = start_up.0 <= used[0].at;
        if !starts_first {
            let ends: Vec<u32> = used.iter().skip(1).map(|next| next.at).collect();
            let gaps = used.iter_mut().zip(ends);
            let mut roomy =
                gaps.filter(|(before, end)| before.end.max(before.at + size) + start_up.0 <= *end);
            if let Some((before, _)) = roomy.next() {
                before.start_up = true;
            }
        }
        Self { used, starts_first }
    }

    /// Whether the start-up has room among them.
    pub fn have_start_up(&self) -> bool {
        self.starts_first || self.used.iter().any(|vector| vector.start_up)
    }

    /// What all of it takes, from reset's vector to the end of what lies at the last one.
    pub fn size(&self) -> Bytes {
        Bytes(self.used[self.used.len() - 1].end)
    }
}

/// What `reti` takes.
const RETURN: Bytes = Bytes(2);

fn handled(plan: &Plan) -> Vec<Vector> {
    let size = plan.chip.vectors.size.0;
    let vector = |vector, number: u8| Vector {
        vector,
        number,
        at: u32::from(number) * size,
        end: (u32::from(number) + 1) * size,
        code: None,
        to: Some("reset"),
        note: "the button wakes it: all starts anew",
        start_up: false,
    };
    let handlers = plan.handlers().iter().map(|handler| {
        let there = vector(handler.vector, handler.number);
        let (code, end) = match handler.apart {
            Some(_) => (None, there.end),
            None => (Some(handler.text), there.at + handler.size.0),
        };
        Vector {
            code,
            end,
            to: Some(handler.label),
            note: "other vectors follow too close",
            ..there
        }
    });
    let button = plan
        .power_down
        .iter()
        .flat_map(|power_down| &power_down.button);
    let button = button.map(|button| vector(button.waking.vector, button.waking.number));
    let counting = plan.watchdog.iter().flat_map(|watchdog| &watchdog.counting);
    let counting = counting.map(|counting| {
        let there = vector(counting.vector, counting.number);
        Vector {
            to: None,
            note: "a period of the watchdog is over",
            end: there.at + RETURN.0,
            ..there
        }
    });
    handlers.chain(button).chain(counting).collect()
}
