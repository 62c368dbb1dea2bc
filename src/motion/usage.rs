//! What the words of a block are for: which motion they make, and which of them nothing uses.

use super::code::AxisOffset;
use super::runner::Runner;
use super::words::mask;
use super::{Action, AfterCancel, Axes, CutterSide, CycleCode, FaultKind, Group, LengthOffset, MotionMode, Observer};
use crate::job::RepeatWord;
use crate::source::Span;

/// The motion a block makes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Plan {
    /// Its mode; `None` when the block makes none.
    pub motion: Option<MotionMode>,
    /// Whether a code of the block uses the axis words instead.
    pub axes_taken: bool,
    /// Whether positions are machine coordinates.
    pub machine: bool,
}

/// Letters that need no code in the block.
const FREE: u32 = mask(b"ABCFSTXYZ");
/// Rotary axes and the rest, to see at a glance whether there is anything to check.
const AXES: u32 = mask(b"ABCXYZ");

impl<O: Observer> Runner<'_, O> {
    /// Finds the block's motion and what does not fit together.
    pub(super) fn check_use(&mut self) {
        self.plan = Plan::default();
        let letters = self.words.letters();
        let has_codes = self.words.has_codes();
        if letters & !FREE == 0 && !has_codes && letters & AXES == letters {
            // The plain case: axis words under a modal motion.
            self.plan.motion = Some(self.state.motion.value).filter(|mode| *mode != MotionMode::None && letters != 0);
            if self.plan.motion.is_some() && self.settings.axes == Axes::ALL {
                return;
            }
        }
        let named = self.axes_named();
        for (index, letter) in super::words::AXIS_LETTERS.into_iter().enumerate() {
            if named.has(index) && !self.settings.axes.has(index) {
                self.note(FaultKind::NoAxis(char::from(letter)), self.words.span(letter));
            }
        }
        self.plan_motion(named);
        self.check_non_modal(named);
        self.check_compensation();
        if !self.faults.iter().any(|(kind, _)| matches!(kind, FaultKind::MotionWithoutAxis(_))) {
            self.check_letters();
        }
    }

    /// Axes named for a motion: X of a G4 without P is a time.
    fn axes_named(&self) -> Axes {
        let mut axes = self.words.axes();
        let dwell = self.words.code(Group::NonModal).is_some_and(|(code, _)| code.action == Action::Dwell);
        if dwell && !self.words.has(b'P') && !self.settings.dialect.strict {
            axes.0 &= !1;
        }
        axes
    }

    fn plan_motion(&mut self, named: Axes) {
        let strict = self.settings.dialect.strict;
        let any = named != Axes::default();
        let explicit = self.words.code(Group::Motion);
        let taker = self.words.code(Group::NonModal).filter(|(code, _)| takes_axes(code.action));
        self.plan.machine =
            self.words.code(Group::NonModal).is_some_and(|(code, _)| code.action == Action::MachineCoordinates);
        if let Some((taker, _)) = taker {
            self.plan.axes_taken = true;
            if let Some((code, span)) = explicit.filter(|(code, _)| strict && !code.is_cancel()) {
                self.note(FaultKind::TwoAxisCodes(taker.name, code.name), span);
            }
            return;
        }
        let mode = match explicit.map(|(code, _)| code.action) {
            Some(Action::Motion(mode)) => mode,
            _ => self.state.motion.value,
        };
        let moves = any || !strict && self.moves_without_axes(mode);
        if !moves {
            if let Some((code, span)) = explicit.filter(|(code, _)| strict && !code.is_cancel()) {
                self.note(FaultKind::MotionWithoutAxis(code.name), span);
            }
            return;
        }
        self.plan.motion = Some(mode);
        if mode == MotionMode::None {
            self.without_motion(explicit.is_some(), named);
        }
        let straight = matches!(self.plan.motion, Some(MotionMode::Rapid | MotionMode::Line));
        if self.plan.machine && !straight {
            let span = self.words.code(Group::NonModal).map_or(self.block.span, |(_, span)| span);
            self.note(FaultKind::MachineNeedsLine, span);
            self.plan.motion = Some(MotionMode::Rapid);
        }
    }

    /// An axis word under G80 or before any motion code. Outside the strict language it moves as before the cycle.
    fn without_motion(&mut self, cancelled_here: bool, named: Axes) {
        let moves = self.settings.dialect.after_cancel == AfterCancel::EarlierMotion;
        let first = super::words::AXIS_LETTERS.into_iter().zip(0..).find(|(_, index)| named.has(*index));
        let span = first.map_or(self.block.span, |(letter, _)| self.words.span(letter));
        let kind = if cancelled_here && !moves { FaultKind::AxisWithCancel } else { FaultKind::AxisWithoutMotion };
        self.note(kind, span);
        let earlier = if self.earlier == MotionMode::None { MotionMode::Rapid } else { self.earlier };
        self.plan.motion = Some(earlier).filter(|_| moves);
    }

    /// Full circles by their centre alone, and cycle blocks that only store values.
    fn moves_without_axes(&self, mode: MotionMode) -> bool {
        let has_any = |letters: &[u8]| letters.iter().any(|letter| self.words.has(*letter));
        match mode {
            MotionMode::ArcCw | MotionMode::ArcCcw => {
                self.settings.dialect.bare_circle && has_any(b"IJK") || self.words.has(b'R')
            }
            MotionMode::Cycle(_) => self.words.code(Group::Motion).is_some() || has_any(b"IJKLPQR"),
            _ => false,
        }
    }

    fn check_non_modal(&mut self, named: Axes) {
        let Some((code, span)) = self.words.code(Group::NonModal) else { return };
        let compensated = self.state.cutter.value.0 != CutterSide::Off;
        let incremental = match self.words.code(Group::Distance).map(|(code, _)| code.action) {
            Some(Action::Distance(distance)) => distance == super::Distance::Incremental,
            _ => self.is_incremental(),
        };
        let any = named != Axes::default();
        let strict = self.settings.dialect.strict;
        let kind = match code.action {
            Action::Dwell if !self.words.has(b'P') && (strict || !self.words.has(b'X')) => FaultKind::DwellWithoutTime,
            Action::SetData => match self.check_data() {
                Some(kind) => kind,
                None => return,
            },
            Action::Home(_) if compensated => FaultKind::Compensated(code.name),
            Action::MachineCoordinates if incremental => FaultKind::MachineIncremental,
            Action::MachineCoordinates if compensated => FaultKind::Compensated(code.name),
            Action::AxisOffset(AxisOffset::Set) | Action::LocalShift if !any => FaultKind::CodeWithoutAxis(code.name),
            Action::AxisOffset(_) if compensated => FaultKind::Compensated(code.name),
            _ => return,
        };
        self.note(kind, span);
    }

    fn check_data(&self) -> Option<FaultKind> {
        if self.words.get(b'L') != Some(2.0) {
            return Some(FaultKind::DataNotWorkOffset);
        }
        let number = self.words.get(b'P').unwrap_or(f64::NAN);
        let known = super::words::whole(number).is_some_and(|number| (1..=9).contains(&number));
        (!known).then_some(FaultKind::DataNumber(number))
    }

    fn check_compensation(&mut self) {
        let on = self.state.cutter.value.0 != CutterSide::Off;
        if let Some((code, span)) = self.words.code(Group::Cutter)
            && code.action != Action::Cutter(CutterSide::Off)
        {
            let plane = match self.words.code(Group::Plane).map(|(code, _)| code.action) {
                Some(Action::Plane(plane)) => plane,
                _ => self.state.plane.value,
            };
            if plane != super::Plane::Xy {
                self.note(FaultKind::CompensationPlane, span);
            } else if on && self.settings.dialect.strict {
                self.note(FaultKind::CompensationOn, span);
            }
        }
        if !on {
            return;
        }
        for group in [Group::Plane, Group::Units] {
            if let Some((code, span)) = self.words.code(group).filter(|(code, _)| !self.is_active(code.action)) {
                self.note(FaultKind::Compensated(code.name), span);
            }
        }
    }

    /// Whether the plane or units code says what is so already.
    fn is_active(&self, action: Action) -> bool {
        match action {
            Action::Plane(plane) => plane == self.state.plane.value,
            Action::Units(units) => units == self.state.units.value,
            _ => false,
        }
    }

    /// Words that nothing in the block uses.
    fn check_letters(&mut self) {
        let spare = self.words.letters() & !self.used_letters();
        if spare == 0 {
            return;
        }
        for letter in b'A'..=b'Z' {
            if spare & mask_of(letter) != 0 {
                self.note(FaultKind::Unused(char::from(letter), user_of(letter)), self.words.span(letter));
            }
        }
    }

    fn used_letters(&self) -> u32 {
        let strict = self.settings.dialect.strict;
        let mut used = FREE;
        if !strict && (!self.words.others.is_empty() || self.words.code(Group::Path).is_some()) {
            used |= mask(b"IJKLPQR");
        }
        if self.words.code(Group::Cutter).is_some() {
            used |= mask(b"D");
        }
        let offset_on = matches!(self.state.length.value, LengthOffset::On { .. }) && !strict;
        if self.words.code(Group::LengthOffset).is_some_and(|(code, _)| code.action == Action::LengthOn) || offset_on {
            used |= mask(b"H");
        }
        if self.words.code(Group::Call).is_some() {
            used |= mask(b"LPQ");
        }
        used |= match self.words.code(Group::NonModal).map(|(code, _)| code.action) {
            Some(Action::Dwell) => mask(b"P"),
            Some(Action::SetData) => mask(b"LPR"),
            _ => 0,
        };
        if self.words.code(Group::WorkOffset).is_some_and(|(code, _)| code.action == Action::FurtherOffset) {
            used |= mask(b"P");
        }
        used | match self.plan.motion {
            Some(MotionMode::ArcCw | MotionMode::ArcCcw) => mask(b"IJKR"),
            Some(MotionMode::Cycle(code)) => self.cycle_letters(code),
            _ => 0,
        }
    }

    fn cycle_letters(&self, code: CycleCode) -> u32 {
        if !self.settings.dialect.strict {
            return mask(b"IJKLPQR");
        }
        code.needs().iter().fold(mask(b"LR"), |letters, letter| letters | mask_of(*letter))
    }

    /// The word that repeats a cycle, with its value.
    pub(super) fn repeat_word(&self, code: CycleCode) -> Option<(f64, Span)> {
        let letters: &[u8] = match self.settings.declared.repeat_word {
            Some(RepeatWord::L) => b"L",
            Some(RepeatWord::K) => b"K",
            Some(RepeatWord::Either) | None => b"LK",
        };
        let usable = |letter: &&u8| **letter == b'L' || !code.needs().contains(*letter);
        let letter = letters.iter().filter(usable).find(|letter| self.words.has(**letter))?;
        Some((self.words.get(*letter)?, self.words.span(*letter)))
    }
}

fn mask_of(letter: u8) -> u32 {
    1 << letter.saturating_sub(b'A')
}

fn takes_axes(action: Action) -> bool {
    matches!(action, Action::SetData | Action::Home(_) | Action::AxisOffset(AxisOffset::Set) | Action::LocalShift)
}

/// What would use a word of that letter.
fn user_of(letter: u8) -> &'static str {
    match letter {
        b'D' => "G41 or G42",
        b'H' => "G43",
        b'I' | b'J' | b'K' => "an arc or a cycle that needs it",
        b'L' => "a cycle, a call or G10",
        b'P' => "a dwell, a call or a cycle that dwells",
        b'Q' => "a peck cycle",
        b'R' => "an arc or a cycle",
        _ => "a code that needs it",
    }
}
