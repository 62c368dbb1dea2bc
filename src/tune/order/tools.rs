//! Tool stretches in another order: as few tool changes as the work allows, by a graph of what must come before what.

use super::pins::{holes, pinned_pairs};
use super::proof::same_work;
use crate::job::{Job, Pinned};
use crate::motion::TraceId;
use crate::patch::{Style, number};
use crate::source::{Source, SourceId, Span};
use crate::syntax::{Block, Blocks, Lexis};
use crate::tune::{Change, Left, Outcome, Run, Task, counted};
use crate::units::UnitSystem;
use petgraph::algo::{tarjan_scc, toposort};
use petgraph::graph::{DiGraph, NodeIndex};
use std::collections::{BTreeMap, BTreeSet};

/// One stretch of a tool with its text.
struct Stretch {
    tool: u32,
    span: Span,
    /// First byte of the block that changes to it.
    change: u32,
}

/// Puts tool stretches into an order with few changes that keeps every precedence.
pub(super) fn tune(run: &Run, task: &Task<'_>) -> Outcome {
    let mut outcome = Outcome::default();
    let stay = |why: String| Left { what: "order of the tools".to_owned(), why };
    let Some(stretches) = stretches(run) else {
        outcome.left.push(stay("a tool is changed in a subprogram, or more than once by one block".to_owned()));
        return outcome;
    };
    let graph = precedences(&stretches, run, task.job);
    if toposort(&graph, None).is_err() {
        outcome.contradiction = Some(cycle(&graph, &stretches, run.main()));
        return outcome;
    }
    let order = few_changes(&graph, &stretches);
    let changes = |order: &mut dyn Iterator<Item = usize>| {
        let tools: Vec<u32> = order.filter_map(|index| stretches.get(index)).map(|stretch| stretch.tool).collect();
        1 + tools.windows(2).filter(|pair| matches!(pair, [a, b] if a != b)).count()
    };
    let (was, is) = (stretches.len(), changes(&mut order.iter().copied()));
    if is >= was {
        return outcome;
    }
    let name = run.sources.first().map_or("", |source| source.name.as_str());
    let next = (task.replay)(Source::new(name, written(run, task, &stretches, &order)));
    match same_work(run, &next, task) {
        Ok(()) => {
            outcome.changes.push(Change {
                tool: None,
                holes: run.survey.holes.len(),
                what: format!("{} instead of {was}", counted(is, "tool change")),
                why: vec![
                    "kept: the order of tools at every hole, cuts behind what came before them, and what the job pins"
                        .to_owned(),
                ],
                gain: Some(run.seconds() - next.seconds()),
            });
            outcome.next = Some(next);
        }
        Err(why) => outcome.left.push(stay(why)),
    }
    outcome
}

/// The stretches of the main program in order; `None` where they do not stand one behind the other.
fn stretches(run: &Run) -> Option<Vec<Stretch>> {
    let bytes = run.main();
    let mut stretches: Vec<Stretch> = Vec::new();
    for used in run.survey.tools.iter().filter(|used| used.tool != 0) {
        let block = used.block;
        let behind = stretches.last().is_none_or(|last| last.change < block.span.start);
        if block.source != SourceId::default() || block.trace != TraceId::default() || !behind {
            return None;
        }
        let start = with_comments(bytes, block.span.start);
        if let Some(last) = stretches.last_mut() {
            last.span.end = start;
        }
        let end = u32::try_from(bytes.len()).unwrap_or(u32::MAX);
        stretches.push(Stretch { tool: used.tool, span: Span::new(start, end), change: block.span.start });
    }
    Some(stretches)
}

/// The first byte of the comments that stand right before a block.
fn with_comments(bytes: &[u8], mut start: u32) -> u32 {
    while start > 0 {
        let before = bytes.get(..start as usize - 1).unwrap_or_default();
        let line = u32::try_from(memchr::memrchr(b'\n', before).map_or(0, |end| end + 1)).unwrap_or(0);
        let mut block = Block::default();
        let read = Blocks::new(bytes, line as usize, Lexis::default()).next(&mut block);
        let comment = read && !block.comments.is_empty() && block.words.is_empty() && block.program.is_none();
        if !comment {
            break;
        }
        start = line;
    }
    start
}

