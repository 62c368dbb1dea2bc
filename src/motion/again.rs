//! Rows of a hole pattern: lines that do at another place what the block before them did, so that nothing but the place
//! has to be worked out.

use super::runner::Runner;
use super::{Axes, CutterSide, FeedMode, Observer, Pose};
use crate::syntax::Row;

/// What a row must find as the cycle before it left it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Standing {
    /// Generation of the modal state.
    generation: u32,
    /// Height along the plane's normal, mm.
    height: f64,
    abc: [f64; 3],
    known: Axes,
    in_plane: Axes,
}

impl<O: Observer> Runner<'_, O> {
    /// How things stand behind a single call made at `generation`, where a row may repeat it.
    pub(super) fn standing(&self, generation: u32) -> Option<Standing> {
        let (call, _) = self.series.call.as_ref()?;
        let (first, second, normal) = call.plane.axes();
        let Pose { xyz, abc, known } = self.pose;
        let height = *xyz.get(normal)?;
        let as_begun = (Some(&height), abc, known) == (call.from.xyz.get(normal), call.from.abc, call.from.known);
        let placed = as_begun && known.contains(Axes::XYZ) && call.known.contains(Axes::XYZ);
        let state = &self.state;
        let plain = state.feed_mode.value != FeedMode::InverseTime
            && state.cutter.value.0 == CutterSide::Off
            && state.lost == Axes::default()
            && self.settings.axes == Axes::ALL
            && !self.is_incremental();
        let in_plane = Axes::default().with(first).with(second);
        (placed && plain && state.generation == generation).then_some(Standing {
            generation,
            height,
            abc,
            known,
            in_plane,
        })
    }

    /// Where a row leads that drills as the block before it did; `None` for one that has to be run like any block.
    pub(super) fn next_place(&self, row: &Row) -> Option<[f64; 3]> {
        let Standing { generation, height, abc, known, in_plane } = self.series.standing?;
        let same = generation == self.state.generation && (abc, known) == (self.pose.abc, self.pose.known);
        if !same || !in_plane.contains(Axes(row.axes)) {
            return None;
        }
        let mm = self.state.units.value.mm();
        let mut to = self.pose.xyz;
        for (axis, (slot, value)) in to.iter_mut().zip(row.values).enumerate() {
            if row.axes & 1 << axis != 0 {
                *slot = value * mm;
            } else if !in_plane.has(axis) && *slot != height {
                return None;
            }
        }
        Some(to)
    }

    /// Makes the last call once more, from here, at another place and the same height.
    pub(super) fn drill_again(&mut self, to: [f64; 3]) {
        let Some((call, _)) = &mut self.series.call else { return };
        let (first, second, _) = call.plane.axes();
        call.from = self.pose;
        for axis in [first, second] {
            if let (Some(slot), Some(value)) = (call.over.get_mut(axis), to.get(axis)) {
                *slot = *value;
            }
        }
        let expand = self.observer.cycle_again(call, self.block, &self.state);
        self.follow_call(expand);
        self.pose.xyz = to;
    }
}

#[cfg(test)]
mod tests {
    use crate::motion::tests::{declared, run_with};
    use crate::motion::{Dialect, Moves, Settings, ToolTable, run};
    use crate::program::ProgramGraph;
    use crate::source::{NoLibrary, Source};
    use proptest::prelude::*;

    /// Every move and every fault of some blocks, each with `end` behind it, without lines' positions in the text.
    fn moves(dialect: &'static str, blocks: &[&str], end: &str) -> Vec<String> {
        let dialect = Dialect::named(dialect).unwrap();
        let settings = Settings::new(dialect, Some(&declared()));
        let head = ["G21 G17 G90 G94 G54", "T1 M6", "G0 G43 H1 X0. Y0. Z50.", "S3000 M3"];
        let text: String = head.iter().chain(blocks).map(|block| format!("{block}{end}\n")).collect();
        let mut rows: Vec<String> =
            run_with(&settings, &text).faults.iter().map(|fault| format!("{fault:?}")).collect();
        let programs = ProgramGraph::read(Source::new("case.nc", text), &NoLibrary, &settings.lexis());
        let mut watch = Moves::new(&programs, |row| rows.push(format!("{row:?}")));
        run(&programs, &settings, &ToolTable::default(), &mut watch);
        rows
    }

    #[test]
    fn a_level_stated_alone_holds_from_the_next_row_on() {
        let rows = moves("shop", &["G99 G81 X1. Z-5. R2. F100.", "X2.", "X3.", "R4.", "X4."], "");
        assert!(rows.last().is_some_and(|row| row.contains("Some(4.0), Some(0.0), Some(4.0)")), "{rows:#?}");
    }

    const BLOCKS: [&str; 30] = [
        "X1.",
        "X2. Y3.",
        "Y5.",
        "X-4.5",
        "X7. Y-1.",
        "X1. Z-6.",
        "Z-7.",
        "Z-4.",
        "R3.",
        "Q1.",
        "F300.",
        "G98",
        "G99",
        "G91",
        "G90",
        "G80",
        "G0 X5. Z20.",
        "G99 G81 X1. Z-5. R2. F100.",
        "G98 G82 X1. Z-5. R2. P1. F100.",
        "G73 Y2. Z-5. R2. Q2. F100.",
        "G99 G83 X3. Z-5. R2. Q2. F100.",
        "G85 X3. Z-5. R2. F100.",
        "G92 X0. Y0.",
        "G55",
        "G54",
        "G18",
        "G17",
        "G20",
        "G21",
        "M5",
    ];

    proptest! {
        #[test]
        fn rows_do_what_lines_with_a_comment_do(blocks in prop::collection::vec(prop::sample::select(&BLOCKS[..]), 1..40)) {
            for dialect in ["shop", "rs274-ngc"] {
                prop_assert_eq!(moves(dialect, &blocks, ""), moves(dialect, &blocks, " (hole)"));
            }
        }
    }
}
