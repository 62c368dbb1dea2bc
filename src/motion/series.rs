//! Canned-cycle blocks: values kept from block to block, levels, repeats, and the calls they come to.

use super::again::Standing;
use super::runner::Runner;
use super::words::whole;
use super::{
    Axes, BareBlock, BoreExit, CutterSide, CycleAction, CycleCall, CycleCode, CycleKind, CycleMove, CyclePart, Expand,
    FaultKind, FeedMode, Group, IncrementalR, InitialLevel, Observer, PeckRetract, Pose, ReturnLevel, SpindleSense,
    StepKind, StickyValues, ZeroRepeat,
};

/// Rotary axes.
const ROTARY: u8 = 0b11_1000;

/// What a series of cycle blocks keeps; lengths in mm as stated, so increments stay increments.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Series {
    /// The active cycle; `None` outside a series.
    code: Option<CycleCode>,
    /// Height before the first hole.
    initial: Option<f64>,
    r: Option<f64>,
    depth: Option<f64>,
    q: Option<f64>,
    dwell: Option<Result<f64, f64>>,
    ijk: [Option<f64>; 3],
    stated_at: u32,
    /// The call last made, and the generation of the modal state it was made in.
    pub call: Option<(CycleCall, u32)>,
    /// How things stood behind it, where a row may repeat it.
    pub standing: Option<Standing>,
}

impl Series {
    /// G80 or another motion code.
    pub fn end(&mut self) {
        *self = Self::default();
    }
}

/// Levels of one block.
#[derive(Clone, Copy)]
struct Levels {
    r: f64,
    bottom: f64,
    /// Height the block leaves the tool at; `None` when it is the initial level and that is not known.
    clear: Option<f64>,
    /// Height the first positioning runs at.
    over: f64,
}

