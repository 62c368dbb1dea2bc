//! From findings to edits: what each wants of which hole, and every block rewritten once for all of them.

use super::arc_feed::ArcFeeds;
use super::block_edit::Text;
use super::edit::{Conflict, Edit, Edits};
use super::neighbours::Neighbours;
use super::numbering::Numbering;
use super::passes::Passes;
use super::propose::Overlay;
use super::scene::{BlockKey, Scene, Visit};
use super::shared::Shared;
use super::sides::Sides;
use super::style::{Rounding, Style};
use super::way::Liberty;
use super::wish::Wish;
use super::words::{brings_numbers, is_blockwise, is_worded};
use super::{Inputs, WISH, cycles, long_hand, words};
use crate::diagnostic::{Finding, Place, Remedy, Status};
use crate::job::SubprogramStyle;
use crate::motion::run;
use crate::operation::{Hole, Origin};
use crate::program::ProgramGraph;
use crate::source::SourceId;
use crate::units::UnitSystem;
use std::collections::{BTreeMap, BTreeSet};

/// A finding that cannot be patched, with the reason.
pub type Refusal = (usize, String);

/// Edits for one source each, and what they are meant to do to which holes.
#[derive(Debug, Default)]
pub struct Draft {
    /// Edits by source.
    pub edits: BTreeMap<SourceId, Edits>,
    /// Rules whose findings an edit cures, by source and the edit's first byte.
    pub rules: BTreeMap<(SourceId, u32), BTreeSet<&'static str>>,
    /// Wishes by hole.
    pub wishes: BTreeMap<u32, Wish>,
    /// Highest level that a retract is raised to.
    pub rise: Option<f64>,
    /// What the edits may do to the way of the tool, by source and first byte of the line.
    pub liberties: BTreeMap<BlockKey, Liberty>,
    /// Whether some edit puts in text that a rule worded itself, so that modal values may change.
    pub worded: bool,
}

/// Findings sorted out once: which holes and places each one means.
pub struct Plan<'a> {
    inputs: &'a Inputs<'a>,
    texts: BTreeMap<SourceId, Text<'a>>,
    scene: Scene,
    passes: Passes,
    sides: Sides,
    arcs: ArcFeeds,
    /// Blocks with the holes they make, in order of block.
    made_by: Vec<(BlockKey, u32)>,
    /// Holes of each finding that shapes holes.
    holes_of: BTreeMap<usize, BTreeSet<u32>>,
    neighbours: Neighbours<'a>,
}

/// Edits with what each may do, or the reason why there are none.
type Written = Result<Vec<(Edit, Liberty)>, String>;

/// Edits of one group of findings in one source.
struct Group {
    source: SourceId,
    edits: Vec<Edit>,
    findings: BTreeSet<usize>,
    leave: Liberty,
}

impl<'a> Plan<'a> {
    /// Sorts out `findings`, by index, and runs the program past a scene around their holes.
    pub fn new(inputs: &'a Inputs<'a>, findings: &[usize]) -> (Self, Vec<Refusal>) {
        let by_block = (0..).zip(&inputs.survey.holes).map(|(index, hole)| ((hole.source, hole.block), index));
        let mut made_by: Vec<(BlockKey, u32)> = by_block.collect();
        made_by.sort_unstable();
        let scene = Scene::new([], [], []);
        let (texts, passes, sides, arcs, holes_of) = Default::default();
        let neighbours = Neighbours::new(inputs);
        let mut plan = Self { inputs, texts, scene, passes, sides, arcs, made_by, holes_of, neighbours };
        let mut refusals = Vec::new();
        for &index in findings {
            let Some(finding) = inputs.findings.get(index) else { continue };
            if let Err(reason) = plan.sort_out(index, finding) {
                refusals.push((index, reason));
            }
        }
        let (mut cycle_blocks, mut first_blocks) = (BTreeSet::new(), BTreeMap::new());
        for index in plan.holes_of.values().flatten() {
            let Some((hole, key)) = plan.hole(*index) else { continue };
            let Some(recipe) = inputs.survey.recipe_of(hole) else { continue };
            if matches!(recipe.origin, Origin::Cycle(_)) {
                cycle_blocks.insert(key);
            } else {
                let extent = recipe.strokes.iter().map(|stroke| u32::from(stroke.block)).max().unwrap_or(0);
                first_blocks.insert(key, extent);
            }
        }
        let feed_words: Vec<BlockKey> = findings.iter().flat_map(|index| plan.feed_words(*index)).collect();
        plan.scene = Scene::new(cycle_blocks, first_blocks, feed_words);
        plan.look_around(findings);
        if let Some((main, _)) = inputs.sources.split_first() {
            let library = Overlay { library: inputs.library, sources: inputs.sources };
            let programs = ProgramGraph::read(main.clone(), &library, &inputs.settings.lexis());
            run(&programs, inputs.settings, inputs.tools, &mut plan.scene);
            if !plan.passes.is_empty() {
                run(&programs, inputs.settings, inputs.tools, &mut plan.passes);
            }
            if !plan.sides.is_empty() {
                run(&programs, inputs.settings, inputs.tools, &mut plan.sides);
            }
            if !plan.arcs.is_empty() {
                run(&programs, inputs.settings, inputs.tools, &mut plan.arcs);
            }
        }
        plan.scene.finish();
        plan.passes.finish();
        (plan, refusals)
    }

