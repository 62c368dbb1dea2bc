//! Watches steps go by and recognises holes in them.

mod again;
mod watcher;

pub use watcher::Watcher;

use crate::job::Job;
use crate::motion::{
    Axes, BlockRef, CycleCall, CyclePart, Expand, ModalState, MotionFault, Observer, Planned, Pose, Segment, Step,
    StepKind,
};
use crate::operation::book::Book;
use crate::operation::clearance::Guard;
use crate::operation::contact::{Contact, Course, contact, course};
use crate::operation::cover::Covers;
use crate::operation::frame::Frame;
use crate::operation::open::{Open, words_in_force};
use crate::operation::pending::{Pending, Series, middle};
use crate::operation::places::{AllPlaces, near};
use crate::operation::scene::Scene;
use crate::operation::timing::Timing;
use crate::operation::track::{FeedMove, Track};
use crate::operation::{AXIS_Z, Hole, Recipe, Survey, ToolUse};
use again::Repeat;

/// How many holes at one place are looked back on; more are the same hole over and over.
const LOOK_BACK: usize = 8;
/// A hole is wide enough for a tool this much larger, mm; house value.
const FIT: f64 = 0.01;

/// Observes motion, keeps the survey, tells a watcher.
pub struct Recogniser<'a, W> {
    /// The job, for faces, tools and layers.
    pub job: Option<&'a Job>,
    /// What was found so far.
    pub survey: Survey,
    /// Who is told.
    pub watcher: W,
    entry: Option<f64>,
    scene: Scene<'a>,
    frame: Frame,
    places: AllPlaces,
    book: Book,
    open: Option<Open>,
    pending: Option<Pending>,
    series: Option<Series>,
    repeat: Option<Repeat>,
    used: Option<ToolUse>,
    timing: Timing<'a>,
    track: Track,
    covers: Covers,
    /// The feed moves of the open hole, and `None` where the tool left, should it turn out to be a cut.
    held: Vec<Option<FeedMove>>,
    /// Whether cuts in the survey keep their stretches.
    pub keep_stretches: bool,
    guard: Guard<'a>,
}

impl<'a, W: Watcher> Recogniser<'a, W> {
    /// A recogniser at the start of a program.
    pub fn new(job: Option<&'a Job>, watcher: W) -> Self {
        Self {
            job,
            survey: Survey::default(),
            watcher,
            entry: job.map(|job| job.head.entry_z.0),
            scene: Scene::new(),
            frame: Frame::default(),
            places: AllPlaces::default(),
            book: Book::default(),
            open: None,
            pending: None,
            series: None,
            repeat: None,
            used: None,
            timing: Timing::new(job.map(|job| &job.machine)),
            covers: Covers::of(job),
            track: Track::new(job),
            held: Vec::new(),
            keep_stretches: false,
            guard: Guard::new(job),
        }
    }

    /// Closes what is still open, and hands back the survey and the watcher.
    pub fn finish(mut self) -> (Survey, W) {
        self.settle();
        self.leave(None);
        self.put_down();
        self.survey.times = self.timing.times();
        (self.survey.clearances, self.survey.travel) = self.guard.finish(&self.survey);
        self.survey.edges = std::mem::take(&mut self.covers).finish();
        (self.survey, self.watcher)
    }

    /// A step that is no part of a cycle.
    fn free_step(&mut self, step: &Step<'_>, planned: Option<u64>) {
        if self.open.as_ref().is_some_and(|open| !open.keeps(step, &self.scene)) {
            self.leave(Some(step));
        }
        let contact = self.contact(step);
        self.watcher.step(step, contact);
        if step.kind == StepKind::End {
            return;
        }
        self.account(step);
        match &mut self.open {
            Some(open) => open.take(step, &self.scene),
            // An open hole is large: it is moved only when there is one.
            None if Open::may_begin(step, &self.scene) => self.open = Open::begin(step, &self.scene, self.entry),
            None => {}
        }
        let course = course(step);
        if course == Course::Still {
            return;
        }
        // A circle milled all round counts as clear, but a slope may be left on its floor.
        let may_cut = contact == Contact::Material || (contact == Contact::Clear && course == Course::Sideways);
        let feed_move = if may_cut { FeedMove::of(step, &self.scene, &self.frame, planned) } else { None };
        if self.open.is_some() {
            self.held.push(feed_move);
        } else {
            self.cut_on(feed_move.as_ref());
        }
    }

    /// Lets cuts know of a feed move, or that the tool leaves what it cuts: a rapid, a move in air, one from an unknown
    /// place.
    #[inline]
    fn cut_on(&mut self, feed_move: Option<&FeedMove>) {
        match feed_move {
            Some(feed_move) => {
                self.covers.take(feed_move, self.scene.tool);
                self.track.feed(feed_move);
            }
            None => self.track.leave(),
        }
        self.hand_over();
    }

