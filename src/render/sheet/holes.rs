//! Holes: a card with pictures for each group and tool, and the table of the first article with room for what is measured.

use super::super::counted;
use super::super::holes::{cuts_nothing, made};
use super::super::names::compressed;
use super::chart::{Curve, Pen, chart};
use super::section::{Section, section};
use super::{Scene, by_group};
use crate::job::fit::hole_limits;
use crate::job::{HoleGroup, Job};
use crate::operation::{Recipe, Stages};
use crate::process::{FeedZone, HoleReading, OverrideBand, limits_over_depth};
use crate::units::{Millimetres, MmPerRev, UnitSystem};
use std::collections::BTreeMap;

/// Cards drawn; a program of unlike holes by the hundred needs a list, not pictures. House value.
const MOST_CARDS: usize = 24;
/// Stages of one hole looked back on; more are the same hole over and over. House value.
const MOST_STAGES: usize = 8;
/// Holes of one group listed to fill in; nobody measures more by hand. House value.
const MOST_ROWS: usize = 2_000;

/// Holes of one group made by one tool.
pub(super) struct Card {
    pub title: String,
    pub section: Option<Section>,
    pub chart: Option<String>,
    pub facts: Vec<String>,
}

/// One group of the table to fill in.
pub(super) struct Group {
    pub title: String,
    pub limits: String,
    /// Tools in order of first use here.
    pub tools: String,
    /// How many holes are left out; empty for none.
    pub more: String,
    /// Rows in two columns side by side.
    pub columns: Vec<Vec<Row>>,
}

/// One hole.
pub(super) struct Row {
    pub name: String,
    pub place: String,
    /// For each tool the block to go on at.
    pub blocks: Vec<(u32, String)>,
}

pub(super) fn cards(scene: &Scene<'_>) -> Vec<Card> {
    let groups = by_group(scene);
    let stages = Stages::of(&scene.book.report.survey, scene.job);
    groups.iter().take(MOST_CARDS).filter_map(|(key, members)| card(scene, &stages, *key, members)).collect()
}

/// The shallowest of the finished holes of a group stands for it, with every stage of its tool there.
fn card(scene: &Scene<'_>, stages: &Stages<'_>, (group, tool): (usize, u32), members: &[u32]) -> Option<Card> {
    let report = scene.book.report;
    let survey = &report.survey;
    let bottom = |index: u32| Some(survey.recipe_of(survey.holes.get(index as usize)?)?.bottom);
    let finished: Vec<u32> = members.iter().copied().filter(|index| stages.is_last(*index as usize)).collect();
    let shallow = |index: u32| bottom(index).unwrap_or(f64::NEG_INFINITY);
    let first = finished.iter().copied().max_by(|one, other| shallow(*one).total_cmp(&shallow(*other)))?;
    let stages_here = stages_of(scene, first, tool);
    let made_by = made_by(scene, &stages_here);
    let (recipe, reading) = *made_by.last()?;
    let names: Vec<String> = finished.iter().map(|index| scene.book.hole(*index)).collect();
    let id = scene.job.and_then(|job| job.holes.get(group)).map_or("Not in the drawing", |group| &group.id);
    let tool = if tool == 0 { "tool not known".to_owned() } else { scene.book.tool(tool) };
    let mut facts: Vec<String> = made_by.iter().map(|(recipe, _)| made(scene.book, recipe, report.units)).collect();
    facts.dedup();
    if finished.iter().any(|index| bottom(*index) != Some(recipe.bottom)) {
        facts.push("not all as deep: the shallowest is drawn".to_owned());
    }
    facts.extend(zones(scene, recipe, reading));
    let nothing = cuts_nothing(recipe, reading, report.units).filter(|_| made_by.len() == 1);
    let band = stages_here.into_iter().map(|index| scene.book.band(index));
    let band = || band.fold(OverrideBand::default(), OverrideBand::and).text();
    let chart = if nothing.is_some() { None } else { picture(scene, &made_by) };
    facts.push(nothing.unwrap_or_else(band));
    facts.extend(reading.gaps.iter().map(|gap| format!("? not worked out: {}", gap.why)));
    Some(Card {
        title: format!("{id}: {}, {tool}", compressed(&names)),
        section: scene.job.and_then(|job| section(job, recipe, reading, report.units)),
        chart,
        facts,
    })
}

/// Recipes with their readings.
fn made_by<'a>(scene: &Scene<'a>, recipes: &[usize]) -> Vec<(&'a Recipe, &'a HoleReading)> {
    let report = scene.book.report;
    let both = |index: &usize| report.survey.recipes.get(*index).zip(report.readings.get(*index));
    recipes.iter().filter_map(both).collect()
}