    /// The holes a block makes, in order of making.
    fn made_at(&self, key: BlockKey) -> impl Iterator<Item = u32> {
        let first = self.made_by.partition_point(|(other, _)| *other < key);
        let rest = self.made_by.get(first..).unwrap_or_default().iter();
        rest.take_while(move |(other, _)| *other == key).map(|(_, hole)| *hole)
    }

    fn hole(&self, index: u32) -> Option<(&'a Hole, BlockKey)> {
        let hole = self.inputs.survey.holes.get(index as usize)?;
        Some((hole, (hole.source, hole.block)))
    }

    fn sort_out(&mut self, index: usize, finding: &Finding) -> Result<(), String> {
        let Some(remedy) = &finding.remedy else { return Err("no text edit is known; change it in CAM".to_owned()) };
        if finding.more_places > 0 {
            return Err("it has more places than are kept".to_owned());
        }
        for place in &finding.places {
            self.read_text(place.source)?;
        }
        let holes: BTreeSet<u32> = finding.places.iter().flat_map(|place| self.holes_at(place)).collect();
        if is_worded(remedy) {
            return Ok(());
        }
        if holes.is_empty() {
            return if is_blockwise(remedy) { Ok(()) } else { Err("no hole is made at its place".to_owned()) };
        }
        for hole in &holes {
            let Some((_, key)) = self.hole(*hole) else { return Err("its hole is not in the survey".to_owned()) };
            if self.made_at(key).any(|other| !holes.contains(&other)) {
                return Err(
                    "a repeat or another call of its block makes further holes, which would change too".to_owned()
                );
            }
            self.read_text(key.0)?;
        }
        self.holes_of.insert(index, holes);
        Ok(())
    }

    /// The hole of a place, or those its block makes.
    fn holes_at(&self, place: &Place) -> Vec<u32> {
        if let Some(hole) = place.hole {
            return vec![hole];
        }
        let start = self.texts.get(&place.source).map(|text| text.line_start(place.span.start));
        start.map(|start| self.made_at((place.source, start)).collect()).unwrap_or_default()
    }

    /// The F words a finding on feed points at where no hole is made.
    fn feed_words(&self, index: usize) -> Vec<BlockKey> {
        let finding = self.inputs.findings.get(index).filter(|finding| matches!(finding.remedy, Some(Remedy::Feed(_))));
        let places = finding.into_iter().flat_map(|finding| &finding.places).filter(|place| place.hole.is_none());
        let is_feed = |place: &&Place| {
            let text = self.texts.get(&place.source);
            text.is_some_and(|text| matches!(place.span.of(text.bytes).first(), Some(b'F' | b'f')))
        };
        places.filter(is_feed).map(|place| (place.source, place.span.start)).collect()
    }

    /// Sets what to look for around the places of findings that change a cut's depth, its way in or its side.
    fn look_around(&mut self, findings: &[usize]) {
        let [mut levels, mut plunges, mut sides, mut arcs] = [const { BTreeSet::new() }; 4];
        for index in findings.iter().filter(|index| !self.holes_of.contains_key(*index)) {
            let Some(finding) = self.inputs.findings.get(*index) else { continue };
            match finding.remedy {
                Some(Remedy::Feed(_)) => arcs.extend(self.blocks(finding)),
                Some(Remedy::Depth(_)) => levels.extend(self.blocks(finding)),
                Some(Remedy::RampIn { .. }) => plunges.extend(self.blocks(finding)),
                Some(Remedy::OtherSide | Remedy::CompensateSooner) => sides.extend(self.blocks(finding)),
                _ => {}
            }
        }
        self.passes = Passes::new(levels, plunges);
        self.sides = Sides::new(sides);
        self.arcs = ArcFeeds::new(arcs);
    }

