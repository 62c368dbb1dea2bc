//! Tapping cycles G74 and G84: in at feed, reverse, out at feed, reverse again.

use super::{CycleKind, CycleMove, Path};
use crate::motion::{CyclePart, SpindleSense};

/// Taps, with the spindle turned the other way at the bottom and back to the thread's sense at the top.
pub(super) fn tap(path: &mut Path<'_, impl FnMut(CycleMove)>) {
    let call = path.call;
    let CycleKind::Tap(inward) = call.code.kind() else { return };
    let out = match inward {
        SpindleSense::Clockwise => SpindleSense::Counterclockwise,
        SpindleSense::Counterclockwise | SpindleSense::Stopped => SpindleSense::Clockwise,
    };
    path.feed(call.bottom, CyclePart::Feed(1));
    path.dwell();
    path.spindle(SpindleSense::Stopped);
    path.spindle(out);
    path.feed(call.feed_out, CyclePart::Retract);
    path.spindle(SpindleSense::Stopped);
    path.spindle(inward);
    if call.feed_out != call.clear {
        path.rapid(call.clear, CyclePart::Retract);
    }
}
