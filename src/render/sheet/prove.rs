//! What to watch at prove-out: how each tool comes near, where it first cuts, how low it goes, where the machine stops.

use super::super::clearance::{mostly, told};
use super::Scene;
use crate::motion::BlockRef;
use crate::operation::ToolCourse;
use crate::units::{Millimetres, MmPerMin, trimmed};

/// Stops told one by one.
const MOST_STOPS: usize = 20;

/// One stretch of a tool.
pub(super) struct ProveRow {
    pub tool: String,
    pub call: String,
    pub approach: String,
    pub near: String,
    pub cut: String,
    pub lowest: String,
    pub clearance: String,
}

/// One planned stop.
pub(super) struct StopRow {
    pub word: &'static str,
    pub block: String,
    pub tool: String,
}

pub(super) fn rows(scene: &Scene<'_>) -> Vec<ProveRow> {
    scene.course.tools.iter().filter(|stretch| stretch.cut.is_some()).map(|stretch| row(scene, stretch)).collect()
}

fn row(scene: &Scene<'_>, stretch: &ToolCourse) -> ProveRow {
    let units = scene.book.report.units;
    let z = |z: f64| units.coordinate('Z', Millimetres(z));
    let reached = |spot: Option<(BlockRef, f64)>| {
        spot.map_or_else(|| "not known".to_owned(), |(block, height)| format!("{} {}", scene.block(block), z(height)))
    };
    let cut = stretch.cut.as_ref().map_or_else(String::new, |cut| {
        let feed = cut.feed.map_or_else(|| "feed not known".to_owned(), |feed| units.feed(MmPerMin(feed)));
        let speed = cut.state.speed.value.map_or_else(|| "S not known".to_owned(), |s| format!("S{}", trimmed(s, 1)));
        format!("{} to {}, {speed}, {feed}", scene.block(cut.block), z(cut.to))
    });
    let used = scene.book.report.survey.tools.iter();
    let mut mine = used.filter(|used| used.tool == stretch.tool && stretch.change.is_none_or(|at| at == used.block));
    let lowest = mine.next().and_then(|used| used.lowest);
    ProveRow {
        tool: if stretch.tool == 0 { "not known".to_owned() } else { scene.book.tool(stretch.tool) },
        call: stretch.change.map_or_else(|| "in the spindle".to_owned(), |block| scene.block(block)),
        approach: reached(stretch.approach),
        near: reached(stretch.near),
        cut,
        lowest: lowest.map_or_else(|| "not known".to_owned(), z),
        clearance: clearance(scene, stretch.tool),
    }
}

/// The least clearance of a tool and where, hits among them.
fn clearance(scene: &Scene<'_>, tool: u32) -> String {
    let found = &scene.book.report.survey.clearances;
    let all = found.least.iter().copied().chain(found.hits.iter().map(|hit| hit.worst));
    let least = all.filter(|one| one.tool == tool).min_by(|one, other| one.gap.total_cmp(&other.gap));
    let hits = least.is_some_and(|least| least.gap < 0.0);
    let no_fixture = scene.job.is_none_or(|job| job.fixture.zones.is_empty() && job.fixture.table_z.is_none());
    if no_fixture && !hits {
        return "? not checked: no fixture given".to_owned();
    }
    if found.gaps.iter().any(|gap| gap.tool() == tool) && !hits {
        return "? not checked: see below".to_owned();
    }
    let Some(least) = least else { return "nothing near".to_owned() };
    let gap = told(Millimetres(least.gap), scene.book.report.units);
    let (part, what) = (least.part.word(), scene.book.obstacle(least.obstacle));
    let hit = if hits { "E HITS: " } else { "" };
    format!("{hit}{gap}, {part} to {what}{}, {}", mostly(&least), scene.block(least.block))
}

pub(super) fn stops(scene: &Scene<'_>) -> Vec<StopRow> {
    let told = scene.course.stops.iter().take(MOST_STOPS);
    told.map(|stop| StopRow {
        word: if stop.code == 0 { "M0 stop" } else { "M1 optional stop" },
        block: scene.block(stop.block),
        tool: format!("T{}", stop.tool),
    })
    .collect()
}
