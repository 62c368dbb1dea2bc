//! The holes of a program, those made alike together: layers, feeds, windows and where they break through.

use super::book::Book;
use super::look::Look;
use super::names::compressed;
use super::{CAUTION, counted};
use crate::check::Report;
use crate::job::{Job, Layer};
use crate::operation::{Breakthrough, Origin, Recipe, Stroke, StrokeKind};
use crate::process::wall::Helix;
use crate::process::{HoleReading, Reading, Window, Zone};
use crate::source::SourceId;
use crate::units::{MM_PER_INCH, Millimetres, MmPerMin, MmPerRev, UnitSystem, trimmed};
use std::collections::BTreeMap;
use std::iter;

/// Columns given to a layer's name.
const LAYER: usize = 12;

/// Every group of holes of a report: holes whose account reads the same are told once.
#[must_use]
pub fn holes(report: &Report, job: Option<&Job>, look: &Look) -> String {
    let book = Book::new(report);
    let made = report.survey.recipes.iter().zip(&report.readings).enumerate();
    let accounts: Vec<String> = made.map(|(index, made)| account(&book, index, made, job, look)).collect();
    let mut groups: BTreeMap<&str, Vec<u32>> = BTreeMap::new();
    for (index, hole) in (0..).zip(&report.survey.holes) {
        if let Some(account) = accounts.get(hole.recipe as usize) {
            groups.entry(account).or_default().push(index);
        }
    }
    let mut groups: Vec<(&str, Vec<u32>)> = groups.into_iter().collect();
    groups.sort_by_key(|(_, members)| members.first().copied());
    let mut text: String = groups.iter().map(|(account, members)| group(&book, account, members, look)).collect();
    text.push_str(&super::answers::section(&book, look));
    let total = report.survey.holes.len() as u64;
    text.push_str(&look.wrapped("", "  ", &format!("{} in {}", counted(total, "hole"), book.name(SourceId(0)))));
    text.push_str(&look.wrapped("  ", "  ", &super::coverage(report)));
    text.push_str(&super::times(report, job.map(|job| &job.machine), look));
    text.push_str(&look.wrapped("  ", "  ", CAUTION));
    text
}

/// One group: which holes, where the first is, and the account they share.
fn group(book: &Book<'_>, account: &str, members: &[u32], look: &Look) -> String {
    let names: Vec<String> = members.iter().map(|index| book.hole(*index)).collect();
    let heading = format!("{} ({})", compressed(&names), counted(members.len() as u64, "hole"));
    let mut text = look.wrapped("", "  ", &heading);
    if let Some(first) = members.first().and_then(|index| book.report.survey.holes.get(*index as usize)) {
        let line = book.position(first.source, first.block).line;
        let n = book.n_word(first.source, first.block).map(|n| format!(", {n}")).unwrap_or_default();
        text.push_str(&look.led("first", &format!("line {line}{n}")));
    }
    text + account + "\n"
}

/// How holes are made: passes through the layers, breakthrough, and what could not be worked out.
fn account(
    book: &Book<'_>,
    index: usize,
    (recipe, reading): (&Recipe, &HoleReading),
    job: Option<&Job>,
    look: &Look,
) -> String {
    let units = book.report.units;
    let mut text = look.led("made", &made(book, recipe, units));
    text.push_str(&helix(recipe, units).map(|words| look.led("helix", &words)).unwrap_or_default());
    let Some(job) = job else {
        return text + &look.led("layers", "not known: no job file names a laminate");
    };
    let layers = job.laminate.as_ref().map_or(&[][..], |laminate| &laminate.layers);
    text.push_str(&passes(reading, layers, units, look));
    let nothing = cuts_nothing(recipe, reading, units);
    if let Some(words) = &nothing {
        text.push_str(&look.led("cuts", words));
    }
    if let Some(through) = &reading.breakthrough {
        text.push_str(&breakthrough(through, units));
    }
    if nothing.is_none() {
        text.push_str(&look.led("band", &book.band(index).text()));
    }
    for gap in &reading.gaps {
        let key = gap.key.as_ref().map(|key| format!("; give `{key}` in the job file")).unwrap_or_default();
        text.push_str(&look.led("?", &format!("not worked out: {}{key}", gap.why)));
    }
    text
}