    /// Hands finished cuts to the watcher and the survey.
    #[inline]
    fn hand_over(&mut self) {
        if self.track.has_news() {
            self.hand_over_cuts();
        }
    }

    fn hand_over_cuts(&mut self) {
        self.track.meet_claims();
        while let Some(mut cut) = self.track.finished() {
            if let Some(used) = &mut self.used {
                used.cut(&cut, self.job);
            }
            self.guard.cut(&cut);
            self.watcher.cut(&cut, &self.survey);
            if !self.keep_stretches {
                self.track.give_back(std::mem::take(&mut cut.stretches));
            }
            self.survey.cuts.push(cut);
        }
    }

    fn contact(&self, step: &Step<'_>) -> Contact {
        if self.open.as_ref().is_some_and(|open| open.clears(step)) && course(step) == Course::Sideways {
            return Contact::Clear;
        }
        let along_z = self.pending.as_ref().is_none_or(Pending::along_z);
        contact(step, &self.scene, self.entry.filter(|_| along_z), |at| self.reached(at))
    }

    /// How far down a hole wide enough for this tool goes at a place; infinity for none.
    fn reached(&self, at: [f64; 2]) -> f64 {
        let mut reached = f64::INFINITY;
        if let Some(pending) = self.pending.as_ref().filter(|pending| near(pending.at, at)) {
            reached = reached.min(pending.deepest);
        }
        if let Some(open) = self.open.as_ref().filter(|open| near(open.place(), at)) {
            reached = reached.min(open.deepest);
        }
        let places = self.places.of(self.frame.number, 2);
        let mut next = places.and_then(|places| places.find(&self.survey.holes, self.frame.place(at)));
        for _ in 0..LOOK_BACK {
            let Some(index) = next else { break };
            reached = reached.min(self.free_down_to(index).unwrap_or(f64::INFINITY));
            next = self.survey.earlier_than(index).map(|(earlier, _)| earlier);
        }
        reached
    }

    /// How far down the present tool fits into a finished hole.
    fn free_down_to(&self, hole: u32) -> Option<f64> {
        let facts = self.book.facts(self.survey.holes.get(hole as usize)?.recipe)?;
        if facts.tool == self.scene.number {
            return Some(facts.bottom);
        }
        let wide = facts.diameter? >= self.scene.tool?.diameter.0 - FIT;
        facts.full.filter(|_| wide)
    }

    /// Diameter already through at a place where `earlier` is the latest hole, mm; 0 for none.
    fn pilot(&self, earlier: Option<u32>) -> f64 {
        let Some(hole) = earlier.and_then(|index| self.survey.holes.get(index as usize)) else { return 0.0 };
        let before = self.survey.recipe_of(hole).map_or(0.0, |recipe| recipe.pilot);
        let through = self.book.facts(hole.recipe).filter(|facts| facts.through).and_then(|facts| facts.diameter);
        before.max(through.unwrap_or(0.0))
    }

    /// Marks a place along `axis` as that of the next hole; returns the hole already there and the diameter through.
    fn claim(&mut self, at: [f64; 2], axis: usize) -> (Option<u32>, f64) {
        let [x, y] = at;
        if !(x.is_finite() && y.is_finite()) {
            return (None, 0.0);
        }
        let index = u32::try_from(self.survey.holes.len()).unwrap_or(u32::MAX);
        let earlier = self.places.put((self.frame.number, axis), &self.survey.holes, at, index);
        (earlier, self.pilot(earlier))
    }

    /// Ends a long-hand hole, if there is one, as `leaving` takes the tool away.
    fn leave(&mut self, leaving: Option<&Step<'_>>) {
        if self.open.is_some() {
            self.close(leaving);
        }
    }

    fn close(&mut self, leaving: Option<&Step<'_>>) {
        let Some(open) = self.open.take() else { return };
        if !open.is_hole(leaving, &self.scene, self.entry) {
            let mut held = std::mem::take(&mut self.held);
            for feed_move in held.drain(..) {
                self.cut_on(feed_move.as_ref());
            }
            self.held = held;
            return;
        }
        self.held.clear();
        self.let_go();
        let at = self.frame.place(open.place());
        let (earlier, pilot) = self.claim(at, 2);
        let (first, words) = (open.first, open.words);
        let recipe = open.recipe(self.scene.number, pilot);
        let (index, new) = self.enter(&recipe);
        self.add(hole(at, index, first, first.span.start, words), earlier, new);
    }

    /// Ends a cycle watched step by step, if there is one.
    fn settle(&mut self) {
        if self.pending.is_some() {
            self.end_cycle();
        }
    }

