//! For tests of what counts as closed.

/// Ticks with something closed or open, stretch by stretch.
pub(super) fn stretched(stretches: &[(usize, bool)]) -> impl Iterator<Item = bool> {
    let stretches = stretches.iter();
    stretches.flat_map(|&(ticks, closed)| std::iter::repeat_n(closed, ticks))
}
