//! What people look at, and what they review: pictures, differences, the schema.

mod browser;
mod diff;
mod inputs;
mod language_server;
mod live;
mod page;
mod picture;
mod schema;
mod support;
mod tint;