/// What must come before what, with the reason.
fn precedences(stretches: &[Stretch], run: &Run, job: &Job) -> DiGraph<usize, &'static str> {
    let mut graph = DiGraph::new();
    let nodes: Vec<NodeIndex> = (0..stretches.len()).map(|index| graph.add_node(index)).collect();
    let mut before = |a: usize, b: usize, why: &'static str| {
        if let (Some(a), Some(b)) = (nodes.get(a), nodes.get(b))
            && a != b
        {
            graph.update_edge(*a, *b, why);
        }
    };
    let stretch_of = stretches_of_holes(run);
    let mut last_at: BTreeMap<(i64, i64), usize> = BTreeMap::new();
    for (hole, stretch) in run.survey.holes.iter().zip(&stretch_of) {
        let place = [hole.x, hole.y].map(|value| libm::round(value * 100.0) as i64);
        if let Some(earlier) = last_at.insert((place[0], place[1]), *stretch) {
            before(earlier, *stretch, "they work at the same hole");
        }
    }
    let used = || run.survey.tools.iter().filter(|used| used.tool != 0);
    for (later, cuts) in used().map(|used| !used.cuts.is_empty()).enumerate() {
        for earlier in (0..later).filter(|_| cuts) {
            before(earlier, later, "cuts come behind what the program does before them");
        }
        let cut_before = used().take(later).enumerate().filter(|(_, used)| !used.cuts.is_empty());
        for (earlier, _) in cut_before {
            before(earlier, later, "what comes behind a cut stays behind it");
        }
    }
    // What ends the program stands behind its last stretch.
    for earlier in 0..stretches.len().saturating_sub(1) {
        before(earlier, stretches.len() - 1, "the end of the program stands behind it");
    }
    for (first, second) in pinned_pairs(job) {
        for a in pinned(first, stretches, &stretch_of, run, job) {
            for b in pinned(second, stretches, &stretch_of, run, job) {
                before(a, b, "the job pins it");
            }
        }
    }
    graph
}

/// The stretch that makes each hole.
fn stretches_of_holes(run: &Run) -> Vec<usize> {
    let mut stretch_of = vec![0; run.survey.holes.len()];
    for (index, used) in run.survey.tools.iter().filter(|used| used.tool != 0).enumerate() {
        let holes = stretch_of.get_mut(used.holes.start as usize..used.holes.end as usize);
        holes.into_iter().flatten().for_each(|stretch| *stretch = index);
    }
    stretch_of
}

/// The stretches that an entry of a pinned order means.
fn pinned(pin: &Pinned, stretches: &[Stretch], stretch_of: &[usize], run: &Run, job: &Job) -> Vec<usize> {
    match pin {
        Pinned::Tool(tool) => (0..).zip(stretches).filter(|(_, s)| s.tool == *tool).map(|(index, _)| index).collect(),
        Pinned::Group(_) | Pinned::Hole(_) => {
            let made = holes(pin, run, job);
            let found: BTreeSet<usize> =
                made.iter().filter_map(|hole| stretch_of.get(*hole as usize).copied()).collect();
            found.into_iter().collect()
        }
        // Which cut follows which edge is not told here: every stretch that cuts may.
        Pinned::Edge(_) => {
            let used = run.survey.tools.iter().filter(|used| used.tool != 0).enumerate();
            used.filter(|(_, used)| !used.cuts.is_empty()).map(|(index, _)| index).collect()
        }
    }
}

/// A contradiction, link by link.
fn cycle(graph: &DiGraph<usize, &'static str>, stretches: &[Stretch], bytes: &[u8]) -> String {
    let knot = tarjan_scc(graph).into_iter().find(|nodes| nodes.len() > 1).unwrap_or_default();
    let name = |node: NodeIndex| {
        let index = graph.node_weight(node).copied().unwrap_or(0);
        let (tool, change) = stretches.get(index).map_or((0, 0), |stretch| (stretch.tool, stretch.change as usize));
        let line = 1 + memchr::memchr_iter(b'\n', bytes.get(..change).unwrap_or_default()).count();
        format!("T{tool} of line {line}")
    };
    let mut path: Vec<NodeIndex> = knot.iter().min().copied().into_iter().collect();
    let mut links = Vec::new();
    // Every node of a knot leads on inside it; the walk ends where it meets itself.
    while let Some(at) = path.last().copied() {
        let mut onward: Vec<NodeIndex> = graph.neighbors(at).filter(|next| knot.contains(next)).collect();
        onward.sort_unstable();
        let Some(next) = onward.first().copied() else { break };
        let why = graph.find_edge(at, next).and_then(|edge| graph.edge_weight(edge)).copied().unwrap_or("");
        links.push(format!("{} before {} ({why})", name(at), name(next)));
        if let Some(met) = path.iter().position(|seen| *seen == next) {
            links.drain(..met);
            break;
        }
        path.push(next);
    }
    links.join(", ")
}

