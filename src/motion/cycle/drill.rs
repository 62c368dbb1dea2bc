//! Drilling cycles: G81 and G82 in one stroke, G73 and G83 in pecks.

use super::{CycleMove, Path};
use crate::motion::CyclePart;

/// More pecks than any hole needs; what is left after them is taken in one stroke.
const MOST_PECKS: u32 = 10_000;
/// A last peck shorter than this is part of the one before it, mm.
const SHORTEST_PECK: f64 = 1e-6;

/// G81, and G82 with its dwell.
pub(super) fn plain(path: &mut Path<'_, impl FnMut(CycleMove)>) {
    path.feed(path.call.bottom, CyclePart::Feed(1));
    path.dwell();
    path.rapid(path.call.clear, CyclePart::Retract);
}

/// G73: each peck backs off a little, so that every later stroke is longer by the back-off.
pub(super) fn chip_break(path: &mut Path<'_, impl FnMut(CycleMove)>) {
    let back_off = path.call.back_off.unwrap_or(0.0);
    pecks(path, |path, peck, depth| path.rapid(depth + back_off, CyclePart::PeckRetract(peck)));
}

/// G83: each peck leaves the hole and comes back to just above the last depth.
pub(super) fn full_retract(path: &mut Path<'_, impl FnMut(CycleMove)>) {
    let clearance = path.call.back_off.unwrap_or(0.0);
    pecks(path, |path, peck, depth| {
        path.rapid(path.call.peck_clear, CyclePart::PeckRetract(peck));
        path.rapid(depth + clearance, CyclePart::PeckReturn(peck + 1));
    });
}

/// Strokes of Q counted from R, with `between` after every one but the last.
fn pecks<E: FnMut(CycleMove)>(path: &mut Path<'_, E>, mut between: impl FnMut(&mut Path<'_, E>, u32, f64)) {
    let call = path.call;
    let mut peck = 1;
    while let Some(depth) = call.q.map(|q| call.r - f64::from(peck) * q) {
        let goes_on = depth < call.r && depth > call.bottom + SHORTEST_PECK && peck < MOST_PECKS;
        if !goes_on {
            break;
        }
        path.feed(depth, CyclePart::Feed(peck));
        between(path, peck, depth);
        peck += 1;
    }
    path.feed(call.bottom, CyclePart::Feed(peck));
    path.dwell();
    path.rapid(call.clear, CyclePart::Retract);
}