impl<O: Observer> Runner<'_, O> {
    /// One block under a canned cycle (NISTIR 6556, sections 3.5.16 and 3.5.20).
    pub(super) fn cycle_block(&mut self, code: CycleCode) {
        self.keep_values(code);
        let named = self.words.axes();
        let repeats = match self.repeats(code) {
            Ok(repeats) => repeats,
            Err(kind) => return self.refuse(kind),
        };
        let (first, second, normal) = self.state.plane.value.axes();
        let sideways = named.has(first) || named.has(second);
        let bare = self.settings.dialect.bare_block == BareBlock::StoreOnly;
        let drills = sideways || named.0 & ROTARY != 0 || named.has(normal) && !bare;
        if repeats == 0 || !drills {
            return;
        }
        if let Err(kind) = self.check_cycle(code) {
            return self.refuse(kind);
        }
        self.turn_first();
        match self.levels(code) {
            Ok(levels) => self.drill(code, levels, repeats),
            Err(kind) => self.refuse(kind),
        }
    }

    /// A cycle that cannot run: the tool is where nobody can tell.
    fn refuse(&mut self, kind: FaultKind) {
        self.report(kind, self.block.span);
        if !self.settings.dialect.strict {
            self.abandon();
        }
    }

    fn keep_values(&mut self, code: CycleCode) {
        let (_, _, normal) = self.state.plane.value.axes();
        if self.series.code.is_none() {
            self.series = Series { initial: self.pose.axis(normal), ..Series::default() };
        } else if self.series.code != Some(code) && self.settings.dialect.sticky_values == StickyValues::SameCode {
            self.series = Series { initial: self.series.initial, ..Series::default() };
        }
        (self.series.code, self.series.standing) = (Some(code), None);
        let unit = self.state.units.value.mm();
        let depth = self.axis_word(normal);
        if self.words.code(Group::Motion).is_some() || self.words.has(b'R') || depth.is_some() {
            self.series.stated_at = self.block.span.start;
        }
        self.series.depth = depth.or(self.series.depth);
        if let Some(r) = self.words.get(b'R') {
            self.series.r = Some(r * unit);
        }
        if let Some(q) = self.words.get(b'Q') {
            let strict = self.settings.dialect.strict;
            if q <= 0.0 && (strict || code.pecks()) {
                self.report(FaultKind::NoPeckIncrement(q), self.words.span(b'Q'));
            }
            self.series.q = Some(q.abs() * unit).filter(|q| *q > 0.0);
        }
        if let Some(p) = self.words.get(b'P') {
            self.series.dwell = Some(self.seconds(p, b'P'));
        }
        let repeats_by_k = self.repeat_word(code).is_some_and(|(_, span)| span == self.words.span(b'K'));
        for (slot, letter) in self.series.ijk.iter_mut().zip(*b"IJK") {
            if let Some(value) = self.words.get(letter).filter(|_| letter != b'K' || !repeats_by_k) {
                *slot = Some(value * unit);
            }
        }
    }

    fn repeats(&mut self, code: CycleCode) -> Result<u32, FaultKind> {
        let Some((value, _)) = self.repeat_word(code) else { return Ok(1) };
        match whole(value) {
            Some(0) if self.settings.dialect.zero_repeat == ZeroRepeat::Refused => Err(FaultKind::ZeroRepeat),
            Some(times) if !self.calls.count_repeats(times, self.settings) => Err(FaultKind::CallTooLong),
            Some(times) => Ok(times),
            None => Err(FaultKind::NotWhole('L', value)),
        }
    }

    fn check_cycle(&mut self, code: CycleCode) -> Result<(), FaultKind> {
        let strict = self.settings.dialect.strict;
        let name = code.name();
        if self.state.feed_mode.value == FeedMode::InverseTime {
            self.report(FaultKind::CycleInverse, self.block.span);
        }
        if self.state.cutter.value.0 != CutterSide::Off {
            self.report(FaultKind::CycleCompensated(name), self.block.span);
        }
        if self.feed_doubtful {
            self.report(FaultKind::Undeclared("machine.feed_memory"), self.block.span);
        }
        let missing = code.needs().iter().find(|letter| !self.has_value(**letter));
        if let Some(letter) = missing.filter(|_| strict || code.pecks()) {
            return Err(FaultKind::CycleWithout(name, char::from(*letter)));
        }
        if !strict {
            return Ok(());
        }
        if self.words.axes().0 & ROTARY != 0 {
            return Err(FaultKind::CycleRotary);
        }
        let spindle = self.state.spindle.value;
        let turns_as_needed = match code.kind() {
            CycleKind::Tap(sense) => spindle == sense,
            CycleKind::SpindleStop => spindle != SpindleSense::Stopped,
            CycleKind::OneStroke | CycleKind::ChipBreak | CycleKind::FullRetract | CycleKind::FeedOut => true,
        };
        if turns_as_needed { Ok(()) } else { Err(FaultKind::CycleSpindle(name)) }
    }

    /// Whether the series keeps a value for a letter, or the block states one.
    fn has_value(&self, letter: u8) -> bool {
        let [i, j, k] = self.series.ijk;
        match letter {
            b'I' => i.is_some(),
            b'J' => j.is_some(),
            b'K' => k.is_some(),
            b'P' => self.series.dwell.is_some(),
            b'Q' => self.series.q.is_some() || self.words.has(b'Q'),
            _ => self.words.has(letter),
        }
    }

    /// Rotary words of a cycle block turn the part before the hole (common practice, no source).
    fn turn_first(&mut self) {
        if self.words.axes().0 & ROTARY != 0 {
            let to = self.target(false);
            let turned = Pose { xyz: self.pose.xyz, abc: to.abc, known: self.pose.known };
            let known = self.pose.known.0 & !ROTARY | to.known.0 & ROTARY;
            self.go(StepKind::Rapid, Pose { known: Axes(known), ..turned }, None, Some(CyclePart::Position));
        }
    }

    fn levels(&self, code: CycleCode) -> Result<Levels, FaultKind> {
        let (_, _, normal) = self.state.plane.value.axes();
        let axis = ['X', 'Y', 'Z'].get(normal).copied().unwrap_or('Z');
        let present = self.pose.axis(normal);
        let r = self.series.r.ok_or(FaultKind::CycleWithoutR(code.name()))?;
        let depth = self.series.depth.ok_or(FaultKind::CycleWithoutDepth(code.name(), axis))?;
        let (r, bottom) = if self.is_incremental() {
            let base = match self.settings.dialect.incremental_r {
                IncrementalR::FromInitial => self.series.initial,
                IncrementalR::FromPresent => present,
            };
            let r = base.ok_or(FaultKind::CycleStartUnknown)? + r;
            (r, r + depth)
        } else {
            (r, depth)
        };
        if r < bottom {
            let unit = self.state.units.value.mm();
            return Err(FaultKind::CycleUpsideDown(r / unit, bottom / unit));
        }
        let initial = match self.settings.dialect.initial_level {
            InitialLevel::PerSeries => self.series.initial,
            InitialLevel::PerBlock => present,
        };
        let clear = match self.state.return_level.value {
            ReturnLevel::RPlane => Some(r),
            ReturnLevel::Initial => initial.map(|initial| initial.max(r)),
        };
        Ok(Levels { r, bottom, clear, over: present.unwrap_or(r).max(r) })
    }

    fn drill(&mut self, code: CycleCode, levels: Levels, repeats: u32) {
        let (_, _, normal) = self.state.plane.value.axes();
        self.restate(self.words.axes());
        let declared = &self.settings.declared;
        let (back_off, key) = if code.kind() == CycleKind::ChipBreak {
            (declared.peck_back_off, "machine.peck_back_off")
        } else {
            (declared.peck_clearance, "machine.peck_clearance")
        };
        let pecks = code.pecks() && self.series.q.is_some_and(|q| q < levels.r - levels.bottom);
        if pecks && back_off.is_none() {
            self.report(FaultKind::Undeclared(key), self.block.span);
        }
        for repeat in 0..repeats {
            // In G91 every repeat goes one increment further; in G90 it drills the same hole again.
            let mut call = self.cycle_call(code, levels, &self.target(false));
            call.back_off = back_off;
            call.repeat = repeat;
            if repeat > 0
                && let Some(height) = call.over.get_mut(normal)
            {
                *height = call.clear;
            }
            let generation = self.state.generation;
            let alike = self.series.call.filter(|(last, then)| *then == generation && call.is_like(last));
            call.form = alike.map_or(self.forms + 1, |(last, _)| last.form);
            self.forms = self.forms.max(call.form);
            self.series.call = Some((call, generation));
            self.make_call();
            if levels.clear.is_none() {
                self.pose.known = self.pose.known.without(normal);
            }
            self.series.standing = self.standing(generation).filter(|_| repeats == 1);
        }
    }

    /// Shows the series' call to the observer and leaves the tool where the cycle does.
    fn make_call(&mut self) {
        let Some((call, _)) = &self.series.call else { return };
        let (first, second, normal) = call.plane.axes();
        let mut end = self.pose;
        for axis in [first, second] {
            match call.over.get(axis).filter(|_| call.known.has(axis)) {
                Some(value) => end.state(axis, *value),
                None => end.known = end.known.without(axis),
            }
        }
        end.state(normal, call.clear);
        let expand = self.observer.cycle(call, self.block, &self.state);
        self.follow_call(expand);
        self.pose = end;
    }

    /// Shows the call step by step, when the observer wants that.
    pub(super) fn follow_call(&mut self, expand: Expand) {
        if let Some((call, _)) = self.series.call.filter(|_| expand == Expand::Steps) {
            super::expand(&call, &mut |step| self.cycle_step(&call, step));
        }
    }

    fn cycle_call(&self, code: CycleCode, levels: Levels, to: &Pose) -> CycleCall {
        let (first, second, normal) = self.state.plane.value.axes();
        let clear = levels.clear.unwrap_or(levels.r);
        let dialect = self.settings.dialect;
        let mut over = to.xyz;
        if let Some(height) = over.get_mut(normal) {
            *height = levels.over;
        }
        let known = [first, second].into_iter().filter(|axis| to.known.has(*axis));
        let mut ijk = self.series.ijk;
        if self.is_incremental()
            && let Some(Some(height)) = ijk.get_mut(normal)
        {
            // K of G87 counts from the bottom under G91 (NISTIR 6556, section 3.5.16.8).
            *height += levels.bottom;
        }
        CycleCall {
            code,
            plane: self.state.plane.value,
            from: self.pose,
            over,
            known: known.fold(Axes::default().with(normal), Axes::with),
            r: levels.r,
            bottom: levels.bottom,
            clear,
            peck_clear: if dialect.peck_retract == PeckRetract::RPlane { levels.r } else { clear },
            feed_out: if dialect.bore_exit == BoreExit::FeedToR { levels.r } else { clear },
            q: self.series.q,
            dwell: self.series.dwell,
            back_off: None,
            ijk,
            spindle: self.state.spindle.value,
            feed: self.state.feed,
            repeat: 0,
            stated_at: self.series.stated_at,
            form: 0,
        }
    }

    fn cycle_step(&mut self, call: &CycleCall, step: CycleMove) {
        let (_, _, normal) = call.plane.axes();
        let mut to = Pose { xyz: step.to, ..self.pose };
        to.known = Axes(self.pose.known.0 & !Axes::XYZ.0 | call.known.0);
        if step.part == CyclePart::Position && !self.pose.known.has(normal) {
            to.known = to.known.without(normal);
        }
        let feed = if step.action == CycleAction::Line { call.feed } else { None };
        let kind = match step.action {
            CycleAction::Rapid => StepKind::Rapid,
            CycleAction::Line => StepKind::Line,
            CycleAction::Dwell(seconds) => StepKind::Dwell(seconds),
            CycleAction::Stop => StepKind::Stop(0),
            CycleAction::Spindle(sense) => {
                self.state.spindle.value = sense;
                self.state.generation += 1;
                StepKind::Spindle
            }
        };
        self.go(kind, to, feed, Some(step.part));
    }
}
