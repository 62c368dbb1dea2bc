//! The cuts of a program pass by pass: engagement, chip, feed at the wall, feed reached and the override band.

use super::book::Book;
use super::clearance::clearances;
use super::look::Look;
use super::{CAUTION, counted};
use crate::check::Report;
use crate::job::{CutDirection, Job};
use crate::motion::Cause;
use crate::operation::{Cut, CutEntry, CutStyle, Path, Stretch};
use crate::process::{CutReading, OverrideBand};
use crate::source::SourceId;
use crate::units::{Millimetres, MmPerTooth, UnitSystem, trimmed};
use std::collections::BTreeMap;

/// A feed counts as short below this share of what it should be: a house value, for rounding.
const SHORT: f64 = 0.995;
/// Levels above the bottom that are told one by one, deepest first.
const LEVELS: usize = 3;
/// Heights closer than this are the same, mm.
const LEVEL: f64 = 0.01;

/// Every cut of a report, then clearance and machine time. The report must have kept the stretches of its cuts.
#[must_use]
pub fn edges(report: &Report, job: Option<&Job>, look: &Look) -> String {
    let book = Book::new(report);
    let cuts = report.survey.cuts.iter();
    let mut text: String = cuts.map(|cut| account(&book, cut, job, look) + "\n").collect();
    text.push_str(&super::answers::section(&book, look));
    let total = report.survey.cuts.len() as u64;
    text.push_str(&look.wrapped("", "  ", &format!("{} in {}", counted(total, "cut"), book.name(SourceId(0)))));
    text.push_str(&clearances(&book, job, look));
    text.push_str(&super::times(report, job.map(|job| &job.machine), look));
    text.push_str(&look.wrapped("  ", "  ", &super::coverage(report)));
    text.push_str(&look.wrapped("  ", "  ", CAUTION));
    text
}

fn account(book: &Book<'_>, cut: &Cut, job: Option<&Job>, look: &Look) -> String {
    let units = book.report.units;
    let edge = cut.edge.and_then(|edge| job?.edges.get(edge)).map_or("no edge of the job", |edge| edge.id.as_str());
    let lines = lines(book, cut.first, cut.last);
    let mut text = look.wrapped("", "  ", &format!("{edge}, {lines}, {}", book.tool(cut.tool)));
    text.push_str(&look.led("cut", &cut_words(cut, units)));
    let readings = job.map(|job| CutReading::of(cut, job)).unwrap_or_default();
    text.push_str(&reach(cut, &readings, units, look));
    text.push_str(&table(cut, &readings, units));
    let band = OverrideBand::of_cut(&readings);
    text.push_str(&look.led("band", &band.text()));
    if let Some(short) = beyond_override(cut, &readings, units) {
        text.push_str(&look.led("", &short));
    }
    let ends = [band.least().zip(band.least.as_ref()), band.most().zip(band.most.as_ref())];
    for (percent, end) in ends.into_iter().flatten() {
        let words = end.set_by.words();
        let is = units.per_tooth(MmPerTooth(end.programmed));
        let limit = units.per_tooth(MmPerTooth(end.limit));
        text.push_str(&look.led("", &format!("{percent} % by {words}: {is} against {limit}")));
    }
    text
}

fn lines(book: &Book<'_>, first: crate::motion::BlockRef, last: crate::motion::BlockRef) -> String {
    let [first, last] = [first, last].map(|block| book.position(block.source, block.span.start).line);
    if first == last { format!("line {first}") } else { format!("lines {first} to {last}") }
}

fn cut_words(cut: &Cut, units: UnitSystem) -> String {
    let style = match cut.style {
        Some(CutStyle::Slot) => "full slot",
        Some(CutStyle::Profile) => "profile",
        Some(CutStyle::Light) => "light cut",
        None => "engagement not known",
    };
    let direction = match cut.direction {
        Some(CutDirection::Climb) => "climb",
        Some(CutDirection::Conventional) => "conventional",
        None if cut.style.is_some() => "no finished side",
        None => "direction not known",
    };
    let entry = match cut.entry {
        CutEntry::Plunge => "entered straight down".to_owned(),
        CutEntry::Ramp(angle) => format!("entered down a ramp of {} deg", trimmed(angle, 1)),
        CutEntry::Straight => "entered straight from the side".to_owned(),
        CutEntry::Arc => "entered on an arc".to_owned(),
        CutEntry::Open => "entered where it was open".to_owned(),
    };
    let lowest = units.coordinate('Z', Millimetres(cut.lowest));
    let length = units.length(Millimetres(cut.length));
    format!("{style}, {direction}, {entry}, down to {lowest}, {length} engaged")
}

