//! The modal part of a block: feed, speed, dwell, plane, units, offsets, distance, levels.

use super::runner::{Flow, Runner};
use super::words::whole;
use super::{
    Action, CutterSide, Distance, FaultKind, FeedMode, Group, LengthOffset, MotionMode, Observer, StepKind, StopCodes,
};
use crate::job::{DwellUnit, FeedMemory};
use crate::source::Span;

impl<O: Observer> Runner<'_, O> {
    /// Runs the block in the order of NISTIR 6556, section 3.8, table 8.
    pub(super) fn execute(&mut self) -> Flow {
        if self.words.are_plain() {
            self.motion();
            return Flow::Next;
        }
        let late = self.settings.dialect.stop_codes == StopCodes::AfterMotion;
        self.feed_and_speed();
        if self.words.has_codes() {
            if !self.follow_others() {
                return Flow::Next;
            }
            self.tool_change();
            self.spindle(late, true);
            self.coolant(late, true);
            self.overrides();
            self.dwell();
            self.frame();
        }
        self.extraction(true);
        self.motion();
        self.extraction(false);
        if !self.words.has_codes() {
            return Flow::Next;
        }
        self.spindle(late, false);
        self.coolant(late, false);
        if let Some((code, span)) = self.words.code(Group::Call) {
            return self.call(code, span);
        }
        self.stop()
    }

    fn feed_and_speed(&mut self) {
        if let Some((Action::FeedMode(mode), span)) =
            self.words.code(Group::FeedMode).map(|(code, at)| (code.action, at))
        {
            self.feed_mode(mode, span);
        }
        if self.words.has(b'F') {
            let new = self.stated(self.words.get(b'F'), self.words.span(b'F'));
            let changed = self.state.feed_word.take(new);
            self.state.feed_word_mode = self.state.feed_mode.value;
            self.state.generation += u32::from(changed);
            self.state.doubtful.feed = self.words.get(b'F').is_none();
            self.feed_doubtful = false;
            self.state.refresh_feed();
        }
        if let Some((Action::SurfaceSpeed(on), span)) =
            self.words.code(Group::SpeedMode).map(|(code, at)| (code.action, at))
        {
            let new = self.stated(on, span);
            if self.state.constant_surface.take(new) {
                self.state.generation += 1;
                self.state.speed.value = None;
                self.state.refresh_feed();
            }
        }
        if self.words.has(b'S') {
            let turns = self.words.get(b'S').filter(|_| !self.state.constant_surface.value);
            let new = self.stated(turns, self.words.span(b'S'));
            let changed = self.state.speed.take(new);
            self.state.generation += u32::from(changed);
            self.state.doubtful.spindle = turns.is_none();
            self.state.refresh_feed();
        }
        if self.words.has(b'T') {
            let new = self.stated(self.words.get(b'T').and_then(whole), self.words.span(b'T'));
            let changed = self.state.selected.take(new);
            self.state.generation += u32::from(changed);
        }
    }

    fn feed_mode(&mut self, mode: FeedMode, span: Span) {
        let old = self.state.feed_mode.value;
        let new = self.stated(mode, span);
        let changed = self.state.feed_mode.take(new);
        self.state.generation += u32::from(changed);
        if old == mode {
            return;
        }
        if let Some(slot) = self.feeds.get_mut(old as usize) {
            *slot = self.state.feed_word.value;
        }
        match self.settings.declared.feed_memory {
            Some(FeedMemory::Shared) => {}
            Some(FeedMemory::PerMode) => {
                self.state.feed_word.value = self.feeds.get(mode as usize).copied().flatten();
            }
            Some(FeedMemory::Cleared) => self.state.feed_word.value = None,
            None => {
                self.feed_doubtful = self.state.feed_word.value.take().is_some();
            }
        }
        self.state.refresh_feed();
    }

    /// Codes outside all groups; false when one is not followed, so that the block's words mean something else.
    fn follow_others(&mut self) -> bool {
        let unfollowed = self.words.others.iter().find(|(code, _)| code.action == Action::NotFollowed).copied();
        let Some((code, span)) = unfollowed else { return true };
        self.report(FaultKind::CodeNotFollowed(code.name), span);
        self.lose();
        false
    }

    fn dwell(&mut self) {
        let Some((code, _)) = self.words.code(Group::NonModal) else { return };
        if code.action != Action::Dwell {
            return;
        }
        let letter = if self.words.has(b'P') { b'P' } else { b'X' };
        let seconds = self.words.get(letter).map(|time| self.seconds(time, letter));
        self.words.take(letter);
        self.still(StepKind::Dwell(seconds.and_then(Result::ok)));
    }

    /// A dwell word in seconds; the number as typed when nobody declared its unit. A zero is a zero in any unit.
    pub(super) fn seconds(&mut self, time: f64, letter: u8) -> Result<f64, f64> {
        let point = self.words.has_point(letter);
        match self.settings.declared.dwell_unit {
            _ if time == 0.0 || letter == b'X' && point => Ok(time),
            Some(DwellUnit::Seconds) => Ok(time),
            Some(DwellUnit::Milliseconds) => Ok(time / 1000.0),
            Some(DwellUnit::MillisecondsWithoutPoint) => Ok(if point { time } else { time / 1000.0 }),
            None => {
                self.report(FaultKind::Undeclared("machine.dwell_unit"), self.words.span(letter));
                Err(time)
            }
        }
    }

    /// Steps 11 to 18: plane, units, compensation, length, work offset, path, distance, return level.
    fn frame(&mut self) {
        for group in [Group::Plane, Group::Units, Group::Cutter, Group::LengthOffset, Group::WorkOffset] {
            if let Some((code, span)) = self.words.code(group) {
                self.set_mode(code.action, span);
            }
        }
        if self.words.has(b'H') && self.words.code(Group::LengthOffset).is_none() {
            self.set_mode(Action::LengthOn, self.words.span(b'H'));
        }
        for group in [Group::Path, Group::Distance, Group::ArcCentre, Group::ReturnLevel] {
            if let Some((code, span)) = self.words.code(group) {
                self.set_mode(code.action, span);
            }
        }
    }

    fn set_mode(&mut self, action: Action, span: Span) {
        let changed = match action {
            Action::Plane(plane) => {
                let new = self.stated(plane, span);
                self.state.plane.take(new)
            }
            Action::Units(units) => {
                let new = self.stated(units, span);
                let changed = self.state.units.take(new);
                // The number of F stays and counts in the new units (NISTIR 6556, section 3.5.7).
                self.state.refresh_feed();
                changed
            }
            Action::Cutter(side) => return self.cutter(side, span),
            Action::LengthOn => return self.length_on(span),
            Action::LengthOff => return self.length(LengthOffset::Off, span),
            Action::WorkOffset(number) => return self.work_offset(number, span),
            Action::FurtherOffset => return self.further_offset(span),
            Action::Path(path) => {
                let new = self.stated(path, span);
                self.state.path.take(new)
            }
            Action::Distance(distance) => {
                let new = self.stated(distance, span);
                self.state.doubtful.modes = false;
                self.state.distance.take(new)
            }
            Action::ArcCentre(distance) => {
                self.arc_centre = distance;
                false
            }
            Action::ReturnLevel(level) => {
                let new = self.stated(level, span);
                self.state.return_level.take(new)
            }
            // Carried out at their own step of the block.
            Action::Motion(_)
            | Action::FeedMode(_)
            | Action::SurfaceSpeed(_)
            | Action::Dwell
            | Action::SetData
            | Action::Home(_)
            | Action::MachineCoordinates
            | Action::LocalShift
            | Action::AxisOffset(_)
            | Action::Stop(_)
            | Action::ToolChange
            | Action::Spindle(_)
            | Action::Coolant(_)
            | Action::Overrides(_)
            | Action::Call(_)
            | Action::Return
            | Action::Nothing
            | Action::NotFollowed => false,
        };
        self.state.generation += u32::from(changed);
    }

    fn length_on(&mut self, span: Span) {
        let h = self.words.get(b'H').and_then(whole);
        if h.is_none() {
            self.report(FaultKind::LengthWithoutH, span);
        }
        let length = h.and_then(|h| self.tools.length(h, self.state.units.value));
        self.length(LengthOffset::On { h: h.unwrap_or(0), length }, span);
    }

    /// Compensation by an unknown radius leaves the programmed path as the tool's.
    fn cutter(&mut self, side: CutterSide, span: Span) {
        let d = match side {
            CutterSide::Off => None,
            _ => Some(self.words.get(b'D').and_then(whole).unwrap_or(self.state.tool.value)),
        };
        let radius = d.map(|d| (d, self.tools.diameter(d, self.state.units.value).map(|diameter| diameter / 2.0)));
        self.compensation = match radius {
            Some((_, Some(radius))) => super::Compensation::new(side, radius),
            Some((d, None)) => {
                self.report(FaultKind::CompensationUnknown(d), span);
                None
            }
            None => None,
        };
        let new = self.stated((side, d), span);
        let changed = self.state.cutter.take(new);
        self.state.generation += u32::from(changed);
    }

    fn stop(&mut self) -> Flow {
        let Some((code, _)) = self.words.code(Group::Stop) else { return Flow::Next };
        let Action::Stop(number) = code.action else { return Flow::Next };
        self.still(StepKind::Stop(number));
        if matches!(number, 2 | 30) { Flow::End } else { Flow::Next }
    }

    /// Whether positions count from the present point.
    pub(super) fn is_incremental(&self) -> bool {
        self.state.distance.value == Distance::Incremental
    }

    /// Sets the motion mode.
    pub(super) fn motion_mode(&mut self, mode: MotionMode, span: Span) {
        let new = self.stated(mode, span);
        let plain =
            |mode| matches!(mode, MotionMode::Rapid | MotionMode::Line | MotionMode::ArcCw | MotionMode::ArcCcw);
        let told_by_steps = plain(self.state.motion.value) && plain(mode);
        let changed = self.state.motion.take(new);
        self.state.generation += u32::from(changed && !told_by_steps);
        match mode {
            MotionMode::Cycle(_) => {}
            MotionMode::None => self.series.end(),
            other => {
                self.series.end();
                self.earlier = other;
            }
        }
    }
}
