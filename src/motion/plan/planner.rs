//! The plan itself: moves come in one by one, and leave as soon as the control's sight settles their speed.
//!
//! Squares of speeds rise and fall by `2 a L` over a segment at most. So a segment may leave with no more than what every
//! corner in sight allows plus the braking up to it, and must be able to stop where the sight ends. That least is kept as
//! a sliding minimum, which makes the backward pass cost the same for each segment however far the control sees; the
//! forward pass follows the segments as they leave.

use super::course::{Course, End};
use super::limits::{Limits, PLAUSIBLE, zip};
use super::profile::{Drive, Profile, between};
use super::{Cause, Planned, Segment};
use crate::motion::StepKind;
use std::collections::VecDeque;

/// Speeds within this share of each other are the same.
const SAME: f64 = 1e-9;
/// Rapids whose axes go as far as those before within this are the same, mm: less than any control resolves.
const SAME_WAY: f64 = 1e-9;

/// Plans segments in order of the path.
///
/// Every segment that moves comes out again, in order, except those no plan can be made for: without a feed, with a
/// number that is none, rapids along an axis without a rate. The tool stops before and after those.
#[derive(Debug)]
pub struct Planner {
    limits: Limits,
    look_ahead: usize,
    /// Segments in sight.
    queue: VecDeque<Item>,
    /// Corners in sight that may bind, lowest first.
    joints: VecDeque<Joint>,
    /// End of the last segment.
    end: End,
    /// Number of the segment at the front of the queue.
    front: u64,
    /// Sum of `2 a L` up to the end of the last segment.
    sum: f64,
    /// The last rapid's way along each axis, and what it came to: holes of a pattern are equally far apart.
    rapid: ([f64; 3], Option<(f64, Profile)>),
    /// Square of the speed at which the front segment begins, (mm/s)2, and what keeps it there.
    entry: (f64, Cause),
}

/// A segment in sight.
#[derive(Clone, Copy, Debug)]
struct Item {
    segment: Segment,
    /// Length, mm.
    length: f64,
    /// Bounds along it.
    drive: Drive,
    /// Speed it would like to go, mm/s, and what sets that.
    top: (f64, Cause),
    /// Acceleration over it, mm/s2.
    acceleration: f64,
    /// Sum of `2 a L` up to its end.
    sum: f64,
}

/// The end of a segment as what it allows before it.
#[derive(Clone, Copy, Debug)]
struct Joint {
    /// Number of the segment that ends there.
    segment: u64,
    /// Square of the speed there plus the sum up to there.
    reach: f64,
    cause: Cause,
}

impl Planner {
    /// At rest, at the start of a program.
    #[must_use]
    pub fn new(limits: Limits) -> Self {
        Self {
            look_ahead: limits.look_ahead(),
            limits,
            queue: VecDeque::new(),
            joints: VecDeque::new(),
            end: End { length: 0.0, direction: [0.0; 3] },
            front: 0,
            sum: 0.0,
            rapid: ([0.0; 3], None),
            entry: (0.0, Cause::Length),
        }
    }

    /// The machine's bounds.
    #[must_use]
    pub fn limits(&self) -> &Limits {
        &self.limits
    }

    /// Takes the next segment; `emit` gets those whose speed is settled now. Says whether this one comes out in its turn.
    pub fn push(&mut self, segment: Segment, emit: &mut impl FnMut(&Segment, &Planned)) -> bool {
        if segment.kind == StepKind::Rapid {
            self.flush(emit);
            return self.rapid(&segment, emit);
        }
        let stops = segment.exact_stop || self.limits.stops_at_corners();
        let Some((item, course)) = self.item(segment) else {
            let moves = segment.from != segment.to;
            if stops || moves {
                self.halt(if stops { Cause::ExactStop } else { Cause::Length }, emit);
            }
            return false;
        };
        self.join(&item, &course);
        self.end = End { length: course.length, direction: course.end };
        self.sum = item.sum;
        self.queue.push_back(item);
        if stops {
            self.halt(Cause::ExactStop, emit);
        } else if self.queue.len() >= self.look_ahead {
            self.settle(Cause::LookAhead, emit);
        }
        true
    }

    /// Comes to rest at the end of what was pushed: at a dwell, a tool change, the end of the program.
    pub fn flush(&mut self, emit: &mut impl FnMut(&Segment, &Planned)) {
        self.halt(Cause::Length, emit);
    }

    fn halt(&mut self, cause: Cause, emit: &mut impl FnMut(&Segment, &Planned)) {
        if !self.queue.is_empty() {
            while !self.queue.is_empty() {
                self.settle(cause, emit);
            }
            self.joints.clear();
            self.sum = 0.0;
        }
        self.entry = (0.0, cause);
    }

