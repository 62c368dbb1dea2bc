//! Which parts of a tool's front may meet material, told by cells and patches alone: most places a tool passes again are
//! found empty here, before any shape is measured.

use super::marks::BEYOND;
use super::patch::{ALL, WIDE};
use super::view::View;

/// Last of the parts that the leading half is divided in, equally wide across the path: the bits of a word.
const LAST: u32 = u64::BITS - 1;
/// Parts of one tool radius.
const FINE: f64 = 32.0;

/// Parts of the leading half that may meet material, from right to left.
#[derive(Clone, Copy, Debug, Default)]
pub struct Ahead {
    parts: u64,
}

impl Ahead {
    /// Adds the parts within `about` of a place.
    fn add(&mut self, [_, left]: [f64; 2], about: f64) {
        self.parts |= (u64::MAX << part(left - about)) & (u64::MAX >> (LAST - part(left + about)));
    }

    /// Neighbouring parts together, between sines.
    pub fn spans(self) -> impl Iterator<Item = (f64, f64)> {
        let mut parts = self.parts;
        std::iter::from_fn(move || {
            let first = parts.trailing_zeros();
            let end = first + parts.checked_shr(first)?.trailing_ones();
            parts &= u64::MAX.checked_shl(end).unwrap_or(0);
            Some((sine(first), sine(end)))
        })
    }
}

/// The part a sine lies in.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a cast saturates")]
fn part(sine: f64) -> u32 {
    (((sine + 1.0) * FINE) as u32).min(LAST)
}

/// The sine a part begins at.
fn sine(part: u32) -> f64 {
    f64::from(part) / FINE - 1.0
}

/// A circle about a cell or a patch, in tool radii, and between which squares of distances its middle lies when the tool's
/// circle passes it.
#[derive(Clone, Copy, Debug)]
struct Round {
    about: f64,
    inner: f64,
    outer: f64,
}

impl Round {
    fn new(about: f64) -> Self {
        let (inner, outer) = ((1.0 - about).max(0.0), 1.0 + about);
        Self { about, inner: inner * inner, outer: outer * outer }
    }

    /// Whether the leading half may pass it, about a place seen from the tool.
    fn is_passed(&self, [ahead, left]: [f64; 2]) -> bool {
        let square = ahead * ahead + left * left;
        ahead >= -self.about && square >= self.inner && square <= self.outer
    }
}

/// The patches of any cell, seen from the tool.
#[derive(Clone, Copy, Debug)]
pub struct PatchView {
    /// From the middle of a cell to its first patch.
    first: [f64; 2],
    /// To the next patch along X and along Y.
    steps: [[f64; 2]; 2],
    cell: Round,
    patch: Round,
}

impl PatchView {
    /// Cells of that side, mm.
    pub fn new(view: &View, side: f64) -> Self {
        let wide = f64::from(WIDE);
        let steps = view.axes(side / wide);
        let [along_x, along_y] = steps;
        let back = (1.0 - wide) / 2.0;
        let about = view.in_radii(side) * std::f64::consts::FRAC_1_SQRT_2;
        Self {
            first: [(along_x[0] + along_y[0]) * back, (along_x[1] + along_y[1]) * back],
            steps,
            cell: Round::new(about + BEYOND),
            patch: Round::new(about / wide + BEYOND),
        }
    }

    /// Adds the patches of a cell about `middle` that are `left`; a cell none of whose patches is gone counts as one.
    pub fn find(&self, mut left: u16, middle: [f64; 2], found: &mut Ahead) {
        if !self.cell.is_passed(middle) {
            return;
        }
        if left == ALL {
            return found.add(middle, self.cell.about);
        }
        let ([along_x, along_y], [ahead, aside]) = (self.steps, self.first);
        let (ahead, aside) = (middle[0] + ahead, middle[1] + aside);
        while left != 0 {
            let number = left.trailing_zeros() as u16;
            left &= left - 1;
            let (column, row) = (f64::from(number % WIDE), f64::from(number / WIDE));
            let place =
                [ahead + column * along_x[0] + row * along_y[0], aside + column * along_x[1] + row * along_y[1]];
            if self.patch.is_passed(place) {
                found.add(place, self.patch.about);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spans(places: &[f64]) -> Vec<(f64, f64)> {
        let mut ahead = Ahead::default();
        places.iter().for_each(|left| ahead.add([0.5, *left], 0.01));
        ahead.spans().collect()
    }

    #[test]
    fn neighbours_make_one_span_and_ends_stay_within_the_circle() {
        assert_eq!(spans(&[]), []);
        assert_eq!(spans(&[0.015, 0.04]), [(0.0, 0.0625)]);
        assert_eq!(spans(&[-1.2, 1.2, 0.015]), [(-1.0, -0.96875), (0.0, 0.03125), (0.96875, 1.0)]);
        let all: Vec<f64> = (-100..100).map(|place| f64::from(place) / 100.0).collect();
        assert_eq!(spans(&all), [(-1.0, 1.0)]);
    }
}
