//! Offsets between machine and program coordinates: work offsets, G52, G92, tool length, G53, homes.

use super::code::AxisOffset;
use super::runner::Runner;
use super::words::{AXIS_LETTERS, whole};
use super::{Action, Axes, Group, HomeMoves, LengthOffset, Observer, Pose, StepKind};
use crate::source::Span;

/// One value an axis, mm or degrees; `None` when not known.
pub(super) type PerAxis = [Option<f64>; 6];

/// Index of Z, the axis tool lengths count along.
const Z: usize = 2;
/// Parameter before the first of work offset 1, and how many lie between two work offsets (NISTIR 6556, table 2).
const WORK_OFFSET_PARAMETERS: (u32, u32) = (5221, 20);
/// First parameters of the two homes and of the G92 offsets (NISTIR 6556, table 2).
const HOME_PARAMETERS: [u32; 2] = [5161, 5181];
const AXIS_OFFSET_PARAMETERS: u32 = 5211;

/// All offsets but the tool's length.
pub(super) struct Offsets {
    /// Origins of work offsets 1 to 9 in machine coordinates.
    origins: [PerAxis; 9],
    /// G52.
    local: PerAxis,
    /// G92 in force.
    axis: PerAxis,
    /// G92 as kept for G92.3.
    kept: PerAxis,
}

impl Offsets {
    /// All zero when `known`; else the work offsets are the operator's.
    pub fn at_start(known: bool) -> Self {
        let zero = [Some(0.0); 6];
        Self { origins: [if known { zero } else { [None; 6] }; 9], local: zero, axis: zero, kept: zero }
    }

    fn origin(&self, number: u8) -> PerAxis {
        self.origins.get(usize::from(number).wrapping_sub(1)).copied().unwrap_or([None; 6])
    }

    /// Machine minus program coordinate of one axis, without the tool's length.
    fn sum(&self, number: u8, axis: usize) -> Option<f64> {
        let part = |offset: &PerAxis| offset.get(axis).copied().flatten();
        Some(part(&self.origin(number))? + part(&self.local)? + part(&self.axis)?)
    }
}

