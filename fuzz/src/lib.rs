//! What the targets do, without the fuzzer: the tests play what it once found through the same.

pub mod light;
#[cfg(not(test))]
pub mod limits;
pub mod mutation;
pub mod project;
