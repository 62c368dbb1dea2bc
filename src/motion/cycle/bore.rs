//! Boring cycles that cut downwards: G76, G85, G86, G88 and G89. They differ in how the tool leaves.

use super::{CycleMove, Path};
use crate::motion::{CyclePart, SpindleSense};

/// G85, and G89 with its dwell: out at feed.
pub(super) fn feed_out(path: &mut Path<'_, impl FnMut(CycleMove)>) {
    let call = path.call;
    path.feed(call.bottom, CyclePart::Feed(1));
    path.dwell();
    path.feed(call.feed_out, CyclePart::Retract);
    if call.feed_out != call.clear {
        path.rapid(call.clear, CyclePart::Retract);
    }
}

/// G86: out at rapid rate with the spindle stopped.
pub(super) fn stop_and_rapid_out(path: &mut Path<'_, impl FnMut(CycleMove)>) {
    to_bottom_and_stop(path);
    path.rapid(path.call.clear, CyclePart::Retract);
    path.spindle(path.call.spindle);
}

/// G76: stopped and oriented, the edge taken off the wall by Q, out at rapid rate.
pub(super) fn shift_and_rapid_out(path: &mut Path<'_, impl FnMut(CycleMove)>) {
    let (first, second, _) = path.offsets();
    let offset = match (first, second) {
        (None, None) => (path.call.q.unwrap_or(0.0), 0.0),
        (first, second) => (first.unwrap_or(0.0), second.unwrap_or(0.0)),
    };
    to_bottom_and_stop(path);
    path.shift(offset);
    path.rapid(path.call.clear, CyclePart::Retract);
    path.shift((0.0, 0.0));
    path.spindle(path.call.spindle);
}

/// G88: the operator takes the tool out. Nothing is moved; the tool is taken to be at the clear height afterwards.
pub(super) fn manual_out(path: &mut Path<'_, impl FnMut(CycleMove)>) {
    to_bottom_and_stop(path);
    path.hand_over(path.call.clear);
    path.spindle(path.call.spindle);
}

fn to_bottom_and_stop(path: &mut Path<'_, impl FnMut(CycleMove)>) {
    path.feed(path.call.bottom, CyclePart::Feed(1));
    path.dwell();
    path.spindle(SpindleSense::Stopped);
}