/// That a tool meets no material, because a hole as wide is there already.
pub(super) fn cuts_nothing(recipe: &Recipe, reading: &HoleReading, units: UnitSystem) -> Option<String> {
    let nothing = reading.passes.is_empty() && reading.gaps.is_empty() && recipe.pilot > 0.0;
    nothing.then(|| format!("nothing is cut: a hole of {} is there already", units.length(Millimetres(recipe.pilot))))
}

/// Tool, cycle, depth, speed and feeds in words.
pub(super) fn made(book: &Book<'_>, recipe: &Recipe, units: UnitSystem) -> String {
    let tool = if recipe.tool == 0 { "tool not known".to_owned() } else { book.tool(recipe.tool) };
    let orbit = recipe.orbit.map_or(0.0, |orbit| orbit.diameter);
    let how = match recipe.origin {
        Origin::Cycle(code) => code.name().to_owned(),
        Origin::LongHand => "long-hand".to_owned(),
        Origin::Orbit => format!("circled {} wide", units.length(Millimetres(orbit))),
    };
    let pecks = Some(pecks(recipe)).filter(|count| *count > 1 && recipe.orbit.is_none());
    let pecks = pecks.map(|count| format!(" in {}", counted(count, "peck")));
    let depth = units.coordinate(axis_letter(recipe.axis), Millimetres(recipe.bottom));
    let feeding = |stroke: &&Stroke| stroke.kind == StrokeKind::Feed;
    let speeds = distinct(recipe.strokes.iter().filter(feeding).map(|stroke| stroke.speed));
    let speeds =
        speeds.iter().map(|speed| speed.map_or("S not known".to_owned(), |speed| format!("S{}", trimmed(speed, 1))));
    let feeds = distinct(recipe.strokes.iter().filter(feeding).map(|stroke| stroke.feed));
    let feeds = feeds.iter().map(|feed| feed.map_or("feed not known".to_owned(), |feed| units.feed(MmPerMin(feed))));
    let head = format!("{tool}: {how} to {depth}{}", pecks.unwrap_or_default());
    iter::once(head).chain(speeds).chain(feeds).collect::<Vec<_>>().join(", ")
}

/// The way down of a hole milled by circling; none where the circles are flat.
fn helix(recipe: &Recipe, units: UnitSystem) -> Option<String> {
    let helix = Helix::from(recipe.orbit.filter(|orbit| orbit.pitch > 0.0)?);
    let down = recipe.strokes.iter().filter(|stroke| stroke.kind == StrokeKind::Feed && stroke.to < stroke.from);
    let top = down.clone().map(|stroke| stroke.from).fold(recipe.bottom, f64::max);
    let depth = Millimetres(top - recipe.bottom);
    let (pitch, path) = (units.length(helix.pitch), units.length(helix.path(depth)));
    let (angle, turns) = (trimmed(helix.ramp().0, 1), trimmed(depth / helix.pitch, 1));
    let axial = down.filter_map(|stroke| stroke.feed).reduce(f64::max).map(|feed| helix.axial_feed(MmPerMin(feed)));
    let axial = axial.map(|feed| format!(" and {}", units.feed(feed))).unwrap_or_default();
    Some(format!("pitch {pitch}, down at {angle} degrees{axial}; {path} of path in {turns} turns"))
}

/// How often the tool is fed down again after it was pulled back.
fn pecks(recipe: &Recipe) -> u64 {
    let mut pulled_back = true;
    let mut count = 0;
    for stroke in recipe.strokes.iter().filter(|stroke| stroke.from != stroke.to) {
        let down = stroke.to < stroke.from;
        count += u64::from(pulled_back && down && stroke.kind == StrokeKind::Feed);
        pulled_back = if down { pulled_back && stroke.kind != StrokeKind::Feed } else { true };
    }
    count
}

fn axis_letter(axis: u8) -> char {
    ['X', 'Y', 'Z'].get(usize::from(axis)).copied().unwrap_or('Z')
}

/// Values in order of first appearance, each once.
fn distinct(values: impl Iterator<Item = Option<f64>>) -> Vec<Option<f64>> {
    let mut kept: Vec<Option<f64>> = Vec::new();
    for value in values {
        if !kept.contains(&value) {
            kept.push(value);
        }
    }
    kept
}

