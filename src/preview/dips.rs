//! Dark moments between bright ones, which columns that show their brightest moment may swallow.

use crate::units::{DeltaLightness, Lightness};

use super::strip::Column;

/// Finds a channel's dips: it gets darker, then brighter again, both by a visible difference.
#[derive(Debug, Clone)]
pub(super) struct Dips {
    visible: f64,
    /// The brightest since the last dip.
    peak: f64,
    /// What may become a dip, since that peak.
    trough: Dip,
    /// In the order they were passed.
    found: Vec<Dip>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Dip {
    darkest: f64,
    /// The first and the last column in which it is about that dark.
    columns: (usize, usize),
}

impl Dips {
    /// Smaller differences than `visible` are none.
    pub(super) fn new(visible: DeltaLightness) -> Self {
        Self {
            visible: visible.0,
            peak: 0.0,
            trough: Dip {
                darkest: 0.0,
                columns: (0, 0),
            },
            found: Vec::new(),
        }
    }

    /// Takes the lightness of the next moment, which is in this column.
    pub(super) fn look(&mut self, column: usize, lightness: Lightness) {
        let now = lightness.0;
        let here = Dip {
            darkest: now,
            columns: (column, column),
        };
        let fell = self.peak - self.trough.darkest >= self.visible;
        if fell && now - self.trough.darkest >= self.visible {
            if self.found.last() != Some(&self.trough) {
                self.found.push(self.trough);
            }
            self.peak = now;
            self.trough = here;
        } else if now >= self.peak {
            self.peak = now;
            self.trough = here;
        } else if now < self.trough.darkest {
            self.trough = here;
        } else {
            self.trough.columns.1 = column;
        }
    }

    /// Marks the columns that are drawn brighter than a dip in them was, unless another shows it.
    pub(super) fn mark(&self, columns: &mut [Column]) {
        for dip in &self.found {
            let (first, last) = dip.columns;
            let swallows = |column: &Column| column.lightness.0 - dip.darkest >= self.visible;
            if columns[first..=last].iter().all(swallows) {
                columns[first].hides_a_dip = true;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The columns that hide a dip, of moments given column by column.
    fn hidden(moments: &[&[f64]]) -> Vec<usize> {
        let mut dips = Dips::new(DeltaLightness(10.0));
        let mut columns = vec![Column::default(); moments.len()];
        for (at, moments) in moments.iter().enumerate() {
            for &moment in *moments {
                columns[at].lightness = Lightness(columns[at].lightness.0.max(moment));
                dips.look(at, Lightness(moment));
            }
        }
        dips.mark(&mut columns);
        (0..columns.len())
            .filter(|&at| columns[at].hides_a_dip)
            .collect()
    }

    #[test]
    fn a_dark_moment_within_a_column_is_hidden() {
        assert_eq!(hidden(&[&[50.0, 0.0, 50.0]]), [0]);
    }

    #[test]
    fn a_dark_moment_on_the_edge_of_two_columns_is_hidden() {
        assert_eq!(hidden(&[&[50.0, 0.0], &[0.0, 50.0]]), [0]);
    }

    #[test]
    fn a_dark_column_shows_its_dip() {
        assert!(hidden(&[&[50.0, 0.0], &[0.0, 0.0], &[0.0, 50.0]]).is_empty());
        assert!(hidden(&[&[50.0, 5.0], &[6.0, 7.0], &[5.0, 50.0]]).is_empty());
    }

    #[test]
    fn a_flash_a_fade_and_a_small_dip_hide_nothing() {
        assert!(hidden(&[&[0.0, 50.0, 0.0], &[0.0, 0.0]]).is_empty());
        assert!(hidden(&[&[50.0, 40.0, 30.0], &[20.0, 10.0, 0.0]]).is_empty());
        assert!(hidden(&[&[50.0, 45.0, 50.0]]).is_empty());
    }
}
