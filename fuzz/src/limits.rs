//! The time and the memory that a person's patience allows.

use std::fs;
use std::time::{Duration, Instant};

use peak_alloc::PeakAlloc;

/// What a build may take, of the processor's time.
pub const BUILD: Duration = Duration::from_secs(2);
/// What all the other commands together may take.
pub const LOOKS: Duration = Duration::from_secs(10);
/// What any of them may take, in bytes.
const MEMORY: usize = 300 << 20;
/// No more of them work at a time.
const THREADS: u32 = 8;

/// The result of `work`.
///
/// # Panics
/// If it took too much.
pub fn within<T>(heap: &PeakAlloc, what: &str, time: Duration, work: impl Fn() -> T) -> T {
    let held = heap.current_usage();
    heap.reset_peak_usage();
    let start = Instant::now();
    let result = work();
    let memory = heap.peak_usage().saturating_sub(held);
    assert!(memory < MEMORY, "{what} took {} MB", memory >> 20);
    // The clock on the wall is asked first, as it costs next to nothing.
    if start.elapsed() * THREADS >= time {
        let start = processor_time();
        drop(work());
        let took = processor_time().saturating_sub(start);
        assert!(took < time, "{what} took {took:?}");
    }
    result
}

/// Of all threads: what else the machine does at the time does not count. proc(5): fields 14 and 15
/// of `stat`, in hundredths of a second.
fn processor_time() -> Duration {
    let stat = fs::read_to_string("/proc/self/stat").expect("Linux");
    let fields = stat.rsplit(") ").next().unwrap_or_default();
    let spent = fields
        .split(' ')
        .skip(11)
        .take(2)
        .flat_map(str::parse::<u64>);
    Duration::from_millis(spent.sum::<u64>() * 10)
}
