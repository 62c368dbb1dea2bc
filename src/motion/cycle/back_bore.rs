//! G87: the tool goes through the hole off centre and bores upwards from the far side.

use super::{CycleMove, Path};
use crate::motion::{CyclePart, SpindleSense};

/// Off centre and stopped through the hole, on centre and turning up to the counterbore's end, and the same way back.
pub(super) fn back_bore(path: &mut Path<'_, impl FnMut(CycleMove)>) {
    let call = path.call;
    let (first, second, end) = path.offsets();
    let offset = (first.unwrap_or(0.0), second.unwrap_or(0.0));
    path.shift(offset);
    path.spindle(SpindleSense::Stopped);
    path.rapid(call.bottom, CyclePart::Approach);
    path.shift((0.0, 0.0));
    path.spindle(call.spindle);
    path.feed(end.unwrap_or(call.bottom), CyclePart::Feed(1));
    path.feed(call.bottom, CyclePart::Feed(2));
    path.spindle(SpindleSense::Stopped);
    path.shift(offset);
    path.rapid(call.clear, CyclePart::Retract);
    path.shift((0.0, 0.0));
    path.spindle(call.spindle);
}
