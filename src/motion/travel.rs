//! Straight moves and probing: which way, how far and how fast.

use super::runner::Runner;
use super::{
    Arc, ArcForm, Axes, CompensationFault, FaultKind, FeedMode, Group, Leg, Legs, MotionMode, Observer, Plane, Pose,
    StepKind,
};
use crate::job::InverseTime;

/// Axes A, B and C.
const ROTARY: u8 = 0b11_1000;
/// Shortest probing move, mm (NISTIR 6556, section 3.5.9).
const SHORTEST_PROBE: f64 = 0.254;
/// Parameters that hold where the probe tripped (NISTIR 6556, table 2).
const PROBE_PARAMETERS: u32 = 5061;

impl<O: Observer> Runner<'_, O> {
    /// Steps 19 and 20: what uses the axis words, and the motion.
    pub(super) fn motion(&mut self) {
        if self.words.has_codes() {
            self.non_modal();
            if self.words.cancel.is_some() {
                self.series.end();
            }
            if let Some((super::Action::Motion(mode), span)) =
                self.words.code(Group::Motion).map(|(code, span)| (code.action, span))
            {
                self.motion_mode(mode, span);
            }
        }
        match self.plan.motion {
            None | Some(MotionMode::None) => {}
            Some(MotionMode::Rapid) => self.straight(true),
            Some(MotionMode::Line) => self.straight(false),
            Some(MotionMode::ArcCw) => self.arc(true),
            Some(MotionMode::ArcCcw) => self.arc(false),
            Some(MotionMode::Probe) => self.probe(),
            Some(MotionMode::Cycle(code)) => self.cycle_block(code),
        }
    }

    fn straight(&mut self, rapid: bool) {
        let to = self.target(self.plan.machine);
        let feed = if rapid {
            None
        } else {
            let length = self.straight_length(&to);
            match self.path_feed(length, &to) {
                Ok(feed) => feed,
                Err(()) => return,
            }
        };
        self.restate(self.words.axes());
        let kind = if rapid { StepKind::Rapid } else { StepKind::Line };
        if self.compensation.is_some() && !self.plan.machine {
            let ([x, y, _], [from_x, from_y, _]) = (to.xyz, self.pose.xyz);
            let legs = match &mut self.compensation {
                Some(compensation) => compensation.line([from_x, from_y], [x, y], rapid),
                None => return,
            };
            self.legs(legs, kind, to, feed);
        } else {
            self.go(kind, to, feed, None);
        }
    }

    /// Length along X, Y, Z, mm; `None` when an end is not known.
    fn straight_length(&self, to: &Pose) -> Option<f64> {
        let (Some([x0, y0, z0]), Some([x1, y1, z1])) = (self.pose.point(), to.point()) else { return None };
        let [dx, dy, dz] = [x1 - x0, y1 - y0, z1 - z0];
        Some(libm::sqrt(dx * dx + dy * dy + dz * dz))
    }

    /// Feed of a move of `length` mm to `to`: mm/min, or deg/min when only rotary axes turn (NISTIR 6556, sections
    /// 2.1.2.5 and 3.5.19). `Err` when the block cannot run for want of one.
    pub(super) fn path_feed(&mut self, length: Option<f64>, to: &Pose) -> Result<Option<f64>, ()> {
        if self.feed_doubtful {
            self.report(FaultKind::Undeclared("machine.feed_memory"), self.block.span);
        }
        let rotary_only = self.words.axes().0 & !ROTARY == 0 && self.words.axes().0 != 0 || length == Some(0.0);
        if self.state.feed_mode.value == FeedMode::InverseTime {
            return self.inverse_feed(length, rotary_only, to);
        }
        let feed = if rotary_only && self.words.axes().0 & ROTARY != 0 { self.turning_feed() } else { self.state.feed };
        if self.settings.dialect.strict && feed.unwrap_or(0.0) == 0.0 {
            self.report(FaultKind::NoFeed, self.block.span);
            return Err(());
        }
        Ok(feed)
    }

    /// F as degrees.
    fn turning_feed(&self) -> Option<f64> {
        let feed = self.state.feed_word.value;
        match self.state.feed_mode.value {
            FeedMode::PerRev => feed.zip(self.state.speed.value).map(|(feed, speed)| feed * speed),
            FeedMode::PerMinute | FeedMode::InverseTime => feed,
        }
    }

    fn inverse_feed(&mut self, length: Option<f64>, rotary_only: bool, to: &Pose) -> Result<Option<f64>, ()> {
        let Some(word) = self.words.get(b'F') else {
            self.report(FaultKind::NoInverseFeed, self.block.span);
            return if self.settings.dialect.strict { Err(()) } else { Ok(None) };
        };
        let length = if rotary_only { self.turned(to) } else { length };
        let per_minute = match self.settings.declared.inverse_time {
            Some(InverseTime::PerMinute) => Some(word),
            Some(InverseTime::Seconds) => Some(60.0 / word).filter(|rate| rate.is_finite()),
            None => {
                self.report(FaultKind::Undeclared("machine.inverse_time"), self.words.span(b'F'));
                None
            }
        };
        Ok(length.zip(per_minute).map(|(length, rate)| length * rate))
    }

    /// Angle turned by all rotary axes together, degrees.
    fn turned(&self, to: &Pose) -> Option<f64> {
        let known = Axes(self.pose.known.0 & to.known.0);
        if known.0 & ROTARY != ROTARY {
            return None;
        }
        let ([a0, b0, c0], [a1, b1, c1]) = (self.pose.abc, to.abc);
        let [a, b, c] = [a1 - a0, b1 - b0, c1 - c0];
        Some(libm::sqrt(a * a + b * b + c * c))
    }

    /// The pieces of a compensated move: the corner at constant Z, then the move.
    pub(super) fn legs(&mut self, legs: Result<Legs, CompensationFault>, kind: StepKind, to: Pose, feed: Option<f64>) {
        let legs = match legs {
            Ok(legs) => legs,
            Err(fault) => {
                self.report(FaultKind::Compensation(fault), self.block.span);
                self.pose = to;
                return;
            }
        };
        if let Some(corner) = legs.corner {
            let mut there = self.pose;
            let [x, y] = corner.to;
            there.xyz = [x, y, self.pose.xyz[2]];
            self.leg(corner, StepKind::Line, there, feed);
        }
        let [x, y] = legs.main.to;
        let [_, _, z] = to.xyz;
        self.leg(legs.main, kind, Pose { xyz: [x, y, z], ..to }, feed);
    }

    fn leg(&mut self, leg: Leg, straight: StepKind, to: Pose, feed: Option<f64>) {
        let kind = match leg.around {
            None => straight,
            Some((centre, ccw)) => {
                let arc = super::arc::around(Plane::Xy, self.pose.xyz, to.xyz, centre, !ccw);
                if ccw { StepKind::ArcCcw(arc) } else { StepKind::ArcCw(arc) }
            }
        };
        self.go(kind, to, feed, None);
    }

    /// G38.2 (NISTIR 6556, section 3.5.9). Where the probe trips only the machine knows, unless the dialect is the
    /// report's, whose interpreter takes the end of the move.
    fn probe(&mut self) {
        let to = self.target(false);
        let length = self.straight_length(&to);
        let named = self.words.axes();
        let strict = self.settings.dialect.strict;
        let kind = if named.0 & ROTARY != 0 {
            Some(FaultKind::Probe("with a rotary word"))
        } else if named.0 & Axes::XYZ.0 == 0 {
            Some(FaultKind::Probe("without X, Y or Z"))
        } else if self.state.feed_mode.value == FeedMode::InverseTime {
            Some(FaultKind::Probe("under G93"))
        } else if self.compensation.is_some() {
            Some(FaultKind::Probe("with cutter radius compensation on"))
        } else {
            length.filter(|length| *length < SHORTEST_PROBE).map(|_| FaultKind::ProbeNear)
        };
        if let Some(kind) = kind {
            self.report(kind, self.block.span);
            return;
        }
        let Ok(feed) = self.path_feed(length, &to) else { return };
        self.restate(named);
        self.go(StepKind::Line, to, feed, None);
        for axis in 0..6_usize {
            let scale = if axis < 3 { self.state.units.value.mm() } else { 1.0 };
            match self.pose.axis(axis).filter(|_| strict) {
                Some(value) => self.parameters.set(PROBE_PARAMETERS + axis as u32, value / scale),
                None => self.parameters.forget(PROBE_PARAMETERS + axis as u32),
            }
        }
        if !strict {
            self.pose.known.0 &= !named.0;
        }
    }

    /// An arc step between known points, compensated where it must be.
    pub(super) fn arc_step(&mut self, clockwise: bool, arc: Arc, to: Pose, form: ArcForm, feed: Option<f64>) {
        let kind = if clockwise { StepKind::ArcCw(arc) } else { StepKind::ArcCcw(arc) };
        let tolerance = self.arc_tolerance().1;
        let ([x, y, _], [from_x, from_y, _], [cx, cy, _]) = (to.xyz, self.pose.xyz, arc.centre);
        let legs = match &mut self.compensation {
            None => return self.go(kind, to, feed, None),
            Some(compensation) if compensation.is_entered() => {
                compensation.arc([from_x, from_y], [x, y], [cx, cy], !clockwise)
            }
            Some(compensation) => compensation.enter_arc([from_x, from_y], [x, y], form, !clockwise, tolerance),
        };
        self.legs(legs, kind, to, feed);
    }
}
