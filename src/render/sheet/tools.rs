//! Tools with what to set, in the control's units: H, D, stick-out, S and F, override band and life.

use super::{Scene, listed};
use crate::job::{LifeLimit, Tool, ToolAmount};
use crate::motion::{FeedMode, LengthOffset};
use crate::operation::{FirstCut, StrokeKind};
use crate::process::life::{Spent, shortened};
use crate::process::{BandEnd, CutReading, OverrideBand};
use crate::units::{Millimetres, MmPerMin, MmPerRev, MmPerTooth, UnitSystem, trimmed};
use std::collections::BTreeSet;

/// Different S or F words named for one tool.
const MOST_WORDS: usize = 4;

/// One tool.
pub(super) struct ToolRow {
    pub number: u32,
    pub label: String,
    pub offsets: String,
    pub diameter: String,
    pub stick_out: String,
    pub speeds: String,
    pub feeds: String,
    pub band: String,
    pub band_why: Vec<String>,
    pub life: Vec<String>,
}

/// Every tool the program uses, in order of first use.
pub(super) fn rows(scene: &Scene<'_>) -> Vec<ToolRow> {
    let mut seen = BTreeSet::new();
    let used = scene.book.report.survey.tools.iter().map(|used| used.tool);
    used.filter(|tool| *tool != 0 && seen.insert(*tool)).map(|tool| row(scene, tool)).collect()
}

fn row(scene: &Scene<'_>, number: u32) -> ToolRow {
    let units = scene.book.report.units;
    let tool = scene.job.and_then(|job| job.tool(number));
    let measured = scene.job.and_then(|job| job.measured.as_ref());
    // What the sheet asks for is the job file's; what was measured stands beside it.
    let length = |value: Option<Millimetres>, key: ToolAmount| {
        let now = value.map_or_else(|| "not given".to_owned(), |v| units.length(v));
        match measured.and_then(|measured| measured.of_tool(number, key)) {
            Some(value) => {
                let filed = value.filed.map(|filed| units.length(Millimetres(filed)));
                format!("{}; measured {now}", filed.unwrap_or_else(|| "not given".to_owned()))
            }
            None => now,
        }
    };
    let stretches = scene.course.tools.iter().filter(|stretch| stretch.tool == number);
    let cuts: Vec<&FirstCut> = stretches.filter_map(|stretch| stretch.cut.as_ref()).collect();
    let band = band(scene, number);
    let ends = [("least", &band.least), ("most", &band.most)];
    ToolRow {
        number,
        label: tool.map_or_else(|| "not in the job file".to_owned(), |tool| tool.label.clone()),
        offsets: listed(cuts.iter().map(|cut| offsets(cut)), MOST_WORDS),
        diameter: length(tool.map(|tool| tool.diameter), ToolAmount::Diameter),
        stick_out: length(tool.and_then(|tool| tool.stick_out), ToolAmount::StickOut),
        speeds: listed(speeds(scene, number), MOST_WORDS),
        feeds: listed(feeds(scene, number, cuts.first().map(|cut| cut.state.feed_mode.value)), MOST_WORDS),
        band: band.text(),
        band_why: ends.into_iter().filter_map(|(which, end)| Some(why(which, end.as_ref()?, units))).collect(),
        life: tool.map(|tool| life(scene, tool)).unwrap_or_default(),
    }
}

/// H and D in force at a first cut.
fn offsets(cut: &FirstCut) -> String {
    let h = match cut.state.length.value {
        LengthOffset::On { h, .. } => format!("H{h}"),
        LengthOffset::Off => "no H".to_owned(),
    };
    cut.state.cutter.value.1.map_or(h.clone(), |d| format!("{h} D{d}"))
}

