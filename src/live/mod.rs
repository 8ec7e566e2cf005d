//! The light in the terminal, in real time: shows, button and patterns, all on the model.
//!
//! ```text
//! keys ─→ Session (the model, at the person's pace) ─draw→ cells ─colour→ terminal
//! ```

mod colour;
mod draw;
mod keys;
mod screen;
mod session;

pub use colour::Colours;
pub use draw::draw;
pub use keys::Wish;
pub use screen::{End, Outlook, run};
pub use session::{Session, State};
