//! Any text, until everything is decided: hundreds of times as many as of `project`.

#![no_main]

use duskloom_fuzz::limits::{BUILD, within};
use duskloom_fuzz::{mutation, project};
use libfuzzer_sys::{fuzz_mutator, fuzz_target, fuzzer_mutate};
use peak_alloc::PeakAlloc;

#[global_allocator]
static HEAP: PeakAlloc = PeakAlloc;

fuzz_target!(|text: &[u8]| {
    within(&HEAP, "reading", BUILD, || project::read(text));
});

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    mutation::mutated(data, size, max_size, seed)
        .unwrap_or_else(|| fuzzer_mutate(data, size, max_size))
});