/// One row of the table of passes: pecks and turns that go on where the one before stopped, at the same feed.
struct Row<'a> {
    pass: &'a Reading,
    /// Tip depth it ends at.
    to: Millimetres,
    /// Whether it lies above the exit zone and is slowed for it, so that the body's window does not hold.
    slow: bool,
}

fn rows(reading: &HoleReading) -> Vec<Row<'_>> {
    let mut rows: Vec<Row<'_>> = Vec::new();
    for pass in &reading.passes {
        let slow = pass.zone != Zone::Exit && reading.is_exit_feed(pass);
        let goes_on = |row: &&mut Row<'_>| {
            let alike = row.pass.layer == pass.layer && row.pass.zone == pass.zone && row.pass.window == pass.window;
            alike && row.pass.per_rev == pass.per_rev && row.slow == slow && row.to == pass.depth.0
        };
        match rows.iter_mut().find(goes_on) {
            Some(row) => row.to = pass.depth.1,
            None => rows.push(Row { pass, to: pass.depth.1, slow }),
        }
    }
    rows
}

/// The table of passes. Depths are those of the tip below the entry face.
fn passes(reading: &HoleReading, layers: &[Layer], units: UnitSystem, look: &Look) -> String {
    let rows = rows(reading);
    if rows.is_empty() {
        return String::new();
    }
    let unit = length_symbol(units);
    let head =
        ["zone", &format!("tip at {unit}"), &format!("{unit}/rev"), &format!("{unit}/edge"), "window /rev", "margin"]
            .map(str::to_owned);
    let mut text = line("layer", &head);
    for Row { pass, to, slow } in &rows {
        let name = layers.get(pass.layer).map_or("", |layer| layer.name.as_str());
        let window = format!("{}..{}", rev(floor(&pass.window), units), rev(ceiling(&pass.window), units));
        let cells = [
            if *slow { "slow" } else { zone(pass.zone) }.to_owned(),
            format!("{}..{}", length(pass.depth.0, units), length(*to, units)),
            rev(pass.per_rev, units),
            rev(pass.per_tooth.map(|feed| MmPerRev(feed.0)), units),
            if *slow { String::new() } else { window },
            if *slow { String::new() } else { margin(pass, units) },
        ];
        text.push_str(&line(name, &cells));
    }
    text + &legend(&rows, look)
}

/// What the marks in the table stand for.
fn legend(rows: &[Row<'_>], look: &Look) -> String {
    let unknown = |row: &Row<'_>| floor(&row.pass.window).is_none() || ceiling(&row.pass.window).is_none();
    let shut = |row: &Row<'_>| {
        let (floor, ceiling) = (floor(&row.pass.window), ceiling(&row.pass.window));
        floor.zip(ceiling).is_some_and(|(floor, ceiling)| floor > ceiling)
    };
    let mut text = String::new();
    if rows.iter().any(|row| row.slow) {
        text.push_str(&look.led("slow", "already slowed for the exit, just above its zone"));
    }
    if rows.iter().any(|row| !row.slow && unknown(row)) {
        text.push_str(&look.led("-", "the job states no limit, or what it needs is not known"));
    }
    if rows.iter().any(|row| !row.slow && shut(row)) {
        text.push_str(&look.led("shut", "a window whose floor lies above its ceiling: no feed keeps both"));
    }
    text
}

/// A row of the table of passes; 79 columns when every cell keeps its width.
fn line(layer: &str, [zone, tip, rev, edge, window, margin]: &[String; 6]) -> String {
    let layer: String = layer.chars().take(LAYER).collect();
    let line = format!("  {layer:LAYER$}  {zone:5}  {tip:>13}  {rev:>7}  {edge:>7}  {window:>15}  {margin:>7}");
    format!("{}\n", line.trim_end())
}

fn zone(zone: Zone) -> &'static str {
    match zone {
        Zone::Entry => "entry",
        Zone::Body => "body",
        Zone::Exit => "exit",
    }
}

fn floor(window: &Window) -> Option<MmPerRev> {
    window.floor().map(|limit| limit.value)
}

