//! `[tune]`: margin, stages, and orders that must stay.

use super::at::At;
use super::reader::{Given, Reader};
use crate::job::{Job, Limit, Pinned, Tuning};
use petgraph::algo::has_path_connecting;
use petgraph::graphmap::DiGraphMap;
use schemars::JsonSchema;
use serde::Deserialize;

/// How far tuning may go.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct TuneTable {
    /// Share by which feeds and speeds stay under the limits of the process, such as `"10 %"`.
    margin: Given,
    /// Most feeds along one hole; a stated entry feed may have one more.
    stages: Option<At<u32>>,
    /// Parts that one tool must still last, each a run of the program, where its speed is raised; 1 if not given.
    parts: Option<At<u32>>,
    /// Orders that must stay, each a list of hole groups, holes, edges and tools (`T6`), earliest first.
    pin: Option<Vec<Vec<At<String>>>>,
}

/// The tuning of a raw table, in a job whose holes, edges and tools are read.
pub(super) fn tuning(raw: &TuneTable, job: &Job, reader: &mut Reader) -> Tuning {
    let usual = Tuning::default();
    let margin = raw.margin.as_ref().and_then(|margin| reader.share("margin", margin));
    let stages = reader.count("stages", raw.stages.as_ref());
    let parts = reader.count("parts", raw.parts.as_ref());
    let pins: Vec<Vec<At<Pinned>>> = raw.pin.iter().flatten().map(|order| pinned_order(order, job, reader)).collect();
    contradictions(&pins, reader);
    let pins = pins.into_iter().map(|order| order.into_iter().map(|pin| pin.value).collect()).collect();
    Tuning {
        margin: margin.map_or(usual.margin, |share| Limit::new(share, reader.origin("margin", ""))),
        stages: stages.map_or(usual.stages, |count| Limit::new(count, reader.origin("stages", ""))),
        parts: parts.map_or(usual.parts, |count| Limit::new(count, reader.origin("parts", ""))),
        pins,
    }
}

fn pinned_order(order: &[At<String>], job: &Job, reader: &mut Reader) -> Vec<At<Pinned>> {
    let read = |name: &At<String>| Some(At { value: pinned(name, job, reader)?, span: name.span });
    order.iter().filter_map(read).collect()
}

/// Reports every name that would have to come before itself.
fn contradictions(pins: &[Vec<At<Pinned>>], reader: &mut Reader) {
    let mut graph: DiGraphMap<&Pinned, ()> = DiGraphMap::new();
    for (first, second) in pins.iter().flat_map(|order| order.iter().zip(order.iter().skip(1))) {
        if has_path_connecting(&graph, &second.value, &first.value, None) {
            let message = format!(
                "`{}` puts `{}` before `{}`, and elsewhere the other way round: it would come before itself",
                reader.key("pin"),
                first.value.name(),
                second.value.name()
            );
            reader.error(second.span, message, Some("take one of the two orders out".to_owned()));
            continue;
        }
        graph.add_edge(&first.value, &second.value, ());
    }
}

/// What a name stands for; groups come before holes, for a group of one hole may share its name.
fn pinned(At { value: name, span }: &At<String>, job: &Job, reader: &mut Reader) -> Option<Pinned> {
    if job.holes.iter().any(|group| group.id == *name) {
        return Some(Pinned::Group(name.clone()));
    }
    let mut positions = job.holes.iter().flat_map(|group| &group.positions);
    if positions.any(|hole| hole.id == *name) {
        return Some(Pinned::Hole(name.clone()));
    }
    if job.edges.iter().any(|edge| edge.id == *name) {
        return Some(Pinned::Edge(name.clone()));
    }
    let number = name.strip_prefix('T').and_then(|number| number.parse().ok());
    if let Some(number) = number.filter(|number| job.tools.contains_key(number)) {
        return Some(Pinned::Tool(number));
    }
    let tools: Vec<String> = job.tools.keys().map(|number| format!("T{number}")).collect();
    let groups = job.holes.iter().map(|group| group.id.as_str());
    let edges = job.edges.iter().map(|edge| edge.id.as_str());
    let known: Vec<&str> = groups.chain(edges).chain(tools.iter().map(String::as_str)).collect();
    let message = format!("`{}` names `{name}`, which is no hole, edge or tool of this job", reader.key("pin"));
    reader.unknown(*span, message, name, &known);
    None
}
