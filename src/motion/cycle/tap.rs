//! Tapping cycles G74 and G84: in at feed, reverse, out at feed, reverse again.

use super::{CycleMove, Path};
use crate::motion::{CyclePart, SpindleSense};

/// Taps, with the spindle turned to `out` at the bottom and back to its own sense at the top.
pub(super) fn tap(path: &mut Path<'_, impl FnMut(CycleMove)>, out: SpindleSense) {
    let call = path.call;
    let inward = match out {
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
