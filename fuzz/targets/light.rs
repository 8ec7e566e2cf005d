//! Any memory, any presses.

#![no_main]

use duskloom_fuzz::light;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| light::play(data));
