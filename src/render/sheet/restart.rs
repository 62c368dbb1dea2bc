//! Where to take the program up again, in words for the operator.

use super::super::names::compressed;
use super::Scene;
use crate::motion::BlockRef;
use crate::operation::{Inherited, Restart, restarts};
use crate::source::{SourceId, Span};
use crate::units::Millimetres;
use std::collections::BTreeSet;

/// The part of the page.
pub(super) struct RestartPart {
    pub rows: Vec<RestartRow>,
    /// What every row wants restored, where all want the same; empty otherwise.
    pub by_hand: Vec<String>,
    /// Tool calls without a restart of their own, each with the one that leads there.
    pub without: Vec<String>,
}

/// One restart.
pub(super) struct RestartRow {
    pub at: String,
    pub run: String,
    pub restated: String,
    pub by_hand: Vec<String>,
    pub again: String,
}

pub(super) fn part(scene: &Scene<'_>) -> RestartPart {
    let found = restarts(scene.course);
    let mut rows: Vec<RestartRow> = found.offered.iter().map(|restart| row(scene, restart)).collect();
    let shared = rows.first().map(|first| first.by_hand.clone()).unwrap_or_default();
    let is_shared = rows.len() > 1 && rows.iter().all(|row| row.by_hand == shared);
    if is_shared {
        rows.iter_mut().for_each(|row| row.by_hand.clear());
    }
    let passed = |restart: &Restart| {
        let at = scene.block(restart.block);
        let inside: Vec<String> = restart.leads_to.iter().skip(1).map(|change| call(scene, *change, &at)).collect();
        inside
    };
    let top = found.from_top.iter().map(|change| call(scene, *change, "the top"));
    let without = top.chain(found.offered.iter().flat_map(passed)).collect();
    RestartPart { rows, by_hand: if is_shared { shared } else { Vec::new() }, without }
}

/// A tool call that is come to from another place.
fn call(scene: &Scene<'_>, change: BlockRef, from: &str) -> String {
    let used = scene.course.tools.iter().find(|stretch| stretch.change == Some(change));
    let tool = used.map(|stretch| scene.book.tool(stretch.tool)).unwrap_or_default();
    format!("{tool} at {}: from {from}", scene.block(change))
}

fn row(scene: &Scene<'_>, restart: &Restart) -> RestartRow {
    let z = |z: f64| scene.book.report.units.coordinate('Z', Millimetres(z));
    let (at, tool) = (scene.block(restart.block), scene.book.tool(restart.tool));
    let run = restart.ready.map_or_else(
        || "all of it".to_owned(),
        |ready| {
            let height = restart.height.map(|height| format!(", {}", z(height))).unwrap_or_default();
            format!("to {}{height}", scene.block(ready))
        },
    );
    let change = restart.leads_to.first().filter(|change| **change != restart.block);
    let inside = change.map(|change| format!(", which leads to {}", scene.block(*change))).unwrap_or_default();
    RestartRow {
        at: format!("{at}{inside}, {tool}"),
        run,
        restated: restart.restated.join(" "),
        by_hand: by_hand(scene, &restart.by_hand),
        again: again(scene, &restart.leads_to),
    }
}

/// What must be restored, words set in one block together, such as `N10: G21 G90 G17`.
fn by_hand(scene: &Scene<'_>, lacking: &[Inherited]) -> Vec<String> {
    let place = |(source, at): (SourceId, u32)| BlockRef { source, span: Span::new(at, at), ..BlockRef::default() };
    let mut groups: Vec<(String, Vec<String>)> = Vec::new();
    for Inherited { word, meaning, set_at } in lacking {
        let spot = set_at.map_or_else(|| "set nowhere, power-up relied on".to_owned(), |spot| scene.block(place(spot)));
        let plain = word.starts_with('G') || *meaning == word.as_str();
        let told = if plain { word.clone() } else { format!("{word} ({meaning})") };
        match groups.iter_mut().find(|(known, _)| *known == spot) {
            Some((_, words)) => words.push(told),
            None => groups.push((spot, vec![told])),
        }
    }
    groups.into_iter().map(|(spot, words)| format!("{spot}: {}", words.join(" "))).collect()
}

/// Holes that are entered again, and edges that are cut again, when the program runs on from a restart.
fn again(scene: &Scene<'_>, leads_to: &[BlockRef]) -> String {
    let survey = &scene.book.report.survey;
    let used = || survey.tools.iter().filter(|used| leads_to.contains(&used.block));
    let mut seen = BTreeSet::new();
    let names = used().flat_map(|used| used.holes.clone()).map(|index| scene.book.hole(index));
    let names: Vec<String> = names.filter(|name| seen.insert(name.clone())).collect();
    let holes = if names.is_empty() { String::new() } else { compressed(&names) };
    let mut all: Vec<String> = [holes].into_iter().filter(|holes| !holes.is_empty()).collect();
    for cut in used().filter_map(|used| survey.cuts.get(used.cuts.clone())).flatten() {
        let edge = cut.edge.and_then(|edge| scene.job?.edges.get(edge));
        let name = edge.map_or("other cuts", |edge| &edge.id);
        if !all.iter().any(|known| known == name) {
            all.push(name.to_owned());
        }
    }
    all.join(", ")
}
