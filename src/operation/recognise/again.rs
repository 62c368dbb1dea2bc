//! A canned cycle once more: what most blocks of a hole pattern ask for. Where it can differ from the cycle before by
//! nothing but its place, only what hangs on the place is worked out.

use super::{Recogniser, Watcher, hole};
use crate::motion::{Axes, BlockRef, CycleCall, Expand, ModalState, Observer, Plane, Pose};
use crate::operation::contact::HEIGHT;
use crate::operation::open::words_in_force;
use crate::operation::timing::Spent;

/// The cycle before, when it came to its place in the air and along X and Y.
#[derive(Clone, Copy)]
pub(super) struct Repeat {
    form: u32,
    recipe: u32,
    /// Heights it began at and came to its place at, mm.
    heights: (f64, f64),
    /// Time from its place on.
    spent: Spent,
}

impl<W: Watcher> Recogniser<'_, W> {
    /// Notes a repeated cycle, that the next one may be compared with it.
    pub(super) fn note_repeat(&mut self, call: &CycleCall, recipe: u32, spent: Spent) {
        let heights = heights(call);
        let in_air = self.entry.is_some_and(|entry| heights.0.min(heights.1) >= entry - HEIGHT);
        let comparable = in_air && call.plane == Plane::Xy && self.scene.knows_height(&call.from, 2);
        self.repeat = comparable.then_some(Repeat { form: call.form, recipe, heights, spent });
    }

    /// The cycle before, where nothing about this one but its place has to be looked at.
    fn repeated(&mut self, call: &CycleCall, state: &ModalState) -> Option<Repeat> {
        let repeat = self.repeat?;
        let Pose { xyz: from, known, .. } = call.from;
        let placed = known.contains(Axes::XYZ) && call.known.contains(Axes::XYZ) && self.frame.is_at(from);
        let same = placed && (repeat.form, repeat.heights) == (call.form, heights(call));
        let bottom = self.book.facts(repeat.recipe).filter(|_| same)?.bottom;
        let near =
            self.guard.may_meet(&self.frame, from, call.over, bottom) || !self.watcher.passes(from, call.over, state);
        Some(repeat).filter(|_| !near && self.timing.is_even())
    }

    /// Takes a cycle that may be like the one before it: the short way, unless there is more to look at.
    pub(super) fn take_again(&mut self, call: &CycleCall, block: BlockRef, state: &ModalState) -> Expand {
        let Some(repeat) = self.repeated(call, state) else { return self.cycle(call, block, state) };
        let ([x, y, _], [from_x, from_y, _]) = (call.over, call.from.xyz);
        let at = self.frame.place([x, y]);
        let claimed = self.claim(at, 2);
        if claimed.0.is_some() {
            return self.make(call, block, state, at, claimed);
        }
        self.frame.come_to([x, y]);
        self.guard.pass([x, y]);
        self.timing.repeat_level([x - from_x, y - from_y], repeat.spent);
        self.account_cycle(repeat.recipe);
        self.add(hole(at, repeat.recipe, block, call.stated_at, words_in_force(state, block)), None, false);
        Expand::Done
    }
}

/// Heights of a cycle along Z: before it, and of the way to its place.
fn heights(call: &CycleCall) -> (f64, f64) {
    let ([_, _, from], [_, _, over]) = (call.from.xyz, call.over);
    (from, over)
}

#[cfg(test)]
mod tests {
    use crate::job::{Job, Zone, ZoneKind, ZoneShape};
    use crate::motion::{BlockRef, ModalState, MotionFault, Step};
    use crate::operation::watched::{self, DRILL, PLATE};
    use crate::operation::{Contact, Survey, ToolUse, Watcher};
    use crate::units::{Millimetres, MmPerMin};
    use proptest::prelude::*;

    /// Lets every rapid pass, and counts those that came as steps all the same.
    #[derive(Default)]
    struct Passing(usize);

    impl Watcher for Passing {
        fn step(&mut self, _: &Step<'_>, _: Contact) {
            self.0 += 1;
        }
        fn passes(&mut self, _: [f64; 3], _: [f64; 3], _: &ModalState) -> bool {
            true
        }
        fn hole(&mut self, _: u32, _: bool, _: &Survey) {}
        fn tool(&mut self, _: &ToolUse, _: &Survey) {}
        fn fault(&mut self, _: MotionFault) {}
        fn block(&mut self, _: BlockRef, _: bool) {}
    }

    /// A plate with a post on it.
    fn job() -> Job {
        let mut job = watched::job(&format!("{PLATE}{DRILL}"));
        job.machine.rapid = [Some(MmPerMin(12_000.0)); 3];
        let shape = ZoneShape::Cylinder { at: (Millimetres(155.0), Millimetres(5.0)), diameter: Millimetres(10.0) };
        let (id, kind) = ("P1".to_owned(), ZoneKind::Post);
        job.fixture.zones.push(Zone { id, kind, shape, z: (None, None), tolerance: Millimetres(1.0) });
        job
    }

    fn program(body: &str) -> String {
        format!("G21 G90 G94 G17 G54\nT1 M6\nG0 G43 H1 X0 Y0 Z50.\nS3000 M3\n{body}\nM30\n")
    }

    #[test]
    fn a_row_of_holes_passes_without_a_step() {
        let row: String = (2..=40).map(|hole| format!("X{hole}.\n")).collect();
        let text = program(&format!("G99 G81 X1. Y0. Z-8. R2. F300.\n{row}"));
        let (survey, Passing(steps)) = watched::watch(Some(&job()), &text, Passing::default());
        assert_eq!(survey.holes.len(), 40);
        assert!(steps < 30, "{steps} steps");
    }

    fn block() -> impl Strategy<Value = String> {
        let place = (0..170_i32, 0..12_i32);
        prop_oneof![
            12 => place.clone().prop_map(|(x, y)| format!("X{x}. Y{y}.")),
            1 => place.clone().prop_map(|(x, y)| format!("G99 G81 X{x}. Y{y}. Z-8. R2. F300.")),
            1 => place.clone().prop_map(|(x, y)| format!("G98 G82 X{x}. Y{y}. Z-4. R2. P1 F200.")),
            1 => place.prop_map(|(x, y)| format!("G0 X{x}. Y{y}.")),
            1 => prop::sample::select(vec![
                "G4 P1.", "G92 X0. Y0.", "G55", "G54", "G91", "G90", "F100.", "Z-5.", "R4.", "G80", "S2000", "(note)", "M5",
            ])
            .prop_map(str::to_owned),
        ]
    }

    proptest! {
        #[test]
        fn the_short_way_leaves_the_same_survey(blocks in prop::collection::vec(block(), 1..60)) {
            let text = program(&blocks.join("\n"));
            let (short, _) = watched::watch(Some(&job()), &text, Passing::default());
            let (long, ()) = watched::watch(Some(&job()), &text, ());
            prop_assert_eq!(format!("{short:?}"), format!("{long:?}"));
        }
    }
}
