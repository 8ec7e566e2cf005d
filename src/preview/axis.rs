//! The time axis: where it is marked, and what is written there.

/// Intervals between marks, in seconds, and what they are written in.
const INTERVALS: &[f64] = &[
    1e-6, 2e-6, 5e-6, 1e-5, 2e-5, 5e-5, 1e-4, 2e-4, 5e-4, 1e-3, 2e-3, 5e-3, 0.01, 0.02, 0.05, 0.1,
    0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 900.0, 1800.0, 3600.0,
    7200.0, 14400.0, 21600.0, 43200.0, 86400.0, 172_800.0, 604_800.0,
];

/// A mark on the axis.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// In columns.
    pub at: usize,
    pub label: String,
}

/// The marks of an axis that starts at `start` seconds and has `columns` of `column` seconds each;
/// at least `gap` columns apart.
pub fn marks(start: f64, column: f64, columns: usize, gap: f64) -> Vec<Mark> {
    let interval = INTERVALS
        .iter()
        .copied()
        .find(|interval| interval / column >= gap)
        .unwrap_or(604_800.0);
    let first = (start / interval - 1e-9).ceil() as u64;
    (first..)
        .map(|n| n as f64 * interval)
        .map(|time| (((time - start) / column).round() as usize, time))
        .take_while(|(at, _)| *at < columns)
        .map(|(at, time)| Mark {
            at,
            label: label(time, interval),
        })
        .collect()
}

/// A time as marks of this interval have it.
fn label(time: f64, interval: f64) -> String {
    let (unit, size) = match interval {
        i if i >= 3600.0 => ("h", 3600.0),
        i if i >= 60.0 => ("min", 60.0),
        i if i >= 0.1 => ("s", 1.0),
        i if i >= 1e-3 => ("ms", 1e-3),
        _ => ("us", 1e-6),
    };
    let number = time / size;
    if interval / size >= 1.0 {
        format!("{number:.0} {unit}")
    } else {
        format!("{number:.1} {unit}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn labels(start: f64, column: f64, columns: usize) -> Vec<String> {
        let marks = marks(start, column, columns, 9.0);
        marks
            .into_iter()
            .map(|mark| format!("{}@{}", mark.label, mark.at))
            .collect()
    }

    #[test]
    fn marks_are_round_numbers_a_fair_way_apart() {
        assert_eq!(labels(0.0, 0.1, 30), ["0 s@0", "1 s@10", "2 s@20"]);
        assert_eq!(labels(2.3, 0.1, 20), ["3 s@7", "4 s@17"]);
        assert_eq!(labels(0.0, 0.0125, 20), ["0.0 s@0", "0.2 s@16"]);
        assert_eq!(labels(0.0, 100.0, 20), ["0 min@0", "15 min@9", "30 min@18"]);
        assert_eq!(labels(0.0, 1000.0, 15), ["0 h@0", "4 h@14"]);
    }
}