/// The recipes of every stage of a hole by one tool, first stage first.
fn stages_of(scene: &Scene<'_>, hole: u32, tool: u32) -> Vec<usize> {
    let report = scene.book.report;
    let mut stages = Vec::new();
    let mut at = Some(hole);
    while let Some(index) = at.filter(|_| stages.len() < MOST_STAGES) {
        let Some(hole) = report.survey.holes.get(index as usize) else { break };
        let recipe = hole.recipe as usize;
        match report.survey.recipes.get(recipe) {
            Some(stage) if stage.tool == tool => stages.push(recipe),
            _ => break,
        }
        at = report.survey.earlier_than(index).map(|(earlier, _)| earlier);
    }
    stages.reverse();
    stages
}

/// Where slow feed holds and how thick a part comes out complete.
fn zones(scene: &Scene<'_>, recipe: &Recipe, reading: &HoleReading) -> Vec<String> {
    let Some(job) = scene.job else { return vec!["? not worked out: no job file".to_owned()] };
    let units = scene.book.report.units;
    let z = |depth: Millimetres| units.coordinate('Z', job.head.entry_z - depth);
    let zone = |name: &str, zone: &Option<FeedZone>| {
        let zone = zone.as_ref().filter(|_| recipe.orbit.is_none())?;
        let feed = zone.feed.as_ref().map(|feed| format!(", at most {}", units.per_rev(feed.value)));
        Some(format!("{name} zone {} to {}{}", z(zone.from), z(zone.to), feed.unwrap_or_default()))
    };
    let through = reading.breakthrough.as_ref().map(|out| {
        let [thin, _, thick] = out.tip_out.map(|depth| units.length(depth));
        let part = if thin == thick { thick } else { format!("{thin} to {thick}") };
        format!("full diameter up to {} thick; part {part}", units.length(out.full_up_to))
    });
    [zone("entry", &reading.entry), zone("exit", &reading.exit), through].into_iter().flatten().collect()
}

/// Feed for each turn over depth, with its limits.
fn picture(scene: &Scene<'_>, stages: &[(&Recipe, &HoleReading)]) -> Option<String> {
    let (recipe, _) = stages.last()?;
    let units = scene.book.report.units;
    let scale = |value: f64| value / units.mm();
    let feed = |feed: MmPerRev| scale(feed.0);
    let passes = || {
        stages
            .iter()
            .flat_map(|(_, reading)| &reading.passes)
            .map(|pass| (scale(pass.depth.0.0), scale(pass.depth.1.0), pass))
    };
    let fed = Curve::of(Pen::Heavy, passes().map(|(from, to, pass)| (from, to, pass.per_rev.map(feed))));
    let job = scene.job?;
    let pieces = job.laminate.as_ref().zip(job.tool(recipe.tool)).filter(|_| recipe.orbit.is_none());
    let pieces = pieces.and_then(|(laminate, tool)| {
        limits_over_depth(laminate, tool, Millimetres(stages.first().map_or(0.0, |(recipe, _)| recipe.pilot))).ok()
    });
    let mut curves = Vec::new();
    if let Some(pieces) = pieces {
        let over = |value: &dyn Fn(&crate::process::DepthLimits) -> Option<MmPerRev>| {
            pieces.iter().map(|one| (scale(one.from.0), scale(one.to.0), value(one).map(feed))).collect::<Vec<_>>()
        };
        let floor = over(&|one| one.floor.as_ref().map(|limit| limit.value));
        let ceiling = over(&|one| one.ceiling.as_ref().map(|limit| limit.value));
        let thrust = over(&|one| one.plate.as_ref().map(|step| step.ceiling.value));
        curves.extend(Curve::of(Pen::Thin, floor.into_iter()));
        curves.extend(Curve::of(Pen::Dashed, ceiling.into_iter()));
        curves.extend(Curve::of(Pen::Dotted, thrust.into_iter()));
    } else {
        let limit = |limit: Option<&crate::job::Limit<MmPerRev>>| limit.map(|limit| feed(limit.value));
        curves.extend(Curve::of(Pen::Thin, passes().map(|(from, to, pass)| (from, to, limit(pass.window.floor())))));
        curves
            .extend(Curve::of(Pen::Dashed, passes().map(|(from, to, pass)| (from, to, limit(pass.window.ceiling())))));
    }
    curves.extend(fed);
    let unit = symbol(units);
    chart(&curves, &format!("tip below entry face, {unit}"), &format!("{unit}/rev"))
}

pub(super) fn symbol(units: UnitSystem) -> &'static str {
    match units {
        UnitSystem::Metric => "mm",
        UnitSystem::Inch => "in",
    }
}