    fn rapid(&mut self, segment: &Segment, emit: &mut impl FnMut(&Segment, &Planned)) -> bool {
        let way = zip(segment.from, segment.to).map(|(from, to)| (to - from).abs());
        let same = zip(way, self.rapid.0).iter().all(|(way, last)| (way - last).abs() <= SAME_WAY);
        if !same {
            self.rapid = (way, self.limits.rapid(way));
        }
        let Some((length, run)) = self.rapid.1 else { return false };
        let seconds = run.seconds.max(self.limits.block_time);
        let cause = Cause::Commanded;
        emit(segment, &Planned { seconds, peak: 60.0 * run.peak, mean: 60.0 * length / seconds, cause });
        true
    }

    /// What a feed segment comes to before its neighbours are looked at.
    fn item(&self, segment: Segment) -> Option<(Item, Course)> {
        let feed = segment.feed.map(|feed| feed / 60.0).filter(|feed| PLAUSIBLE.contains(feed))?;
        let course = Course::of(&segment)?;
        let drive = self.limits.along(course.shares);
        let bounds = [
            (drive.rate.min(self.limits.feed), Cause::AxisRate),
            (self.limits.round_arc(&course), Cause::Arc),
            (course.length / self.limits.block_time, Cause::BlockTime),
        ];
        let lower = |top: (f64, Cause), bound: (f64, Cause)| if bound.0 < top.0 { bound } else { top };
        let top = bounds.into_iter().fold((feed, Cause::Commanded), lower);
        let acceleration = drive.mean_acceleration(top.0);
        let sum = self.sum + 2.0 * acceleration * course.length;
        Some((Item { segment, length: course.length, drive, top, acceleration, sum }, course))
    }

    /// Notes the corner between the last segment and the next.
    fn join(&mut self, next: &Item, course: &Course) {
        let Some(last) = self.queue.back() else { return };
        let corner = (self.limits.round_corner(&self.end, course), Cause::Corner);
        // A neighbour at its commanded feed leaves a segment that wants more too short to change speed in.
        let neighbour =
            |(top, cause): (f64, Cause)| (top * top, if cause == Cause::Commanded { Cause::Length } else { cause });
        let lower = |one: (f64, Cause), other: (f64, Cause)| if other.0 < one.0 { other } else { one };
        let (square, cause) = lower(lower(neighbour(last.top), neighbour(next.top)), corner);
        let segment = self.front + self.queue.len() as u64 - 1;
        let joint = Joint { segment, reach: square + last.sum, cause };
        while self.joints.back().is_some_and(|earlier| earlier.reach >= joint.reach) {
            self.joints.pop_back();
        }
        self.joints.push_back(joint);
    }

    /// Lets the front segment go, with a stop for `cause` at the end of the last one.
    fn settle(&mut self, cause: Cause, emit: &mut impl FnMut(&Segment, &Planned)) {
        let Some(item) = self.queue.front() else { return };
        let stop = (self.sum, cause);
        let (reach, bound_by) = match self.joints.front() {
            Some(joint) if joint.reach < self.sum => (joint.reach, joint.cause),
            _ => stop,
        };
        let (entry, held_by) = self.entry;
        let (bound, faster) = ((reach - item.sum).max(0.0), entry + 2.0 * item.acceleration * item.length);
        let exit = if faster < bound { (faster, held_by) } else { (bound, bound_by) };
        emit(&item.segment, &self.planned(item, self.entry, exit));
        self.queue.pop_front();
        if self.joints.front().is_some_and(|joint| joint.segment == self.front) {
            self.joints.pop_front();
        }
        self.front += 1;
        self.entry = exit;
    }

    fn planned(&self, item: &Item, entry: (f64, Cause), exit: (f64, Cause)) -> Planned {
        let (length, (top, set_by)) = (item.length, item.top);
        let stops = entry.0 == 0.0 && exit.0 == 0.0;
        let Profile { seconds, peak } = if stops {
            item.drive.stop_to_stop(length, top)
        } else {
            between(length, libm::sqrt(entry.0), libm::sqrt(exit.0), top, item.acceleration)
        };
        let cause = match (entry, exit) {
            _ if peak >= top * (1.0 - SAME) => set_by,
            ((_, Cause::ExactStop), _) if stops => Cause::ExactStop,
            ((entry, cause), (exit, _)) if entry < exit => cause,
            (_, (_, cause)) => cause,
        };
        let seconds = seconds.max(self.limits.block_time);
        Planned { seconds, peak: 60.0 * peak, mean: 60.0 * length / seconds, cause }
    }
}
