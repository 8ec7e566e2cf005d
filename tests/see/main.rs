//! What people look at, and what they review: pictures, differences, the schema.

mod diff;
mod picture;
mod schema;
mod support;
