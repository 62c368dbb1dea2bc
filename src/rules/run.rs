//! Calls every rule at its events: state rules once a state, hole rules once a recipe, the rest as they come.

use super::context::{Aim, Context};
use super::ledger::{Ledger, Subject};
use super::nearness::Nearness;
use super::rule::{Check, CutView, HoleView, Meets, Rule, StepView};
use super::spin::SpinClock;
use super::{ALL, rule_named, subprogram_recursive};
use crate::diagnostic::{Coverage, Remedy};
use crate::job::{Job, Policy, Tool};
use crate::motion::{BlockRef, CompensationFault, FaultKind, ModalState, MotionFault, Step, StepKind};
use crate::operation::{Contact, Cut, Survey, ToolUse, Watcher};
use crate::process::{CutReadings, HoleReading};
use crate::program::{Program, ProgramGraph};
use crate::rules::Report;
use crate::units::UnitSystem;

type StepCheck = fn(&StepView<'_>, &mut Context<'_>);
type HoleCheck = fn(&HoleView<'_>, &mut Context<'_>);
type CutCheck = fn(&CutView<'_>, &mut Context<'_>);
type ToolCheck = fn(&ToolUse, &mut Context<'_>);
type ProgramCheck = fn(&Survey, &mut Context<'_>);

/// What a step meets, one bit for each `Meets`.
type Met = u8;

/// The checks of all rules that are not allowed, sorted by event.
#[derive(Default)]
struct Calls {
    state: Vec<(&'static Rule, StepCheck)>,
    rapid: Vec<(Met, &'static Rule, StepCheck)>,
    feed: Vec<(Met, &'static Rule, StepCheck)>,
    /// All that rapids and feed moves may meet that concerns a rule.
    concern: [Met; 2],
    still: Vec<(&'static Rule, StepCheck)>,
    hole: Vec<(&'static Rule, HoleCheck)>,
    place: Vec<(&'static Rule, HoleCheck)>,
    cut: Vec<(&'static Rule, CutCheck)>,
    tool: Vec<(&'static Rule, ToolCheck)>,
    program: Vec<(&'static Rule, ProgramCheck)>,
}

/// What the hole rules said of a recipe, for every hole made by it.
struct Verdict {
    /// Which finding, and where on the hole.
    reports: Vec<(usize, Aim)>,
    /// Whether the recipe could be judged.
    judged: bool,
}

/// Watches a run and lets every rule judge it.
pub struct Inspector<'a> {
    job: Option<&'a Job>,
    calls: Calls,
    /// What the rules said.
    pub ledger: Ledger,
    /// How much was understood.
    pub coverage: Coverage,
    /// Readings, one for each recipe.
    pub readings: Vec<HoleReading>,
    /// Units the program speaks.
    pub units: UnitSystem,
    verdicts: Vec<Verdict>,
    generation: Option<u32>,
    /// Tool in the spindle, if the job lists it.
    tool: Option<&'a Tool>,
    seen: u64,
    strict: bool,
    spin: SpinClock,
    nearness: Nearness,
    /// How far G52, G92 and their like have moved the origin, mm.
    shift: [f64; 2],
    /// Travel along X, Y and Z, without bound where the job gives none, mm.
    travel: [(f64, f64); 3],
    /// Whether there is metal to be cut.
    metal: bool,
    cutting: bool,
    /// The last block taken back as understood, with how many had run.
    in_doubt: Option<(u64, BlockRef)>,
}

impl<'a> Inspector<'a> {
    /// An inspector for a job; `strict` when the dialect is the language of NISTIR 6556.
    #[must_use]
    pub fn new(job: Option<&'a Job>, strict: bool) -> Self {
        Self {
            job,
            calls: Calls::of(job),
            ledger: Ledger::default(),
            coverage: Coverage::default(),
            readings: Vec::new(),
            units: job.and_then(|job| job.head.units).unwrap_or_default(),
            verdicts: Vec::new(),
            generation: None,
            tool: None,
            seen: 0,
            strict,
            spin: SpinClock::new(job),
            nearness: Nearness::new(),
            shift: [0.0; 2],
            travel: travel(job),
            metal: job.is_some_and(has_metal),
            cutting: false,
            in_doubt: None,
        }
    }

    /// Lets the program rules judge the whole run; call once, after the last step.
    pub fn finish(&mut self, survey: &Survey, programs: &ProgramGraph) {
        for id in programs.never_called() {
            self.never_called(programs.program(id));
        }
        for report in subprogram_recursive::name_rings(&mut self.ledger.drafts, programs) {
            self.say(&subprogram_recursive::RULE, report);
        }
        self.coverage.holes = survey.holes.len() as u64;
        for (rule, check) in &self.calls.program {
            check(survey, &mut context(self.job, self.units, rule, Subject::default(), &mut self.ledger));
        }
    }

    /// Takes back that a block was understood, once: what it does hangs on a program that is not there.
    fn not_understood(&mut self, block: BlockRef) {
        let this = Some((self.coverage.blocks, block));
        if self.in_doubt != this {
            self.in_doubt = this;
            self.coverage.understood = self.coverage.understood.saturating_sub(1);
        }
    }

    fn never_called(&mut self, program: Option<&Program>) {
        let Some((program, rule)) = program.zip(rule_named("subprogram-never-called")) else { return };
        let number = program.number.map_or_else(String::new, |number| format!(" O{number}"));
        let aim = Aim::Exact { source: program.source, span: program.heading };
        let report = Report::new(aim, format!("program{number} is never called"));
        self.say(rule, report.advice("call it, or take it out of the file"));
    }

    /// Reports under a rule that no check of its own speaks for.
    fn say(&mut self, rule: &'static Rule, report: Report) {
        if self.job.and_then(|job| job.policy(rule.name)) != Some(Policy::Allow) {
            self.ledger.report(rule, Subject::default(), report);
        }
    }

    /// Whether this kind of step is new in its modal state.
    fn first_in_state(&mut self, step: &Step<'_>, contact: Contact) -> bool {
        if self.generation != Some(step.state.generation) {
            self.generation = Some(step.state.generation);
            self.seen = 0;
            self.units = step.state.units.value;
            self.tool = self.job.and_then(|job| job.tool(step.state.tool.value));
        }
        let bit = bit_of(step.kind, contact, step.part.is_some());
        let first = self.seen & bit == 0;
        self.seen |= bit;
        first
    }

    /// Whether the tool may reach a zone of the fixture on its way between two places in program coordinates.
    fn may_reach_zone(&mut self, from: [f64; 3], to: [f64; 3]) -> bool {
        let [from, to] = [from, to].map(|[x, y, _]| self.placed([x, y]));
        self.reaches_zone(from, to, self.tool)
    }

    /// The same of places in the job's frame.
    fn reaches_zone(&mut self, from: [f64; 2], to: [f64; 2], tool: Option<&Tool>) -> bool {
        let radius = tool.map_or(0.0, |tool| tool.diameter.0 / 2.0);
        self.nearness.may_reach(self.job, from, to, radius)
    }

    /// A place in program coordinates, in the frame that zones are given in.
    fn placed(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let [shift_x, shift_y] = self.shift;
        [x + shift_x, y + shift_y]
    }

    /// Whether a place lies beyond the machine's travel.
    fn is_beyond(&self, at: [f64; 3]) -> bool {
        let inside = |(at, (least, most)): (&f64, &(f64, f64))| least <= at && at <= most;
        !at.iter().zip(&self.travel).all(inside)
    }

    /// What a step meets that may concern a geometry rule.
    fn met(&mut self, step: &Step<'_>, contact: Contact) -> Met {
        let touching = contact != Contact::Clear;
        let near = step.kind == StepKind::Rapid && self.may_reach_zone(step.from.xyz, step.to.xyz);
        let beyond = self.is_beyond(step.to.xyz);
        let met = |is: bool, what: Meets| if is { what as Met } else { 0 };
        met(touching, Meets::Material)
            | met(touching && self.metal, Meets::Metal)
            | met(near, Meets::Zone)
            | met(beyond, Meets::TravelEnd)
    }

    /// Lets state rules judge a step that is the first of its kind, and geometry rules one that meets something.
    fn judge_step(&mut self, view: &StepView<'_>, first: bool, met: Met) {
        let number = view.step.state.tool.value;
        let subject = Subject { tool: Some(number).filter(|tool| *tool != 0), hole: None };
        let ledger = &mut self.ledger;
        let mut call = |rule, check: StepCheck| check(view, &mut context(self.job, self.units, rule, subject, ledger));
        if first {
            self.calls.state.iter().for_each(|(rule, check)| call(rule, *check));
        }
        let moving = match view.step.kind {
            StepKind::Rapid => &self.calls.rapid,
            StepKind::Line | StepKind::ArcCw(_) | StepKind::ArcCcw(_) => &self.calls.feed,
            StepKind::Dwell(_) | StepKind::Stop(_) | StepKind::Spindle | StepKind::ToolChange | StepKind::End => {
                return self.calls.still.iter().for_each(|(rule, check)| call(rule, *check));
            }
        };
        moving.iter().filter(|(when, ..)| when & met != 0).for_each(|(_, rule, check)| call(rule, *check));
    }

    /// Lets the hole rules judge a recipe at its first hole.
    fn judge_recipe(&mut self, view: &HoleView<'_>, subject: Subject) {
        self.ledger.verdicts.clear();
        for (rule, check) in &self.calls.hole {
            check(view, &mut context(self.job, self.units, rule, subject, &mut self.ledger));
        }
        let known = view.recipe.heights_known && view.recipe.strokes.iter().all(|stroke| stroke.speed.is_some());
        let judged = known && view.laminate.is_some() && view.tool.is_some();
        self.verdicts.push(Verdict { reports: std::mem::take(&mut self.ledger.verdicts), judged });
    }

    /// Lets the hole rules say of this hole what they said of the first one made alike.
    fn repeat_verdict(&mut self, recipe: usize, subject: Subject) {
        for (draft, aim) in self.verdicts.get(recipe).iter().flat_map(|verdict| &verdict.reports) {
            self.ledger.place(*draft, *aim, subject);
        }
    }
}

impl Watcher for Inspector<'_> {
    fn step(&mut self, step: &Step<'_>, contact: Contact) {
        let first = self.first_in_state(step, contact);
        let since_spindle = self.spin.at(step);
        let met = self.met(step, contact);
        let moves = matches!(step.kind, StepKind::Rapid | StepKind::Line | StepKind::ArcCw(_) | StepKind::ArcCcw(_));
        let [rapid, feed] = self.calls.concern;
        let concern = if step.kind == StepKind::Rapid { rapid } else { feed };
        if first || met & concern != 0 || !moves {
            let near_zone = met & Meets::Zone as Met != 0;
            let (was_cutting, tool, shift) = (self.cutting, self.tool, self.shift);
            let view = StepView { step, contact, was_cutting, tool, since_spindle, near_zone, shift };
            self.judge_step(&view, first, met);
        }
        self.spin.pass(step);
        if moves && !self.ledger.missing.is_empty() && (0..3).any(|axis| step.state.lost.has(axis)) {
            self.not_understood(step.block);
        }
        if moves {
            self.cutting = step.kind != StepKind::Rapid && contact == Contact::Material;
        }
    }

    fn shifted(&mut self, by: [f64; 2]) {
        self.shift = by;
    }

    fn passes(&mut self, from: [f64; 3], to: [f64; 3], state: &ModalState) -> bool {
        let seen =
            self.generation == Some(state.generation) && self.seen & bit_of(StepKind::Rapid, Contact::Clear, true) != 0;
        let quiet = seen && !self.cutting && self.spin.is_up();
        quiet && !self.is_beyond(to) && !self.may_reach_zone(from, to)
    }

    fn hole(&mut self, index: u32, _new: bool, survey: &Survey) {
        let Some(hole) = survey.holes.get(index as usize) else { return };
        let Some(recipe) = survey.recipe_of(hole) else { return };
        let subject = Subject { tool: Some(recipe.tool).filter(|tool| *tool != 0), hole: Some(index) };
        let number = hole.recipe as usize;
        let job = self.job;
        let known = self.tool.filter(|tool| tool.number == recipe.tool);
        let tool = known.or_else(|| job.and_then(|job| job.tool(recipe.tool)));
        let laminate = job.and_then(|job| job.laminate.as_ref());
        let place = [hole.x, hole.y];
        let near_zone = self.reaches_zone(place, place, tool);
        if number >= self.readings.len() {
            let reading = job.map(|job| HoleReading::of(recipe, job)).unwrap_or_default();
            let view = HoleView { index, hole, recipe, reading: &reading, job, tool, laminate, near_zone };
            self.judge_recipe(&view, subject);
            self.readings.push(reading);
        } else {
            self.repeat_verdict(number, subject);
        }
        self.coverage.judged += u64::from(self.verdicts.get(number).is_some_and(|verdict| verdict.judged));
        let Some(reading) = self.readings.get(number).filter(|_| near_zone) else { return };
        let view = HoleView { index, hole, recipe, reading, job, tool, laminate, near_zone };
        for (rule, check) in &self.calls.place {
            check(&view, &mut context(job, self.units, rule, subject, &mut self.ledger));
        }
    }

    fn cut(&mut self, cut: &Cut, _survey: &Survey) {
        let Some(job) = self.job.filter(|_| !self.calls.cut.is_empty()) else { return };
        let readings = &CutReadings::of(cut, job);
        let (tool, laminate) = (job.tool(cut.tool), job.laminate.as_ref());
        let view = CutView { cut, readings, job, tool, laminate };
        let subject = Subject { tool: Some(cut.tool).filter(|tool| *tool != 0), hole: None };
        for (rule, check) in &self.calls.cut {
            check(&view, &mut context(self.job, self.units, rule, subject, &mut self.ledger));
        }
    }

    fn tool(&mut self, used: &ToolUse, _survey: &Survey) {
        let subject = Subject { tool: Some(used.tool).filter(|tool| *tool != 0), hole: None };
        for (rule, check) in &self.calls.tool {
            check(used, &mut context(self.job, self.units, rule, subject, &mut self.ledger));
        }
    }

    fn fault(&mut self, fault: MotionFault) {
        let Some(rule) = rule_named(fault.kind.rule()) else { return };
        if let FaultKind::CallMissing(number) = fault.kind {
            self.ledger.missing.insert(number);
            self.not_understood(fault.block);
        }
        if fault.kind.for_want_of().is_some() {
            self.not_understood(fault.block);
            return self.ledger.not_checked(rule.name, fault.kind.message(), None, true);
        }
        if let Some(key) = fault.kind.undeclared() {
            return self.ledger.not_checked(rule.name, fault.kind.message(), Some(key.to_owned()), true);
        }
        let aim = Aim::Exact { source: fault.block.source, span: fault.span };
        let report = Report::new(aim, fault.kind.message()).severity(fault.kind.severity(self.strict));
        let report = Report { advice: fault.kind.advice().map(str::to_owned), ..report };
        let short = fault.kind == FaultKind::Compensation(CompensationFault::Gouging);
        self.say(rule, if short { report.remedy(Remedy::CompensateSooner) } else { report });
    }

    fn block(&mut self, _block: BlockRef, understood: bool) {
        self.coverage.blocks += 1;
        self.coverage.understood += u64::from(understood);
    }
}

/// Whether any layer of the job's laminates is metal.
fn has_metal(job: &Job) -> bool {
    let zones = job.workpiece.iter().flat_map(|workpiece| &workpiece.zones).map(|zone| &zone.laminate);
    let mut layers = zones.chain(&job.laminate).flat_map(|laminate| &laminate.layers);
    layers.any(|layer| layer.material.class.is_metal())
}

impl Calls {
    fn of(job: Option<&Job>) -> Self {
        let mut calls = Self::default();
        let allowed = |rule: &Rule| job.and_then(|job| job.policy(rule.name)) == Some(Policy::Allow);
        for rule in ALL.iter().map(|entry| entry.rule).filter(|rule| !allowed(rule)) {
            for check in rule.checks {
                match *check {
                    Check::State(check) => calls.state.push((rule, check)),
                    Check::Rapid(when, check) => calls.rapid.push((when as Met, rule, check)),
                    Check::Feed(when, check) => calls.feed.push((when as Met, rule, check)),
                    Check::Still(check) => calls.still.push((rule, check)),
                    Check::Hole(check) => calls.hole.push((rule, check)),
                    Check::Place(check) => calls.place.push((rule, check)),
                    Check::Cut(check) => calls.cut.push((rule, check)),
                    Check::Tool(check) => calls.tool.push((rule, check)),
                    Check::Program(check) => calls.program.push((rule, check)),
                    Check::Reading => {}
                }
            }
        }
        calls.concern = [&calls.rapid, &calls.feed].map(|moving| moving.iter().fold(0, |all, (met, ..)| all | met));
        calls
    }
}

/// Travel of the job's machine.
fn travel(job: Option<&Job>) -> [(f64, f64); 3] {
    let travel = job.map(|job| job.machine.travel).unwrap_or_default();
    travel.map(|bounds| bounds.map_or((f64::NEG_INFINITY, f64::INFINITY), |(least, most)| (least.0, most.0)))
}

fn context<'a>(
    job: Option<&'a Job>,
    units: UnitSystem,
    rule: &'static Rule,
    subject: Subject,
    ledger: &'a mut Ledger,
) -> Context<'a> {
    Context { job, units, rule, subject, ledger }
}

/// One bit for each kind of step, contact, and whether it is part of a cycle.
fn bit_of(kind: StepKind, contact: Contact, in_cycle: bool) -> u64 {
    1 << (kind_index(kind) * 6 + contact as u64 * 2 + u64::from(in_cycle))
}

fn kind_index(kind: StepKind) -> u64 {
    match kind {
        StepKind::Rapid => 0,
        StepKind::Line => 1,
        StepKind::ArcCw(_) => 2,
        StepKind::ArcCcw(_) => 3,
        StepKind::Dwell(_) => 4,
        StepKind::Stop(_) => 5,
        StepKind::Spindle => 6,
        StepKind::ToolChange => 7,
        StepKind::End => 8,
    }
}
