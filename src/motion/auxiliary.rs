//! Tool change, spindle, coolant, dust extraction and overrides.

use super::code::Coolant;
use super::runner::Runner;
use super::{Action, Group, Observer, SpindleSense, StepKind};

impl<O: Observer> Runner<'_, O> {
    pub(super) fn tool_change(&mut self) {
        let Some((_, span)) = self.words.code(Group::ToolChange) else { return };
        if let Some(tool) = self.state.selected.value.take() {
            self.state.tool.value = tool;
        }
        let tool = self.state.tool.value;
        self.state.tool = self.stated(tool, span);
        // Words of the block that changes the tool are meant for the new one, though they are read before it.
        if self.words.has(b'S') {
            self.state.speed.tool = tool;
        }
        if self.words.has(b'F') {
            self.state.feed_word.tool = tool;
        }
        // The spindle stands still after a tool change (NISTIR 6556, section 3.6.3).
        self.state.spindle = self.stated(SpindleSense::Stopped, span);
        self.state.generation += 1;
        self.still(StepKind::ToolChange);
    }

    pub(super) fn spindle(&mut self, late: bool, before_motion: bool) {
        let Some((code, span)) = self.words.code(Group::Spindle) else { return };
        let Action::Spindle(sense) = code.action else { return };
        if (late && sense == SpindleSense::Stopped) == before_motion {
            return;
        }
        let new = self.stated(sense, span);
        let changed = self.state.spindle.take(new);
        self.state.generation += u32::from(changed);
        self.state.doubtful.spindle &= self.state.speed.value.is_none();
    }

    pub(super) fn coolant(&mut self, late: bool, before_motion: bool) {
        let Some((code, span)) = self.words.code(Group::Coolant) else { return };
        let Action::Coolant(coolant) = code.action else { return };
        if (late && coolant == Coolant::Off) == before_motion {
            return;
        }
        let (mist, flood) = match coolant {
            Coolant::Mist => (Some(true), None),
            Coolant::Flood => (None, Some(true)),
            Coolant::Off => (Some(false), Some(false)),
        };
        let mut changed = false;
        if let Some(mist) = mist {
            let new = self.stated(mist, span);
            changed |= self.state.mist.take(new);
        }
        if let Some(flood) = flood {
            let new = self.stated(flood, span);
            changed |= self.state.flood.take(new);
        }
        self.state.generation += u32::from(changed);
    }

    /// Dust extraction: on before the motion of its block, off after it.
    pub(super) fn extraction(&mut self, on: bool) {
        let mut codes = self.words.machine_codes.iter();
        let wanted = if on { &self.settings.extraction_on } else { &self.settings.extraction_off };
        let Some((_, span)) = codes.find(|(number, _)| wanted.contains(number)).copied() else { return };
        let new = self.stated(Some(on), span);
        let changed = self.state.extraction.take(new);
        self.state.generation += u32::from(changed);
    }

    pub(super) fn overrides(&mut self) {
        let Some((code, span)) = self.words.code(Group::Overrides) else { return };
        let Action::Overrides(allowed) = code.action else { return };
        let new = self.stated(allowed, span);
        let changed = self.state.overrides.take(new);
        self.state.generation += u32::from(changed);
    }
}
