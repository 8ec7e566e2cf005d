//! Numbers and paths as SVG writes them.

use std::fmt::Write;

/// A length or place in a picture, to a tenth of its unit.
pub(super) fn coordinate(value: f64) -> String {
    let text = format!("{value:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if text == "-0" {
        "0".to_string()
    } else {
        text.to_string()
    }
}

/// The outline of bars that stand side by side on `ground`, `width` wide each, from `left` on.
/// Equal neighbours are one bar.
pub(super) fn bars(left: f64, width: f64, ground: f64, tops: &[f64]) -> String {
    let mut path = format!("M{} {}", coordinate(left), coordinate(ground));
    let mut height = coordinate(ground);
    for (at, &top) in tops.iter().enumerate() {
        let top = coordinate(top);
        if top != height {
            let x = coordinate(left + at as f64 * width);
            let _ = write!(path, "H{x}V{top}");
            height = top;
        }
    }
    let right = coordinate(left + tops.len() as f64 * width);
    let _ = write!(path, "H{right}V{}Z", coordinate(ground));
    path
}

/// A line through these points.
pub(super) fn line(points: impl Iterator<Item = (f64, f64)>) -> String {
    let mut path = String::new();
    for (at, (x, y)) in points.enumerate() {
        let word = if at == 0 { 'M' } else { 'L' };
        let _ = write!(path, "{word}{} {}", coordinate(x), coordinate(y));
    }
    path
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coordinates_are_short() {
        let said: Vec<String> = [0.0, -0.01, 2.0, 2.25, 2.96, -3.5].map(coordinate).to_vec();
        assert_eq!(said, ["0", "0", "2", "2.2", "3", "-3.5"]);
    }

    #[test]
    fn equal_bars_are_one() {
        let path = bars(10.0, 2.0, 40.0, &[40.0, 20.0, 20.0, 30.0]);
        assert_eq!(path, "M10 40H12V20H16V30H18V40Z");
    }

    #[test]
    fn a_line_goes_through_its_points() {
        assert_eq!(line([(0.0, 1.0), (2.0, 3.5)].into_iter()), "M0 1L2 3.5");
    }
}
