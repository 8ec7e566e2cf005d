//! Any text, to everything: its budget each time, and of all that can be written and shown a part that
//! the text chooses.

#![no_main]

use duskloom_fuzz::limits::{self, BUILD, within};
use duskloom_fuzz::project::LOOKS;
use duskloom_fuzz::{mutation, project};
use libfuzzer_sys::{fuzz_mutator, fuzz_target, fuzzer_mutate};
use peak_alloc::PeakAlloc;

#[global_allocator]
static HEAP: PeakAlloc = PeakAlloc;

fuzz_target!(|text: &[u8]| {
    let choice = project::Choice::of(text);
    let build = || project::build(text, choice.language, choice.whole);
    if let Some(built) = within(&HEAP, "a build", BUILD, build) {
        if let Some(look) = choice.look {
            within(&HEAP, "looking at it", limits::LOOKS, || {
                LOOKS[look](&built)
            });
        }
    }
});

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    mutation::mutated(data, size, max_size, seed)
        .unwrap_or_else(|| fuzzer_mutate(data, size, max_size))
});