    fn blocks(&self, finding: &Finding) -> BTreeSet<BlockKey> {
        let block = |place: &Place| Some((place.source, self.texts.get(&place.source)?.line_start(place.span.start)));
        finding.places.iter().filter_map(block).collect()
    }

    fn read_text(&mut self, id: SourceId) -> Result<(), String> {
        let source = self.inputs.sources.get(usize::from(id.0)).ok_or("its text was not read")?;
        let Inputs { job, units, .. } = self.inputs;
        self.texts.entry(id).or_insert_with(|| Text {
            bytes: &source.bytes,
            units: *units,
            style: Style::learn(&source.bytes, *units == UnitSystem::Metric, job.map(|job| &job.machine)),
            numbering: Numbering::learn(&source.bytes),
        });
        Ok(())
    }

    /// Those of `findings` that write lengths or feeds, while the program's units are in doubt and stay so.
    fn in_doubt(&self, findings: &BTreeSet<usize>) -> Vec<Refusal> {
        let mut doubts = (0..).zip(self.inputs.findings).filter(|(_, finding)| is_doubt(finding));
        if doubts.all(|(index, _)| findings.contains(&index)) {
            return Vec::new();
        }
        let numbers = |index: &&usize| {
            self.inputs.findings.get(**index).and_then(|finding| finding.remedy.as_ref()).is_some_and(brings_numbers)
        };
        let reason = "the program's units are in doubt; settle `units-doubtful` first";
        findings.iter().filter(numbers).map(|index| (*index, reason.to_owned())).collect()
    }

    /// The edits for `findings` together.
    ///
    /// # Errors
    /// With the findings that cannot be part of it, and why.
    pub fn draft(&self, findings: &BTreeSet<usize>) -> Result<Draft, Vec<Refusal>> {
        let mut draft = Draft::default();
        let mut refusals = self.in_doubt(findings);
        let mut owners: BTreeMap<u32, BTreeSet<usize>> = BTreeMap::new();
        for &index in findings {
            let (Some(holes), Some(finding)) = (self.holes_of.get(&index), self.inputs.findings.get(index)) else {
                continue;
            };
            let Some(remedy) = self.remedy(finding) else { continue };
            let hop = finding.places.iter().all(|place| place.hole.is_none());
            let clash = holes.iter().find_map(|hole| {
                // Who wants a feed for its own sake has reckoned it, and no other will do.
                let lent = (finding.rule != WISH).then(|| self.neighbours.like(*hole, &remedy));
                let remedy = lent.as_ref().unwrap_or(&remedy);
                draft.wishes.entry(*hole).or_default().add(remedy, hop).err()
            });
            refusals.extend(clash.map(|reason| (index, reason)));
            for hole in holes {
                owners.entry(*hole).or_default().insert(index);
            }
        }
        if !refusals.is_empty() {
            return Err(refusals);
        }
        let mut groups = self.series_groups(&draft.wishes, &owners, &mut refusals);
        groups.extend(self.long_hand_groups(&draft.wishes, &owners, &mut refusals));
        groups.extend(self.worded_groups(findings, &mut refusals));
        let remedies = findings.iter().filter_map(|index| self.remedy(self.inputs.findings.get(*index)?));
        for remedy in remedies {
            draft.worded |= is_worded(&remedy);
            if let Remedy::RetractTo(height) = remedy {
                draft.rise = Some(draft.rise.map_or(height.0, |old| old.max(height.0)));
            }
        }
        if !refusals.is_empty() {
            return Err(refusals);
        }
        for group in &groups {
            let rules = group.findings.iter().filter_map(|index| self.inputs.findings.get(*index));
            let rules: BTreeSet<&'static str> = rules.map(|finding| finding.rule).collect();
            for edit in &group.edits {
                draft.rules.entry((group.source, edit.span.start)).or_default().extend(&rules);
                let line = self.texts.get(&group.source).map_or(0, |text| text.line_start(edit.span.start));
                draft.liberties.entry((group.source, line)).or_default().join(&group.leave);
            }
        }
        draft.edits = self.join(&groups)?;
        Ok(draft)
    }

    /// The remedy of a finding, with heights in the air rounded up to the program's digits.
    fn remedy(&self, finding: &Finding) -> Option<Remedy> {
        let text = finding.places.first().and_then(|place| self.texts.get(&place.source));
        Some(words::in_digits(finding.remedy.as_ref()?, text))
    }