fn ceiling(window: &Window) -> Option<MmPerRev> {
    window.ceiling().map(|limit| limit.value)
}

/// How far the feed lies inside its window; negative outside it.
fn margin(pass: &Reading, units: UnitSystem) -> String {
    let Some(feed) = pass.per_rev else { return "-".to_owned() };
    let below = floor(&pass.window).map(|floor| feed - floor);
    let above = ceiling(&pass.window).map(|ceiling| ceiling - feed);
    let least = below.into_iter().chain(above).min_by(|one, other| one.0.total_cmp(&other.0));
    rev(least, units)
}

/// Depths at which tip and full diameter are out, for the thinnest, nominal and thickest part.
fn breakthrough(through: &Breakthrough, units: UnitSystem) -> String {
    let bottom = length(through.bottom, units);
    let [thinnest, ..] = through.tip_out;
    if through.bottom < thinnest {
        let (unit, out) = (length_symbol(units), length(thinnest, units));
        return format!("  tip goes to {bottom} {unit} and stays inside: the thinnest part is {out} {unit}\n");
    }
    let line = |name: &str, cells: [String; 3]| {
        let [thin, nominal, thick] = cells;
        format!("  {name:24}  {thin:>9}  {nominal:>9}  {thick:>9}\n")
    };
    let mut text = line(
        &format!("{} below entry face", length_symbol(units)),
        ["thinnest", "nominal", "thickest"].map(str::to_owned),
    );
    text.push_str(&line("tip out", through.tip_out.map(|depth| length(depth, units))));
    text.push_str(&line("full diameter out", through.full_out.map(|depth| length(depth, units))));
    let up_to = length(through.full_up_to, units);
    text.push_str(&format!("  tip goes to {bottom}: full diameter through a part up to {up_to} thick\n"));
    text
}

fn length_symbol(units: UnitSystem) -> &'static str {
    match units {
        UnitSystem::Metric => "mm",
        UnitSystem::Inch => "in",
    }
}

/// A depth to 0.01 mm or 0.001 in.
fn length(value: Millimetres, units: UnitSystem) -> String {
    match units {
        UnitSystem::Metric => format!("{:.2}", value.0 + 0.0),
        UnitSystem::Inch => format!("{:.3}", value.0 / MM_PER_INCH + 0.0),
    }
}

/// A feed to 0.0001 mm or 0.00001 in; `-` for none.
fn rev(value: Option<MmPerRev>, units: UnitSystem) -> String {
    let decimals = match units {
        UnitSystem::Metric => 4,
        UnitSystem::Inch => 5,
    };
    value.map_or("-".to_owned(), |value| trimmed(value.0 / units.mm(), decimals))
}

#[cfg(test)]
mod tests {
    use super::super::sample;
    use super::*;

    #[test]
    fn groups_with_layers_and_breakthrough() {
        let text = holes(&sample::drilled(), Some(&sample::job()), &Look::default());
        assert!(text.lines().all(|line| line.len() <= 80), "{text}");
        insta::assert_snapshot!(text);
    }

    #[test]
    fn a_tip_that_stays_inside_has_no_breakthrough() {
        let depth = |depth| [Millimetres(depth), Millimetres(depth + 1.0), Millimetres(depth + 2.0)];
        let (point, bottom, full_up_to) = (Millimetres(3.0), Millimetres(4.0), Millimetres(1.0));
        let through = Breakthrough { point, tip_out: depth(10.0), full_out: depth(13.0), bottom, full_up_to };
        let text = breakthrough(&through, UnitSystem::Metric);
        assert_eq!(text, "  tip goes to 4.00 mm and stays inside: the thinnest part is 10.00 mm\n");
    }

    #[test]
    fn without_a_job_the_layers_are_said_to_be_unknown() {
        let report = Report { hole_names: Vec::new(), units: UnitSystem::Inch, ..sample::drilled() };
        let text = holes(&report, None, &Look::default());
        assert!(text.starts_with("#1-#4 (4 holes)\n") && text.contains("G81 to Z-1.685, S2650, 6.26 in/min"), "{text}");
        assert!(text.contains("no job file names a laminate"), "{text}");
    }
}
