//! The call graph: programs are nodes, calls are edges, and their names and places stand in lists beside it.

use std::collections::{BTreeMap, BTreeSet};

use petgraph::algo::{astar, kosaraju_scc};
use petgraph::graph::{DiGraph, NodeIndex};
use petgraph::visit::Dfs;

use super::scan::{FoundCall, scan};
use super::{Call, CallKind, Program, ProgramId, candidates};
use crate::source::{Library, Source, SourceId};
use crate::syntax::Lexis;

/// A packed P word holds the program number in its last four digits and the repeats before them (common practice, no source).
const PACKED: u32 = 10_000;

/// All programs of a run and the calls between them.
pub struct ProgramGraph {
    sources: Vec<Source>,
    programs: Vec<Program>,
    calls: Vec<Call>,
    /// First program of each number in each source.
    by_number: BTreeMap<(SourceId, u32), ProgramId>,
    /// What the library answered for each number asked for.
    beside: BTreeMap<u32, Option<ProgramId>>,
    /// Called sequence numbers: source, number, byte offset of the block.
    sequences: BTreeSet<(SourceId, u32, u32)>,
    graph: DiGraph<(), usize>,
}

impl ProgramGraph {
    /// Reads `main` and every program it leads to, asking `library` for those it does not hold.
    #[must_use]
    pub fn read(main: Source, library: &dyn Library, lexis: &Lexis) -> Self {
        let mut graph = Self {
            sources: Vec::new(),
            programs: Vec::new(),
            calls: Vec::new(),
            by_number: BTreeMap::new(),
            beside: BTreeMap::new(),
            sequences: BTreeSet::new(),
            graph: DiGraph::new(),
        };
        graph.add_source(main, lexis);
        let mut next = 0;
        while let Some(call) = graph.calls.get(next).cloned() {
            let target = graph.find(&call, library, lexis);
            graph.connect(next, target);
            next += 1;
        }
        graph.find_sequences();
        graph
    }

    /// All sources: the main one first, then those found beside it in the order they were called.
    #[must_use]
    pub fn sources(&self) -> &[Source] {
        &self.sources
    }

    /// The sources, when the graph is no longer needed.
    #[must_use]
    pub fn into_sources(self) -> Vec<Source> {
        self.sources
    }

    /// All programs, the main one first.
    #[must_use]
    pub fn programs(&self) -> &[Program] {
        &self.programs
    }

    /// All calls, in the order they were found.
    #[must_use]
    pub fn calls(&self) -> &[Call] {
        &self.calls
    }

    /// One program.
    #[must_use]
    pub fn program(&self, id: ProgramId) -> Option<&Program> {
        self.programs.get(id.0 as usize)
    }

    /// The program a byte of a source belongs to.
    #[must_use]
    pub fn program_at(&self, source: SourceId, offset: u32) -> Option<ProgramId> {
        let before = self.programs.partition_point(|program| (program.source, program.start) <= (source, offset));
        let at = before.checked_sub(1)?;
        self.programs.get(at).filter(|program| program.source == source && offset < program.end).map(|_| id_of(at))
    }

    /// Where program `number` starts when `caller` calls it: in the caller's own file first, then beside it.
    #[must_use]
    pub fn target(&self, caller: SourceId, number: u32) -> Option<(SourceId, u32)> {
        let program = self.program(self.known(caller, number)?)?;
        Some((program.source, program.start))
    }

    /// Program number and repeats of an M98 P word and its L word. A P of more than four digits that names no program is packed.
    #[must_use]
    pub fn unpack(&self, caller: SourceId, p: u32, l: Option<u32>) -> (u32, u32) {
        if p < PACKED || l.is_some() || self.known(caller, p).is_some() {
            return (p, l.unwrap_or(1));
        }
        (p % PACKED, p / PACKED)
    }

    /// Block with sequence number `number`: in the program around byte `near` first, then in the whole source.
    #[must_use]
    pub fn sequence(&self, source: SourceId, near: u32, number: u32) -> Option<u32> {
        let first_in = |start: u32, end: u32| {
            self.sequences.range((source, number, start)..(source, number, end)).next().map(|(_, _, at)| *at)
        };
        let own = self.program_at(source, near).and_then(|id| self.program(id));
        own.and_then(|program| first_in(program.start, program.end)).or_else(|| first_in(0, u32::MAX))
    }

    /// Programs of the main source that no chain of calls reaches; none when some call computes its number.
    #[must_use]
    pub fn never_called(&self) -> Vec<ProgramId> {
        if self.calls.iter().any(|call| call.number.is_none()) {
            return Vec::new();
        }
        let mut reached = BTreeSet::new();
        let mut walk = Dfs::new(&self.graph, NodeIndex::new(0));
        while let Some(node) = walk.next(&self.graph) {
            reached.insert(node.index());
        }
        let unreached = |(at, program): (usize, &Program)| {
            (program.source == SourceId(0) && !reached.contains(&at)).then_some(id_of(at))
        };
        self.programs.iter().enumerate().filter_map(unreached).collect()
    }

    /// For each set of programs that call each other in a ring: the calls of one ring, in order.
    #[must_use]
    pub fn recursions(&self) -> Vec<Vec<&Call>> {
        let start_of = |set: &Vec<NodeIndex>| {
            let start = set.iter().min().copied()?;
            (set.len() > 1 || self.graph.contains_edge(start, start)).then_some(start)
        };
        let mut starts: Vec<NodeIndex> = kosaraju_scc(&self.graph).iter().filter_map(start_of).collect();
        starts.sort_unstable();
        starts.into_iter().filter_map(|start| self.ring(start)).collect()
    }

