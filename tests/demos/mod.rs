//! The demos in `patterns/`: between them they use the whole grammar, they build without a warning
//! and fit their chips, their lights do what is promised, and what is committed in `out/` is what
//! `duskloom build` writes.

mod firmware;
mod grammar;
mod libraries;
mod light;
mod marine;
mod output;
mod safety;
mod support;