    fn end_cycle(&mut self) {
        let Some(mut pending) = self.pending.take() else { return };
        let recipe = pending.recipe(self.scene.number);
        let (index, new) = self.enter(&recipe);
        let track = &mut self.track;
        let (whole, from_r) = self.timing.end_cycle(&mut |segment, planned| track.settle(segment, planned));
        self.series = Some(Series::of(&pending, index, whole, from_r));
        let Pending { place: at, block, call, words, earlier, .. } = pending;
        self.account_cycle(index);
        self.add(hole(at, index, block, call.stated_at, words), earlier, new);
    }

    fn enter(&mut self, recipe: &Recipe) -> (u32, bool) {
        self.book.enter(&mut self.survey.recipes, recipe, self.job)
    }

    /// Adds a finished hole.
    fn add(&mut self, hole: Hole, earlier: Option<u32>, new: bool) {
        let index = u32::try_from(self.survey.holes.len()).unwrap_or(u32::MAX);
        let drilled = self.drilled(hole.recipe, earlier);
        if let Some(facts) = self.book.facts(hole.recipe) {
            self.track.drill([hole.x, hole.y], self.frame.number, facts.diameter.zip(facts.full));
        }
        self.survey.holes.push(hole);
        self.survey.earlier.push(earlier.map_or(0, |earlier| earlier + 1));
        if let Some(used) = &mut self.used {
            used.holes.end = index + 1;
            used.drilled_length += drilled;
        }
        self.watcher.hole(index, new, &self.survey);
    }

    /// Depth drilled in material by a recipe, mm; a tool that comes back only counts what it goes deeper.
    fn drilled(&self, recipe: u32, earlier: Option<u32>) -> f64 {
        let Some(facts) = self.book.facts(recipe) else { return 0.0 };
        let before = earlier.and_then(|index| self.survey.holes.get(index as usize));
        let before = before.and_then(|hole| self.book.facts(hole.recipe)).filter(|before| before.tool == facts.tool);
        (facts.drilled - before.map_or(0.0, |before| before.drilled)).max(0.0)
    }

    /// Adds a step to the tool's stretch.
    fn account(&mut self, step: &Step<'_>) {
        let used = self.stretch(step.block, step.state);
        if matches!(step.kind, StepKind::Rapid | StepKind::Line) || step.feed.is_some() {
            if step.to.known.has(2) {
                let [_, _, z] = step.to.xyz;
                used.reach(z);
            }
            if let Some(feed) = step.feed.filter(|feed| *feed > 0.0) {
                used.feed_time += 60.0 * step.length() / feed;
            }
        }
    }

    /// Adds a whole cycle to the tool's stretch.
    fn account_cycle(&mut self, recipe: u32) {
        let Some((facts, used)) = self.book.facts(recipe).zip(self.used.as_mut()) else { return };
        used.feed_time += facts.seconds;
        let along_z = self.survey.recipes.get(recipe as usize).is_some_and(|recipe| recipe.axis == AXIS_Z);
        if along_z {
            used.reach(facts.bottom);
        }
    }

    /// The stretch of the tool now in the spindle.
    fn stretch(&mut self, block: BlockRef, state: &ModalState) -> &mut ToolUse {
        let next = u32::try_from(self.survey.holes.len()).unwrap_or(u32::MAX);
        let cuts = self.survey.cuts.len();
        self.used.get_or_insert_with(|| ToolUse {
            tool: state.tool.value,
            block,
            holes: next..next,
            cuts: cuts..cuts,
            ..ToolUse::default()
        })
    }

    /// Ends the stretch of the tool in the spindle; an empty spindle that did nothing leaves none.
    fn put_down(&mut self) {
        let track = &mut self.track;
        let spent = self.timing.put_down(&mut |segment, planned| track.settle(segment, planned));
        self.let_go();
        let Some(mut used) = self.used.take() else { return };
        (used.cutting, used.rapid) = (spent.cutting, spent.rapid);
        if used.tool == 0 && used.holes.is_empty() && used.feed_time == 0.0 {
            return;
        }
        self.watcher.tool(&used, &self.survey);
        self.survey.tools.push(used);
    }

    /// Makes a hole by a cycle at a claimed place; the cycle's steps are only looked at when the one before it did
    /// something else.
    fn make(
        &mut self,
        call: &CycleCall,
        block: BlockRef,
        state: &ModalState,
        at: [f64; 2],
        (earlier, pilot): (Option<u32>, f64),
    ) -> Expand {
        let repeated = self.series.as_ref().and_then(|series| Some((series.recipe, series.spent(call, pilot)?)));
        let Some((recipe, spent)) = repeated else {
            self.pending = Some(Pending::new(call, block, state, at, earlier, pilot));
            let track = &mut self.track;
            self.timing.begin_cycle(&mut |segment, planned| track.settle(segment, planned));
            return Expand::Steps;
        };
        self.hop(call, block, state);
        self.timing.repeat_cycle(spent);
        if let Some(facts) = self.book.facts(recipe) {
            self.guard.cycle(call, facts.bottom, block, &self.scene, &self.frame);
        }
        self.account_cycle(recipe);
        self.note_repeat(call, recipe, spent);
        self.add(hole(at, recipe, block, call.stated_at, words_in_force(state, block)), earlier, false);
        Expand::Done
    }

