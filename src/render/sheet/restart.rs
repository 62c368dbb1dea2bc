//! Where to take the program up again, in words for the operator.

use super::super::names::compressed;
use super::Scene;
use crate::motion::BlockRef;
use crate::operation::{Inherited, restarts};
use crate::source::{SourceId, Span};
use crate::units::Millimetres;

/// One restart.
pub(super) struct RestartRow {
    pub at: String,
    pub tool: String,
    pub first: String,
    pub restated: String,
    pub by_hand: Vec<String>,
    pub again: String,
}

pub(super) fn rows(scene: &Scene<'_>) -> Vec<RestartRow> {
    let found = restarts(scene.course);
    let z = |z: f64| scene.book.report.units.coordinate('Z', Millimetres(z));
    found
        .iter()
        .map(|restart| {
            let at = scene.block(restart.block);
            let first = restart.ready.map_or_else(
                || format!("run on from {at}"),
                |ready| {
                    let height = restart.height.map(|height| format!(" with the tool at {}", z(height)));
                    let (ready, height) = (scene.block(ready), height.unwrap_or_default());
                    format!("run {at} to {ready}, then go on{height} at the block of the hole or edge wanted")
                },
            );
            RestartRow {
                tool: scene.book.tool(restart.tool),
                first,
                restated: restart.restated.join(" "),
                by_hand: by_hand(scene, &restart.by_hand),
                again: again(scene, restart.block),
                at,
            }
        })
        .collect()
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

/// Holes that would be entered again when the program runs on from the tool call.
fn again(scene: &Scene<'_>, block: BlockRef) -> String {
    let mut uses = scene.book.report.survey.tools.iter().filter(|used| used.block == block);
    let Some(used) = uses.next() else { return String::new() };
    let names: Vec<String> = used.holes.clone().map(|index| scene.book.hole(index)).collect();
    if names.is_empty() { String::new() } else { compressed(&names) }
}