/// Overhang and crossing where the cut is deepest; ramps and ways over tabs are on their way there.
fn reach(cut: &Cut, readings: &[CutReading], units: UnitSystem, look: &Look) -> String {
    let deepest = |stretch: &Stretch| stretch.z.0.max(stretch.z.1) <= cut.lowest + LEVEL;
    let deep = || cut.stretches.iter().zip(readings).filter(|(stretch, _)| deepest(stretch)).map(|(_, read)| read);
    let least = |values: &mut dyn Iterator<Item = Millimetres>| values.map(|value| value.0).reduce(f64::min);
    let length = |value: f64| units.length(Millimetres(value.abs()));
    let mut parts = Vec::new();
    if let Some(overhang) = least(&mut deep().filter_map(|reading| reading.overhang)) {
        let side = if overhang < 0.0 { "ends {} above" } else { "stands out {} below" };
        parts.push(format!("{} the bottom of the thickest part", side.replace("{}", &length(overhang))));
    }
    if let Some(crossing) = least(&mut deep().filter_map(|reading| reading.crossing)) {
        let side = if crossing < 0.0 { "below" } else { "above" };
        parts.push(format!("crosses {} {side} the bottom face", length(crossing)));
    }
    parts.extend(shallow(cut, readings, units));
    if parts.is_empty() { String::new() } else { look.led("reach", &parts.join(", ")) }
}

/// Where a cut that goes through elsewhere runs level above the bottom: over tabs, or by mistake.
fn shallow(cut: &Cut, readings: &[CutReading], units: UnitSystem) -> Option<String> {
    let level = |stretch: &Stretch| (stretch.z.0 - stretch.z.1).abs() <= LEVEL && stretch.z.0 > cut.lowest + LEVEL;
    let mut through = readings.iter().filter_map(|reading| reading.overhang);
    let goes_through = through.any(|overhang| overhang.0 >= 0.0);
    let pairs = cut.stretches.iter().zip(readings).filter(|(stretch, _)| goes_through && level(stretch));
    let above =
        pairs.filter_map(|(stretch, reading)| Some((stretch, reading.overhang.filter(|overhang| overhang.0 < 0.0)?)));
    let mut levels: BTreeMap<i64, (f64, f64, f64)> = BTreeMap::new();
    for (stretch, overhang) in above {
        // `as` saturates; no cut is that deep.
        let level = levels.entry((stretch.z.0 * 1000.0).round() as i64).or_insert((stretch.z.0, -overhang.0, 0.0));
        level.2 += stretch.length;
    }
    let lengths = |value: f64| units.length(Millimetres(value));
    let told = levels.values().take(LEVELS).map(|(z, above, length)| {
        let z = units.coordinate('Z', Millimetres(*z));
        format!("{} at {z}, {} above the bottom", lengths(*length), lengths(*above))
    });
    let told: Vec<String> = told.collect();
    (!told.is_empty()).then(|| format!("not through over {}", told.join(", and over ")))
}

/// Where the machine reaches less than the floor though more is commanded, which no override changes.
fn beyond_override(cut: &Cut, readings: &[CutReading], units: UnitSystem) -> Option<String> {
    let chip = |reading: &CutReading, feed: f64| {
        let thinned = reading.chip_max.zip(reading.per_tooth).map_or(1.0, |(chip, wall)| chip.to_mm().0 / wall.0);
        feed * thinned.min(1.0)
    };
    let (mut length, mut worst) = (0.0, None::<(f64, f64)>);
    for (stretch, reading) in cut.stretches.iter().zip(readings).filter(|(_, reading)| !reading.brief) {
        let (Some(floor), Some(wall), Some(reached)) = (&reading.floor, reading.per_tooth, reading.reached_per_tooth)
        else {
            continue;
        };
        let (wanted, got) = (chip(reading, wall.0), chip(reading, reached.0));
        if got < floor.value.0 * SHORT && got < wanted * SHORT {
            length += stretch.length;
            worst = Some(
                worst.map_or((got, floor.value.0), |worst| if got < worst.0 { (got, floor.value.0) } else { worst }),
            );
        }
    }
    let (got, floor) = worst?;
    let [got, floor] = [got, floor].map(|feed| units.per_tooth(MmPerTooth(feed)));
    let length = units.length(Millimetres(length));
    Some(format!("over {length} the machine reaches {got} at most, least {floor}: no override lifts that"))
}