    /// The positioning rapid of a cycle that repeats the one before it.
    fn hop(&mut self, call: &CycleCall, block: BlockRef, state: &ModalState) {
        let to = Pose { xyz: call.over, known: Axes(call.from.known.0 | call.known.0), ..call.from };
        self.frame.arrive(&to);
        if call.from.xyz == call.over {
            return;
        }
        let part = Some(CyclePart::Position);
        let step = Step { kind: StepKind::Rapid, from: call.from, to, feed: None, part, block, state };
        // Nothing is open here, and a hole is looked for only below the face.
        let contact = contact(&step, &self.scene, self.entry, |at| self.reached(at));
        self.watcher.step(&step, contact);
        self.time(&step);
    }

    /// Looks whether the origin has moved. A hole still open was made under the one before.
    fn keep_frame(&mut self, from: &Pose, state: &ModalState) {
        let number = state.work_offset.value;
        if !self.frame.stays(from, number) {
            self.leave(None);
            self.frame.depart(from, number);
            self.watcher.shifted(self.frame.place([0.0; 2]));
        }
    }

    /// Adds a step's time; its number in the speed plan, when it gets one.
    fn time(&mut self, step: &Step<'_>) -> Option<u64> {
        let track = &mut self.track;
        let mut settle = |segment: &Segment, planned: &Planned| track.settle(segment, planned);
        let planned = self.timing.step(step, &mut settle);
        match step.part {
            Some(CyclePart::Position) => self.timing.begin_cycle(&mut settle),
            Some(CyclePart::Approach) => self.timing.come_to_r(),
            _ => {}
        }
        planned.then(|| self.track.push())
    }

    /// The tool has left what it cut.
    fn let_go(&mut self) {
        self.track.leave();
        self.hand_over();
    }
}

impl<W: Watcher> Observer for Recogniser<'_, W> {
    fn step(&mut self, step: &Step<'_>) {
        self.repeat = None;
        if step.part.is_none() {
            self.settle();
        }
        // What is still open belongs to the tool before.
        if matches!(step.kind, StepKind::ToolChange | StepKind::End) || step.state.tool.value != self.scene.number {
            self.leave(None);
            self.put_down();
        }
        self.scene.look(step.state, self.job);
        self.keep_frame(&step.from, step.state);
        self.frame.arrive(&step.to);
        if self.held.is_empty() {
            self.track.forget();
        }
        let planned = self.time(step);
        if self.pending.as_ref().is_none_or(Pending::along_z) {
            self.guard.step(step, &self.scene, &self.frame);
        } else {
            self.guard.lose(&self.scene, false);
        }
        if self.pending.is_none() {
            self.free_step(step, planned);
            return;
        }
        let contact = self.contact(step);
        self.watcher.step(step, contact);
        if let Some(pending) = &mut self.pending {
            pending.take(step, &self.scene);
        }
    }

    fn cycle(&mut self, call: &CycleCall, block: BlockRef, state: &ModalState) -> Expand {
        self.settle();
        self.leave(None);
        self.let_go();
        self.track.forget();
        self.scene.look(state, self.job);
        self.keep_frame(&call.from, state);
        self.stretch(block, state);
        let (_, _, axis) = call.plane.axes();
        let at = if axis == 2 { self.frame.place(middle(call)) } else { middle(call) };
        let claimed = self.claim(at, axis);
        self.make(call, block, state, at, claimed)
    }

    fn local_shift(&mut self, by: [f64; 2]) {
        self.repeat = None;
        self.settle();
        self.leave(None);
        self.frame.shift(by);
        self.watcher.shifted(self.frame.place([0.0; 2]));
    }

    fn cycle_again(&mut self, call: &CycleCall, block: BlockRef, state: &ModalState) -> Expand {
        self.take_again(call, block, state)
    }

    fn block(&mut self, block: BlockRef, understood: bool) {
        self.settle();
        if let Some(open) = &mut self.open {
            open.read(block);
        }
        self.watcher.block(block, understood);
    }

    fn fault(&mut self, fault: MotionFault) {
        self.watcher.fault(fault);
    }
}

/// The record of a hole that begins in `block`.
fn hole([x, y]: [f64; 2], recipe: u32, block: BlockRef, stated: u32, (feed_at, speed_at): (u32, u32)) -> Hole {
    let BlockRef { source, span, trace, .. } = block;
    Hole { x, y, recipe, block: span.start, stated, feed_at, speed_at, trace, source }
}
