//! Work on several cores at a time.

use std::num::NonZero;
use std::panic::resume_unwind;
use std::sync::atomic::{AtomicUsize, Ordering};

/// For each of so many things, in their order; as many at a time as the machine can.
pub(super) fn side_by_side<T: Send>(count: usize, of: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let work = || {
        let mine = || Some(next.fetch_add(1, Ordering::Relaxed)).filter(|&index| index < count);
        let done = std::iter::from_fn(|| mine().map(|index| (index, of(index))));
        done.collect::<Vec<_>>()
    };
    let mut done: Vec<(usize, T)> = std::thread::scope(|scope| {
        let workers = std::thread::available_parallelism().map_or(1, NonZero::get);
        let others: Vec<_> = (1..workers.min(count)).map(|_| scope.spawn(work)).collect();
        let mut done = work();
        for other in others {
            done.extend(other.join().unwrap_or_else(|panic| resume_unwind(panic)));
        }
        done
    });
    done.sort_by_key(|&(index, _)| index);
    done.into_iter().map(|(_, one)| one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn results_are_in_order() {
        for count in [0, 1, 2, 100] {
            let expected: Vec<usize> = (0..count).map(|n| n * n).collect();
            assert_eq!(side_by_side(count, |n| n * n), expected);
        }
    }
}