    fn series_groups(
        &self,
        wishes: &BTreeMap<u32, Wish>,
        owners: &BTreeMap<u32, BTreeSet<usize>>,
        refusals: &mut Vec<Refusal>,
    ) -> Vec<Group> {
        let first_hole = |visit: &Visit| self.made_at((visit.block.source, visit.block.span.start)).next();
        let wish_of = |visit: &Visit| first_hole(visit).and_then(|hole| wishes.get(&hole)).copied().unwrap_or_default();
        let shared = self.shared_strokes(&wish_of);
        let mut groups = Vec::new();
        for series in &self.scene.series {
            let wanted = series.visits.iter().filter_map(first_hole).filter_map(|hole| owners.get(&hole));
            let findings: BTreeSet<usize> = wanted.flatten().copied().collect();
            let Some(source) = series.source().filter(|_| !findings.is_empty()) else { continue };
            let Some(text) = self.texts.get(&source) else { continue };
            match cycles::rewrite(series, &wish_of, text, shared.get(&source)) {
                Ok(edits) => groups.push(Group { source, edits, findings, leave: Liberty::of_holes() }),
                Err(reason) => refusals.extend(findings.into_iter().map(|index| (index, reason.clone()))),
            }
        }
        let findings: BTreeSet<usize> = owners.values().flatten().copied().collect();
        for (source, text) in &self.texts {
            let subprograms = shared.get(source).and_then(|shared| shared.subprograms(text));
            groups.extend(subprograms.map(|edit| Group {
                source: *source,
                edits: vec![edit],
                findings: findings.clone(),
                leave: Liberty::of_holes(),
            }));
        }
        groups
    }

    /// The strokes that at least two holes written out would share, by source; none unless they are asked for.
    fn shared_strokes(&self, wish_of: &dyn Fn(&Visit) -> Wish) -> BTreeMap<SourceId, Shared> {
        let calls = self.inputs.job.and_then(|job| job.machine.subprogram) == Some(SubprogramStyle::M98);
        let mut shared: BTreeMap<SourceId, Shared> = BTreeMap::new();
        if !self.inputs.share_strokes || !calls {
            return shared;
        }
        for series in &self.scene.series {
            let Some(source) = series.source() else { continue };
            let Some(text) = self.texts.get(&source) else { continue };
            // Counts uses only; what cannot be written is reported when it is written.
            let _ = cycles::rewrite(series, wish_of, text, Some(shared.entry(source).or_default()));
        }
        let number = |(source, shared): (SourceId, Shared)| {
            let text = self.texts.get(&source)?;
            Some((source, shared.numbered(text, self.inputs.library)))
        };
        shared.into_iter().filter_map(number).collect()
    }

    fn long_hand_groups(
        &self,
        wishes: &BTreeMap<u32, Wish>,
        owners: &BTreeMap<u32, BTreeSet<usize>>,
        refusals: &mut Vec<Refusal>,
    ) -> Vec<Group> {
        let mut groups = Vec::new();
        for (key, steps) in &self.scene.long_hand {
            let Some(hole) = self.made_at(*key).next() else { continue };
            let (Some(wish), Some(findings)) = (wishes.get(&hole), owners.get(&hole)) else { continue };
            let Some(text) = self.texts.get(&key.0) else { continue };
            match long_hand::long_hand_hole(steps, wish, text) {
                Ok(edits) => {
                    let (findings, leave) = (findings.clone(), Liberty::of_holes());
                    groups.push(Group { source: key.0, edits, findings, leave });
                }
                Err(reason) => refusals.extend(findings.iter().map(|index| (*index, reason.clone()))),
            }
        }
        groups
    }

    fn worded_groups(&self, findings: &BTreeSet<usize>, refusals: &mut Vec<Refusal>) -> Vec<Group> {
        let mut groups = Vec::new();
        for &index in findings.iter().filter(|index| !self.holes_of.contains_key(index)) {
            let Some(finding) = self.inputs.findings.get(index) else { continue };
            let Some(remedy) = self.remedy(finding) else { continue };
            for (source, edits) in self.edits_of(finding, &remedy) {
                match edits {
                    Ok(edits) => groups.extend(edits.into_iter().map(|(edit, leave)| Group {
                        source,
                        edits: vec![edit],
                        findings: BTreeSet::from([index]),
                        leave,
                    })),
                    Err(reason) => refusals.push((index, reason)),
                }
            }
        }
        groups
    }