    fn ring(&self, start: NodeIndex) -> Option<Vec<&Call>> {
        let back = |from: NodeIndex| astar(&self.graph, from, |node| node == start, |_| 1, |_| 0);
        let mut ways: Vec<_> = self.graph.neighbors(start).filter_map(back).collect();
        ways.sort();
        let (_, way) = ways.into_iter().next()?;
        let froms = std::iter::once(start).chain(way.iter().copied());
        let call_between = |(from, to): (NodeIndex, NodeIndex)| {
            let edges = self.graph.edges_connecting(from, to);
            edges.map(|edge| *edge.weight()).min().and_then(|at| self.calls.get(at))
        };
        Some(froms.zip(way.iter().copied()).filter_map(call_between).collect())
    }

    fn known(&self, caller: SourceId, number: u32) -> Option<ProgramId> {
        let in_source = |source| self.by_number.get(&(source, number)).copied();
        let beside = || self.beside.get(&number).copied().flatten();
        in_source(caller).or_else(beside).or_else(|| in_source(SourceId(0)))
    }

    /// Adds a source with its programs and calls; `None` when there are more than a source number can name.
    fn add_source(&mut self, source: Source, lexis: &Lexis) -> Option<SourceId> {
        let id = SourceId(u16::try_from(self.sources.len()).ok()?);
        let end = u32::try_from(source.bytes.len()).unwrap_or(u32::MAX);
        let found = scan(&source.bytes, lexis);
        self.sources.push(source);
        let first = self.programs.len();
        for (at, (number, start, heading)) in found.headings.iter().enumerate() {
            let end = found.headings.get(at + 1).map_or(end, |(_, next, _)| *next);
            let program = id_of(self.programs.len());
            self.graph.add_node(());
            self.programs.push(Program { number: *number, source: id, start: *start, end, heading: *heading });
            if let Some(number) = number {
                self.by_number.entry((id, *number)).or_insert(program);
            }
        }
        for call in found.calls {
            let before = found.headings.partition_point(|(_, start, _)| *start <= call.block.start);
            self.calls.push(placed(call, id, id_of(first + before.saturating_sub(1))));
        }
        Some(id)
    }

    /// The program a call leads to, loading it when it stands beside the ones read so far.
    fn find(&mut self, call: &Call, library: &dyn Library, lexis: &Lexis) -> Option<ProgramId> {
        let number = call.number.filter(|_| matches!(call.kind, CallKind::Program | CallKind::Macro))?;
        if let Some(found) = self.load(call.source, number, library, lexis) {
            return Some(found);
        }
        let (number, _) = self.unpack(call.source, number, None);
        self.load(call.source, number, library, lexis)
    }

    fn load(&mut self, caller: SourceId, number: u32, library: &dyn Library, lexis: &Lexis) -> Option<ProgramId> {
        if let Some(found) = self.known(caller, number) {
            return Some(found);
        }
        if !self.beside.contains_key(&number) {
            let found = library.find(number).and_then(|source| self.enter(source, number, lexis));
            self.beside.insert(number, found);
        }
        self.beside.get(&number).copied().flatten()
    }

    /// The program of that number in `source`, or its first one when that has no number.
    fn enter(&mut self, source: Source, number: u32, lexis: &Lexis) -> Option<ProgramId> {
        let read = self.sources.iter().position(|known| known.name == source.name);
        let id = match read {
            Some(at) => SourceId(u16::try_from(at).ok()?),
            None => self.add_source(source, lexis)?,
        };
        let first = self.programs.iter().position(|program| program.source == id && program.number.is_none());
        self.by_number.get(&(id, number)).copied().or(first.map(id_of))
    }

    fn connect(&mut self, at: usize, target: Option<ProgramId>) {
        let (Some(target), Some(source)) = (target, self.calls.get(at).map(|call| call.source)) else { return };
        let number = self.calls.get(at).and_then(|call| call.number);
        let unpacked = number.map(|number| self.unpack(source, number, None));
        let Some(call) = self.calls.get_mut(at) else { return };
        call.target = Some(target);
        if let (Some((number, times)), CallKind::Program) = (unpacked, call.kind) {
            call.number = Some(number);
            call.times = call.times.max(times);
        }
        self.graph.add_edge(node(call.caller), node(target), at);
    }

    fn find_sequences(&mut self) {
        let wanted: BTreeSet<u32> = self
            .calls
            .iter()
            .filter(|call| matches!(call.kind, CallKind::Sequence | CallKind::ReturnTo))
            .filter_map(|call| call.number)
            .collect();
        if wanted.is_empty() {
            return;
        }
        for (id, source) in (0..).zip(&self.sources) {
            let found = candidates::sequence_numbers(&source.bytes, &wanted).into_iter();
            self.sequences
                .extend(found.map(|(number, at)| (SourceId(id), number, u32::try_from(at).unwrap_or(u32::MAX))));
        }
    }
}

fn placed(call: FoundCall, source: SourceId, caller: ProgramId) -> Call {
    let FoundCall { kind, block, word, number, times } = call;
    Call { kind, caller, source, block, word, number, times: times.unwrap_or(1), target: None }
}

fn id_of(index: usize) -> ProgramId {
    ProgramId(u32::try_from(index).unwrap_or(u32::MAX))
}

fn node(id: ProgramId) -> NodeIndex {
    NodeIndex::new(id.0 as usize)
}