/// One row a stretch; 79 columns when every cell keeps its width.
fn table(cut: &Cut, readings: &[CutReading], units: UnitSystem) -> String {
    let unit = match units {
        UnitSystem::Metric => "mm",
        UnitSystem::Inch => "in",
    };
    let mut text = row([
        "path",
        &format!("length {unit}"),
        "engaged deg",
        &format!("F {unit}/min"),
        "wall x",
        &format!("{unit}/edge"),
        "reached",
        "held by",
    ]);
    for (stretch, reading) in alike(cut, readings, units) {
        let feed = stretch.feed.map_or("-".to_owned(), |feed| trimmed(feed / units.mm(), decimals(units, 0)));
        let reached = stretch.reached.map(|(least, ..)| trimmed(least / units.mm(), decimals(units, 0)));
        let tooth = reading.per_tooth.map(|feed| trimmed(feed.0 / units.mm(), decimals(units, 4)));
        text.push_str(&row([
            &path(&stretch, units),
            &trimmed(stretch.length / units.mm(), decimals(units, 1)),
            &engaged(&stretch),
            &feed,
            &trimmed(reading.wall_factor, 2),
            &tooth.unwrap_or("-".to_owned()),
            &reached.unwrap_or("-".to_owned()),
            held(&stretch),
        ]));
    }
    text
}

/// Stretches in order, those that would read the same but for their engagement and feed reached joined into one.
fn alike(cut: &Cut, readings: &[CutReading], units: UnitSystem) -> Vec<(Stretch, CutReading)> {
    let blank = CutReading::default();
    let mut joined: Vec<(Stretch, CutReading)> = Vec::new();
    for (index, stretch) in cut.stretches.iter().enumerate() {
        let reading = readings.get(index).unwrap_or(&blank);
        let same = |(last, read): &&mut (Stretch, CutReading)| {
            path(last, units) == path(stretch, units)
                && last.feed == stretch.feed
                && read.wall_factor == reading.wall_factor
                && reach_alike(last, stretch)
                && last.engagement.is_some() == stretch.engagement.is_some()
        };
        match joined.last_mut().filter(same) {
            Some((last, _)) => join(last, stretch),
            None => joined.push((*stretch, reading.clone())),
        }
    }
    joined
}

/// Whether two stretches reach much the same feed, held back by the same.
fn reach_alike(last: &Stretch, next: &Stretch) -> bool {
    match (last.reached, next.reached) {
        (Some((one, _, cause)), Some((other, _, by))) => cause == by && (one - other).abs() <= 0.05 * one.max(other),
        (one, other) => one.is_some() == other.is_some(),
    }
}

fn join(last: &mut Stretch, next: &Stretch) {
    last.length += next.length;
    last.engagement = last.engagement.zip(next.engagement).map(|(a, b)| (a.0.min(b.0), a.1.max(b.1)));
    last.reached = match (last.reached, next.reached) {
        (Some(a), Some(b)) => Some(if b.0 < a.0 { (b.0, a.1.max(b.1), b.2) } else { (a.0, a.1.max(b.1), a.2) }),
        (a, b) => a.or(b),
    };
}

/// Decimals of a value: inches want two more than millimetres, feeds for each edge one.
fn decimals(units: UnitSystem, metric: usize) -> usize {
    match units {
        UnitSystem::Metric => metric,
        UnitSystem::Inch => metric + if metric > 3 { 1 } else { 2 },
    }
}

fn row([path, length, engaged, feed, wall, tooth, reached, held]: [&str; 8]) -> String {
    format!("  {path:<12} {length:>9}  {engaged:>11} {feed:>8} {wall:>6} {tooth:>8} {reached:>7}  {held}\n")
}

fn path(stretch: &Stretch, units: UnitSystem) -> String {
    match stretch.path {
        Path::Plunge => "plunge".to_owned(),
        Path::Line if stretch.descent > 0.01 => format!("ramp {} deg", trimmed(stretch.descent, 1)),
        Path::Line => "line".to_owned(),
        Path::Arc { radius, inside } => {
            let radius = trimmed(radius / units.mm(), if units == UnitSystem::Inch { 3 } else { 1 });
            format!("{} R{radius}", if inside { "inside" } else { "outside" })
        }
    }
}

fn engaged(stretch: &Stretch) -> String {
    match stretch.engagement {
        Some((least, most)) if most - least < 0.5 => trimmed(most, 0),
        Some((least, most)) => format!("{}..{}", trimmed(least, 0), trimmed(most, 0)),
        None => "not known".to_owned(),
    }
}

fn held(stretch: &Stretch) -> &'static str {
    match stretch.reached {
        None => "",
        Some((.., cause)) => match cause {
            Cause::Commanded => "-",
            Cause::Length => "length",
            Cause::Corner => "corner",
            Cause::ExactStop => "stop",
            Cause::Arc => "arc",
            Cause::AxisRate => "axis",
            Cause::BlockTime => "block",
            Cause::LookAhead => "ahead",
        },
    }
}