    /// The edits of a remedy at each of its places, with their leave.
    fn edits_of(&self, finding: &Finding, remedy: &Remedy) -> Vec<(SourceId, Written)> {
        let mut written = Vec::new();
        let blocks = self.blocks(finding);
        for (source, text) in &self.texts {
            let here: BTreeSet<BlockKey> = blocks.iter().filter(|(other, _)| other == source).copied().collect();
            match *remedy {
                _ if here.is_empty() => {}
                Remedy::Depth(depth) => written.push((*source, self.passes.deepened(&here, depth, text))),
                Remedy::OtherSide | Remedy::CompensateSooner => {
                    let turn = *remedy == Remedy::OtherSide;
                    let edit =
                        |block| if turn { self.sides.turned(block, text) } else { self.sides.sooner(block, text) };
                    let leave = |edits: Vec<Edit>| (edits, Liberty::of(remedy));
                    written.extend(here.into_iter().map(|block| (*source, with_leave(edit(block).map(leave)))));
                }
                Remedy::RampIn { top, slope } => {
                    let diameter = |tool| Some(self.inputs.job?.tool(tool)?.diameter.0);
                    let ramped = |block| self.passes.ramped(block, (top, slope), &diameter, text);
                    written.extend(here.into_iter().map(|block| (*source, with_leave(ramped(block)))));
                }
                _ => {
                    let places = finding.places.iter().filter(|place| place.source == *source);
                    let edits = places.filter_map(|place| match remedy {
                        Remedy::Feed(feed) => Some(self.fed(place, feed.0, text)),
                        remedy => words::rewrite(remedy, place.span, text),
                    });
                    let leave = |edits: Vec<Edit>| (edits, Liberty::of(remedy));
                    written.extend(edits.map(|edits| (*source, with_leave(edits.map(leave)))));
                }
            }
        }
        written
    }

    /// An arc, or an F word where no hole is made, with another feed.
    fn fed(&self, place: &Place, feed: f64, text: &Text<'_>) -> Result<Vec<Edit>, String> {
        let block = (place.source, text.line_start(place.span.start));
        if let Some(edits) = self.arcs.edits(block, feed, text) {
            return edits;
        }
        let word = self.scene.feed_words.get(&(place.source, place.span.start));
        let why = "the feed of this cut is stated before it, for other moves too";
        let (state, old) = word.and_then(Option::as_ref).ok_or(why)?;
        let value = cycles::feed_word(text, state, feed, *old)?;
        Ok(vec![Edit::replace(place.span, text.style.word(b'F', value, Rounding::Nearest))])
    }

    /// All groups as one list of edits a source. Of two groups that want the same bytes the later finding gives way.
    fn join(&self, groups: &[Group]) -> Result<BTreeMap<SourceId, Edits>, Vec<Refusal>> {
        let mut lists: BTreeMap<SourceId, Vec<Edit>> = BTreeMap::new();
        for group in groups {
            lists.entry(group.source).or_default().extend(group.edits.iter().cloned());
        }
        let mut joined = BTreeMap::new();
        for (source, list) in lists {
            let length = self.texts.get(&source).map_or(0, |text| text.bytes.len());
            match Edits::new(list, length) {
                Ok(edits) => {
                    joined.insert(source, edits);
                }
                Err(conflict) => return Err(blame(groups, source, &conflict)),
            }
        }
        Ok(joined)
    }
}

fn with_leave(edits: Result<(Vec<Edit>, Liberty), String>) -> Written {
    edits.map(|(edits, leave)| edits.into_iter().map(|edit| (edit, leave.clone())).collect())
}

fn blame(groups: &[Group], source: SourceId, conflict: &Conflict) -> Vec<Refusal> {
    let spans = match conflict {
        Conflict::Overlap(a, b) => vec![*a, *b],
        Conflict::Outside(span) => vec![*span],
    };
    let party = groups.iter().filter(|group| group.source == source);
    let involved = party.filter(|group| group.edits.iter().any(|edit| spans.contains(&edit.span)));
    let later = involved.max_by_key(|group| group.findings.first().copied());
    let findings = later.map(|group| group.findings.clone()).unwrap_or_default();
    findings.into_iter().map(|index| (index, "another finding changes the same words".to_owned())).collect()
}

/// Whether a finding says that the units are in doubt.
pub(super) fn is_doubt(finding: &Finding) -> bool {
    finding.rule == "units-doubtful" && finding.status == Status::Open
}