/// Always on with the tool in the spindle while something of it is ready, else with what comes first in the program.
fn few_changes(graph: &DiGraph<usize, &'static str>, stretches: &[Stretch]) -> Vec<usize> {
    let mut order: Vec<usize> = Vec::with_capacity(stretches.len());
    while order.len() < stretches.len() {
        let ready: Vec<usize> = (0..stretches.len())
            .filter(|index| !order.contains(index))
            .filter(|index| {
                let mut before = graph.neighbors_directed(NodeIndex::new(*index), petgraph::Incoming);
                before.all(|node| graph.node_weight(node).is_some_and(|index| order.contains(index)))
            })
            .collect();
        let tool = |index: usize| stretches.get(index).map(|stretch| stretch.tool);
        let now = order.last().and_then(|index| tool(*index));
        // A tool that has all its stretches ready need not come back.
        let whole = |index: &&usize| {
            let mut others =
                (0..stretches.len()).filter(|other| !order.contains(other) && tool(*other) == tool(**index));
            others.all(|other| ready.contains(&other))
        };
        let next = ready.iter().find(|index| now.is_some() && tool(**index) == now);
        let Some(next) = next.or_else(|| ready.iter().find(whole)).or(ready.first()) else { break };
        order.push(*next);
    }
    order
}

/// The program with its stretches in that order; a change to the tool that is in the spindle already goes.
fn written(run: &Run, task: &Task<'_>, stretches: &[Stretch], order: &[usize]) -> Vec<u8> {
    let bytes = run.main();
    let style = Style::learn(bytes, run.units == UnitSystem::Metric, Some(&task.job.machine));
    let head = stretches.first().map_or(0, |stretch| stretch.span.start as usize);
    let mut numbers = lines(bytes, head).into_iter().filter_map(|block| block.n);
    let mut out = bytes.get(..head).unwrap_or_default().to_vec();
    let mut spindle = None;
    for stretch in order.iter().filter_map(|index| stretches.get(*index)) {
        let text = bytes.get(..stretch.span.end as usize).unwrap_or_default();
        for block in lines(text, stretch.span.start as usize) {
            let again = block.span.start == stretch.change && spindle == Some(stretch.tool);
            let changes = |letter: u8, value: Option<f64>| letter == b'T' || (letter == b'M' && value == Some(6.0));
            let words: Vec<String> = block
                .words
                .iter()
                .filter(|word| !again || !changes(word.letter, number(word)))
                .map(|word| String::from_utf8_lossy(word.span.of(bytes)).into_owned())
                .collect();
            if again && words.is_empty() && block.comments.is_empty() {
                continue;
            }
            if let Some(own) = block.n {
                out.extend_from_slice(numbers.next().unwrap_or(own).of(bytes));
                let rest = Span::new(own.end, if again { own.end } else { block.span.end });
                out.extend_from_slice(rest.of(bytes));
            } else if !again {
                out.extend_from_slice(block.span.of(bytes));
            }
            if again {
                let comments = block.comments.iter().map(|span| String::from_utf8_lossy(span.of(bytes)).into_owned());
                let rest: Vec<String> = words.into_iter().chain(comments).collect();
                let gap = if block.n.is_some() && style.spaced { " " } else { "" };
                out.extend_from_slice(format!("{gap}{}", style.join(&rest)).as_bytes());
            }
            out.extend_from_slice(block.end.of(bytes));
        }
        spindle = Some(stretch.tool);
    }
    out
}

/// The blocks from byte `start` on.
fn lines(bytes: &[u8], start: usize) -> Vec<Block> {
    let mut blocks = Blocks::new(bytes, start, Lexis::default());
    let mut lines = Vec::new();
    let mut block = Block::default();
    while blocks.next(&mut block) {
        lines.push(block.clone());
    }
    lines
}