pub(super) fn groups(scene: &Scene<'_>) -> Vec<Group> {
    let mut places: Vec<(usize, Vec<u32>)> = Vec::new();
    for ((group, _), members) in by_group(scene) {
        match places.iter_mut().find(|(known, _)| *known == group) {
            Some((_, known)) => known.extend(members),
            None => places.push((group, members)),
        }
    }
    places.into_iter().map(|(group, members)| to_fill_in(scene, group, &members)).collect()
}

fn to_fill_in(scene: &Scene<'_>, group: usize, members: &[u32]) -> Group {
    let wanted = scene.job.and_then(|job| job.holes.get(group));
    let mut order: Vec<u32> = members.to_vec();
    order.sort_unstable();
    let mut at: BTreeMap<String, usize> = BTreeMap::new();
    let mut rows: Vec<Row> = Vec::new();
    let mut tools: Vec<u32> = Vec::new();
    for index in order {
        let name = scene.book.hole(index);
        let number = *at.entry(name.clone()).or_insert(rows.len());
        if number == rows.len() {
            rows.push(Row { name, place: place(scene, index), blocks: Vec::new() });
        }
        let tool = tool_of(scene, index);
        if !tools.contains(&tool) {
            tools.push(tool);
        }
        let Some(row) = rows.get_mut(number).filter(|row| row.blocks.iter().all(|(known, _)| *known != tool)) else {
            continue;
        };
        row.blocks.push((tool, block(scene, index)));
    }
    let more = rows.len().saturating_sub(MOST_ROWS) as u64;
    rows.truncate(MOST_ROWS);
    let second = rows.split_off(rows.len().div_ceil(2));
    let columns = [rows, second].into_iter().filter(|column| !column.is_empty()).collect();
    let title = wanted.map_or_else(|| "Holes not in the drawing".to_owned(), |wanted| title(wanted, scene));
    Group {
        title,
        limits: wanted.map_or_else(String::new, |wanted| limits(wanted, scene.job, scene.book.report.units)),
        tools: tools.iter().map(|tool| format!("T{tool}")).collect::<Vec<_>>().join(", then "),
        columns,
        more: if more > 0 { format!("and {} not listed", counted(more, "hole")) } else { String::new() },
    }
}

fn tool_of(scene: &Scene<'_>, index: u32) -> u32 {
    let survey = &scene.book.report.survey;
    survey.holes.get(index as usize).and_then(|hole| survey.recipe_of(hole)).map_or(0, |recipe| recipe.tool)
}

fn title(group: &HoleGroup, scene: &Scene<'_>) -> String {
    let critical = if group.critical { ", CRITICAL" } else { "" };
    format!("{}: diameter {}{critical}", group.id, scene.book.report.units.length(group.diameter))
}

/// Least and most diameter with where they come from.
fn limits(group: &HoleGroup, job: Option<&Job>, units: UnitSystem) -> String {
    let range = |least: Millimetres, most: Millimetres| format!("{} to {}", units.length(least), units.length(most));
    if let Some((upper, lower)) = group.diameter_limits {
        let file = job.map_or("job file", |job| &job.name);
        return format!("{} ({file}: holes {})", range(group.diameter + lower, group.diameter + upper), group.id);
    }
    match &group.class {
        Some(class) => match hole_limits(class, group.diameter) {
            Some((least, most)) => format!("{} ({class}, ISO 286-1)", range(least, most)),
            None => format!("? {class}: limits not in the table here"),
        },
        None => "no tolerance given".to_owned(),
    }
}

fn place(scene: &Scene<'_>, index: u32) -> String {
    let units = scene.book.report.units;
    let hole = scene.book.report.survey.holes.get(index as usize);
    let Some(hole) = hole.filter(|hole| hole.x.is_finite() && hole.y.is_finite()) else {
        return "place not known".to_owned();
    };
    let [x, y] = [('X', hole.x), ('Y', hole.y)].map(|(letter, at)| units.coordinate(letter, Millimetres(at)));
    format!("{x} {y}")
}

/// The block to go on at, with a star where it relies on a cycle stated further up, and the feed it relies on.
fn block(scene: &Scene<'_>, index: u32) -> String {
    let holes = &scene.book.report.survey.holes;
    let Some((at, hole)) = scene.course.reached_by.get(index as usize).zip(holes.get(index as usize)) else {
        return String::new();
    };
    let star = if hole.stated == hole.block { "" } else { "*" };
    format!("{}{star}{}", scene.block(*at), scene.feed_above(*at, hole.source, hole.feed_at))
}