fn speeds(scene: &Scene<'_>, number: u32) -> Vec<String> {
    let survey = &scene.book.report.survey;
    let strokes = survey.recipes.iter().filter(|recipe| recipe.tool == number).flat_map(|recipe| &recipe.strokes);
    let drilled = strokes.filter(|stroke| stroke.kind == StrokeKind::Feed).map(|stroke| stroke.speed);
    let stretches = survey.cuts.iter().filter(|cut| cut.tool == number).flat_map(|cut| &cut.stretches);
    let all = drilled.chain(stretches.map(|stretch| stretch.speed));
    all.map(|speed| speed.map_or_else(|| "S not known".to_owned(), |speed| format!("S{}", trimmed(speed, 1)))).collect()
}

/// Feeds as the program's F words would say them.
fn feeds(scene: &Scene<'_>, number: u32, mode: Option<FeedMode>) -> Vec<String> {
    let (survey, units) = (&scene.book.report.survey, scene.book.report.units);
    let strokes = survey.recipes.iter().filter(|recipe| recipe.tool == number).flat_map(|recipe| &recipe.strokes);
    let drilled = strokes.filter(|s| s.kind == StrokeKind::Feed && s.to < s.from).map(|s| (s.feed, s.speed));
    let stretches = survey.cuts.iter().filter(|cut| cut.tool == number).flat_map(|cut| &cut.stretches);
    let all = drilled.chain(stretches.map(|stretch| (stretch.feed, stretch.speed)));
    let per_rev = mode == Some(FeedMode::PerRev);
    all.map(|(feed, speed)| match (feed, speed) {
        (None, _) => "F not known".to_owned(),
        (Some(feed), Some(speed)) if per_rev && speed > 0.0 => units.per_rev(MmPerRev(feed / speed)),
        (Some(feed), _) => units.feed(MmPerMin(feed)),
    })
    .collect()
}

fn band(scene: &Scene<'_>, number: u32) -> OverrideBand {
    let report = scene.book.report;
    let made = report.survey.recipes.iter().enumerate().filter(|(_, recipe)| recipe.tool == number);
    let holes = made.map(|(index, _)| scene.book.band(index));
    let cuts = report.survey.cuts.iter().filter(|cut| cut.tool == number);
    let cuts =
        scene.job.into_iter().flat_map(|job| cuts.clone().map(|cut| OverrideBand::of_cut(&CutReading::of(cut, job))));
    holes.chain(cuts).fold(OverrideBand::default(), OverrideBand::and)
}

/// What sets an end of a band, such as `least: chip-load floor 0.04, as posted 0.06 mm/rev`.
fn why(which: &str, end: &BandEnd, units: UnitSystem) -> String {
    let shown = |value: f64| {
        if end.unit == MmPerTooth::SYMBOL { units.per_tooth(MmPerTooth(value)) } else { units.per_rev(MmPerRev(value)) }
    };
    let limit = shown(end.limit);
    let limit = limit.split(' ').next().unwrap_or_default();
    let waiver = end.waiver.as_ref().map(|id| format!(" by {id}")).unwrap_or_default();
    format!("{which}: {} {limit}{waiver}, as posted {}", end.set_by.words(), shown(end.programmed))
}

/// What this program takes of the tool's life.
fn life(scene: &Scene<'_>, tool: &Tool) -> Vec<String> {
    let survey = &scene.book.report.survey;
    let spent = Spent::of(tool.number, survey);
    let by_law = shortened(tool, survey);
    let share = by_law.as_ref().ok().copied().flatten().map_or(1.0, |law| law.share);
    let told = |life: &LifeLimit| {
        let here = spent.by(*life);
        let (most, unit, decimals) = match *life {
            LifeLimit::Holes(most) => (libm::floor(f64::from(most) * share), "holes", 0),
            LifeLimit::Metres(most) => (most * share, "m", 1),
        };
        let left = most - tool.used - here;
        let end =
            if left < 0.0 { "ENDS IN THIS PROGRAM".to_owned() } else { format!("{} left", trimmed(left, decimals)) };
        let [here, used, most] = [here, tool.used, most].map(|value| trimmed(value, decimals));
        format!("{used} + {here} of {most} {unit}: {end}")
    };
    tool.life.iter().map(told).chain(by_law.err()).collect()
}