impl<O: Observer> Runner<'_, O> {
    /// Value of an axis word in mm or degrees.
    pub(super) fn axis_word(&self, axis: usize) -> Option<f64> {
        let value = self.words.get(*AXIS_LETTERS.get(axis)?)?;
        Some(if axis <= Z { value * self.state.units.value.mm() } else { value })
    }

    /// The same point in coordinates that lie `by` further; not known when `by` is not.
    fn shift(&mut self, axis: usize, by: Option<f64>) {
        match (self.pose.axis_mut(axis), by) {
            (Some(slot), Some(by)) => *slot += by,
            _ => self.pose.known = self.pose.known.without(axis),
        }
    }

    pub(super) fn work_offset(&mut self, number: u8, span: Span) {
        let old = self.offsets.origin(self.state.work_offset.value);
        let new = self.offsets.origin(number);
        if number != self.state.work_offset.value {
            for (axis, (old, new)) in old.into_iter().zip(new).enumerate() {
                self.shift(axis, old.zip(new).map(|(old, new)| old - new));
            }
        }
        let stated = self.stated(number, span);
        let changed = self.state.work_offset.take(stated);
        self.state.generation += u32::from(changed);
    }

    /// G54.1 P1 and on are counted from 10.
    pub(super) fn further_offset(&mut self, span: Span) {
        let number = self.words.get(b'P').and_then(whole).and_then(|number| u8::try_from(number + 9).ok());
        self.work_offset(number.unwrap_or(u8::MAX), span);
    }

    pub(super) fn length(&mut self, new: LengthOffset, span: Span) {
        let length = |offset: LengthOffset| match offset {
            LengthOffset::Off => Some(0.0),
            LengthOffset::On { length, .. } => length,
        };
        let (old, by) = (self.state.length.value, length(new));
        if old != new {
            self.shift(Z, length(old).zip(by).map(|(old, new)| old - new));
        }
        let stated = self.stated(new, span);
        let changed = self.state.length.take(stated);
        self.state.generation += u32::from(changed);
    }

    /// Program coordinate of a machine coordinate.
    pub(super) fn program_coordinate(&self, axis: usize, machine: f64) -> Option<f64> {
        let length = match self.state.length.value {
            LengthOffset::On { length, .. } if axis == Z => length?,
            _ => 0.0,
        };
        Some(machine - self.offsets.sum(self.state.work_offset.value, axis)? - length)
    }

    /// G10 L2: a new origin for one work offset, active or not (NISTIR 6556, section 3.5.5).
    pub(super) fn set_data(&mut self) {
        let Some(number) = self.words.get(b'P').and_then(whole).and_then(|number| u8::try_from(number).ok()) else {
            return;
        };
        for axis in 0..6 {
            let Some(new) = self.axis_word(axis) else { continue };
            let Some(slot) = self.offsets.origins.get_mut(usize::from(number) - 1).and_then(|set| set.get_mut(axis))
            else {
                continue;
            };
            let old = slot.replace(new);
            let typed = AXIS_LETTERS.get(axis).and_then(|letter| self.words.get(*letter)).unwrap_or(new);
            let (first, apart) = WORK_OFFSET_PARAMETERS;
            self.parameters.set(first + apart * (u32::from(number) - 1) + axis as u32, typed);
            if number == self.state.work_offset.value {
                self.shift(axis, old.map(|old| old - new));
            }
        }
    }

    /// The G92 family (NISTIR 6556, section 3.5.18).
    pub(super) fn axis_offset(&mut self, action: AxisOffset) {
        for axis in 0..6 {
            let old = self.offsets.axis.get(axis).copied().flatten();
            let kept = self.offsets.kept.get(axis).copied().flatten();
            let new = match action {
                AxisOffset::Set => match self.axis_word(axis) {
                    None => continue,
                    Some(value) => {
                        let new = self.pose.axis(axis).zip(old).map(|(at, old)| old + at - value);
                        self.pose.state(axis, value);
                        self.state.lost = self.state.lost.without(axis);
                        new
                    }
                },
                AxisOffset::Forget | AxisOffset::Suspend => Some(0.0),
                AxisOffset::Restore => kept,
            };
            if action != AxisOffset::Set {
                self.shift(axis, old.zip(new).map(|(old, new)| old - new));
            }
            self.keep_axis_offset(axis, new, action);
        }
    }

    fn keep_axis_offset(&mut self, axis: usize, new: Option<f64>, action: AxisOffset) {
        if let Some(slot) = self.offsets.axis.get_mut(axis) {
            *slot = new;
        }
        if matches!(action, AxisOffset::Set | AxisOffset::Forget) {
            if let Some(slot) = self.offsets.kept.get_mut(axis) {
                *slot = new;
            }
            let parameter = AXIS_OFFSET_PARAMETERS + axis as u32;
            match new {
                Some(new) => self.parameters.set(parameter, new),
                None => self.parameters.forget(parameter),
            }
        }
    }

    /// G52 (common practice, no source): a further shift of the active work offset.
    pub(super) fn local_shift(&mut self) {
        let mut moved = [0.0; 2];
        for axis in 0..6 {
            let Some(new) = self.axis_word(axis) else { continue };
            let Some(slot) = self.offsets.local.get_mut(axis) else { continue };
            let old = slot.replace(new);
            if let Some((moved, old)) = moved.get_mut(axis).zip(old) {
                *moved = new - old;
            }
            self.shift(axis, old.map(|old| old - new));
        }
        if moved != [0.0; 2] {
            self.observer.local_shift(moved);
        }
    }

    /// G28 and G30: by rapid to the programmed point, then home (NISTIR 6556, section 3.5.8).
    pub(super) fn home(&mut self, which: u8) {
        let named = self.words.axes();
        let all = self.settings.dialect.home_moves == HomeMoves::AllAxes;
        let between = self.target(false);
        if all || between != self.pose {
            self.restate(named);
            self.go(StepKind::Rapid, between, None, None);
        }
        let going = if all || named == Axes::default() { Axes::ALL } else { named };
        let mut to = self.pose;
        for axis in (0..6).filter(|axis| going.has(*axis)) {
            match self.home_of(which, axis) {
                Some(value) => to.state(axis, value),
                None => to.known = to.known.without(axis),
            }
        }
        self.go(StepKind::Rapid, to, None, None);
    }

    fn home_of(&self, which: u8, axis: usize) -> Option<f64> {
        let declared = self.settings.home.get(axis).copied().flatten();
        if which == 0 && declared.is_some() {
            return declared;
        }
        if !self.settings.dialect.strict {
            return None;
        }
        let parameter = HOME_PARAMETERS.get(usize::from(which))? + axis as u32;
        let scale = if axis <= Z { self.state.units.value.mm() } else { 1.0 };
        self.program_coordinate(axis, self.parameters.get(parameter).unwrap_or(0.0) * scale)
    }

    /// Axes stated absolutely are no longer lost.
    pub(super) fn restate(&mut self, named: Axes) {
        if self.state.lost != Axes::default() && !self.is_incremental() {
            let lost = Axes(self.state.lost.0 & !(named.0 & self.known_words().0));
            self.state.generation += u32::from(lost != self.state.lost);
            self.state.lost = lost;
        }
    }

    /// Axes whose words have a known value.
    fn known_words(&self) -> Axes {
        let known = (0..6).filter(|axis| self.axis_word(*axis).is_some());
        known.fold(Axes::default(), Axes::with)
    }

    /// Where the axis words of the block lead; `machine` for machine coordinates.
    pub(super) fn target(&self, machine: bool) -> Pose {
        let mut to = self.pose;
        if let Some(compensation) = &self.compensation {
            let [x, y, z] = to.xyz;
            let [x, y] = compensation.start([x, y]);
            to.xyz = [x, y, z];
        }
        let incremental = self.is_incremental();
        if self.words.are_plain() && !machine && !incremental {
            let (scale, named) = (self.state.units.value.mm(), self.words.axes());
            for (axis, (slot, letter)) in to.xyz.iter_mut().zip(AXIS_LETTERS).enumerate() {
                if named.has(axis) {
                    *slot = self.words.get(letter).map_or(*slot, |value| value * scale);
                }
            }
            to.known = Axes(to.known.0 | named.0);
            return to;
        }
        for (axis, letter) in AXIS_LETTERS.into_iter().enumerate() {
            if !self.words.has(letter) {
                continue;
            }
            let value = match self.axis_word(axis) {
                Some(value) if machine => self.program_coordinate(axis, value),
                Some(value) if incremental => to.axis(axis).map(|from| from + value),
                other => other,
            };
            match value {
                Some(value) => to.state(axis, value),
                None => to.known = to.known.without(axis),
            }
        }
        to
    }

    /// The non-modal codes that use axis words, and G92.1 to G92.3.
    pub(super) fn non_modal(&mut self) {
        match self.words.code(Group::NonModal).map(|(code, _)| code.action) {
            Some(Action::SetData) => self.set_data(),
            Some(Action::AxisOffset(action)) => self.axis_offset(action),
            Some(Action::LocalShift) => self.local_shift(),
            Some(Action::Home(which)) => self.home(which),
            _ => {}
        }
    }
}
