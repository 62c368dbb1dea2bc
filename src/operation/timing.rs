//! Where the time goes: every moving step through the speed plan, cycles repeated elsewhere by what the first one took.

use crate::job::Machine;
use crate::motion::{
    Axes, CyclePart, Limits, ModalState, PathMode, Planned, Planner, Segment, SpindleSense, Step, StepKind, Times,
};
use std::ops::{Add, Sub};

/// Time of moves and dwells, s.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Spent {
    /// Feeding.
    pub cutting: f64,
    /// Rapids.
    pub rapid: f64,
    /// Standing still.
    pub dwell: f64,
}

/// Adds up time, by the speed plan where the machine's accelerations are known, else at commanded feed.
pub(super) struct Timing<'a> {
    machine: Option<&'a Machine>,
    planner: Option<Planner>,
    spent: Spent,
    /// What had been spent when the tool in the spindle began.
    before_tool: Spent,
    /// What had been spent when the cycle now watched came to its place, and to R.
    before_cycle: Spent,
    before_stroke: Spent,
    /// Time of a rapid along X, Y and Z, s/mm, where the job gives all three rates.
    per_mm: Option<[f64; 3]>,
    tool_change: f64,
    spin_up: f64,
    sense: SpindleSense,
    /// Time the spindle still needs to reach its speed.
    starting: f64,
    /// Something took a time that nobody states: a rapid along an axis without a rate, a move without a feed.
    incomplete: bool,
}

impl<'a> Timing<'a> {
    /// At the start of a program.
    pub fn new(machine: Option<&'a Machine>) -> Self {
        Self {
            machine,
            planner: machine.and_then(Limits::of).map(Planner::new),
            spent: Spent::default(),
            before_tool: Spent::default(),
            before_cycle: Spent::default(),
            before_stroke: Spent::default(),
            per_mm: machine.and_then(rapid_per_mm),
            tool_change: 0.0,
            spin_up: 0.0,
            sense: SpindleSense::Stopped,
            starting: 0.0,
            incomplete: false,
        }
    }

    /// Takes a step; `emit` gets the moves whose speed is settled now. Says whether this step comes out in its turn.
    pub fn step(&mut self, step: &Step<'_>, emit: &mut impl FnMut(&Segment, &Planned)) -> bool {
        // Within a cycle the spindle turns as the cycle does, not as a word starts it.
        if matches!(step.part, None | Some(CyclePart::Position | CyclePart::Approach)) {
            self.turn(step.state);
        }
        match step.kind {
            StepKind::Rapid | StepKind::Line | StepKind::ArcCw(_) | StepKind::ArcCcw(_) => self.go(step, emit),
            StepKind::Dwell(seconds) => {
                self.flush(emit);
                self.incomplete |= seconds.is_none();
                self.spent.dwell += seconds.unwrap_or(0.0);
                self.wait(seconds.unwrap_or(0.0));
                false
            }
            StepKind::ToolChange => {
                self.flush(emit);
                let time = self.machine.and_then(|machine| machine.tool_change);
                self.tool_change += time.map_or(0.0, |time| time.0);
                false
            }
            StepKind::Stop(_) | StepKind::Spindle | StepKind::End => {
                self.flush(emit);
                false
            }
        }
    }

    /// Comes to rest.
    pub fn flush(&mut self, emit: &mut impl FnMut(&Segment, &Planned)) {
        let Some(planner) = &mut self.planner else { return };
        let spent = &mut self.spent;
        planner.flush(&mut |segment, planned| {
            spent.add_move(segment.kind, planned.seconds);
            emit(segment, planned);
        });
    }

    fn go(&mut self, step: &Step<'_>, emit: &mut impl FnMut(&Segment, &Planned)) -> bool {
        let feeds = step.kind != StepKind::Rapid;
        if feeds {
            self.spin_up += std::mem::take(&mut self.starting);
        }
        let before = self.spent;
        let planned = self.plan(step, emit);
        if !planned {
            self.flush(emit);
            let seconds = self.at_least(step);
            self.spent.add_move(step.kind, seconds);
        }
        if !feeds {
            self.wait(self.spent.rapid - before.rapid);
        }
        planned
    }

    /// Hands a move to the planner; false when there is none or it cannot plan this move.
    fn plan(&mut self, step: &Step<'_>, emit: &mut impl FnMut(&Segment, &Planned)) -> bool {
        let straight = step.from.abc == step.to.abc && knows_way(step);
        let Some(planner) = self.planner.as_mut().filter(|_| straight) else { return false };
        let (from, to) = (step.from.xyz, step.to.xyz);
        // Under G61 too the tool stops at corners: nothing else keeps it on its path there.
        let exact_stop = step.state.path.value != PathMode::Continuous;
        let segment = Segment { kind: step.kind, from, to, feed: step.feed, exact_stop, block: step.block };
        let spent = &mut self.spent;
        planner.push(segment, &mut |segment, planned| {
            spent.add_move(segment.kind, planned.seconds);
            emit(segment, planned);
        })
    }

    /// Time of a move at commanded feed, or with every axis at its rapid rate all the way; never too long.
    fn at_least(&mut self, step: &Step<'_>) -> f64 {
        if step.kind != StepKind::Rapid {
            let length = Some(step.length()).filter(|length| *length > 0.0 && knows_way(step));
            let feed = step.feed.filter(|feed| *feed > 0.0);
            self.incomplete |= step.from.abc != step.to.abc || (length.is_some() && feed.is_none());
            return length.zip(feed).map_or(0.0, |(length, feed)| 60.0 * length / feed);
        }
        if let Some(seconds) = self.straight_rapid(step) {
            return seconds;
        }
        let mut longest = 0.0_f64;
        let rates = self.machine.map(|machine| &machine.rapid);
        let axes = if step.from.abc == step.to.abc { 0..3 } else { 0..6 };
        for axis in axes {
            let (Some(from), Some(to)) = (step.from.axis(axis), step.to.axis(axis)) else { continue };
            if from == to {
                continue;
            }
            match rates.and_then(|rates| *rates.get(axis)?).filter(|rate| rate.0 > 0.0) {
                Some(rate) => longest = longest.max(60.0 * (to - from).abs() / rate.0),
                None => self.incomplete = true,
            }
        }
        longest
    }

    /// Time of a rapid between known places that turns nothing, with every axis at its rate all the way, s.
    #[inline]
    fn straight_rapid(&self, step: &Step<'_>) -> Option<f64> {
        let [per_x, per_y, per_z] = self.per_mm?;
        let known = step.from.known.contains(Axes::XYZ) && step.to.known.contains(Axes::XYZ);
        if !known || step.from.abc != step.to.abc {
            return None;
        }
        let ([x, y, z], [to_x, to_y, to_z]) = (step.from.xyz, step.to.xyz);
        Some(((to_x - x).abs() * per_x).max((to_y - y).abs() * per_y).max((to_z - z).abs() * per_z))
    }

    /// Notes when the spindle starts or turns round.
    fn turn(&mut self, state: &ModalState) {
        let sense = state.spindle.value;
        if sense == self.sense {
            return;
        }
        self.sense = sense;
        let needed = self.machine.and_then(|machine| machine.spin_up).map_or(0.0, |time| time.0);
        self.starting = if sense == SpindleSense::Stopped { 0.0 } else { needed };
    }

    /// Time that passes before the first feed move, while the spindle gathers speed.
    fn wait(&mut self, seconds: f64) {
        self.starting = (self.starting - seconds).max(0.0);
    }

    /// A cycle stands over its place: what follows is the same wherever it is repeated.
    pub fn begin_cycle(&mut self, emit: &mut impl FnMut(&Segment, &Planned)) {
        self.flush(emit);
        self.before_cycle = self.spent;
        self.before_stroke = self.spent;
    }

    /// A cycle has come down to R.
    pub fn come_to_r(&mut self) {
        self.before_stroke = self.spent;
    }

    /// What the cycle took from its place on, and from R on: planned speeds there hang on the way down to it.
    pub fn end_cycle(&mut self, emit: &mut impl FnMut(&Segment, &Planned)) -> (Spent, Option<Spent>) {
        self.flush(emit);
        let from_r = self.spent - self.before_stroke;
        (self.spent - self.before_cycle, self.planner.is_none().then_some(from_r))
    }

    /// Adds a cycle repeated at another place.
    pub fn repeat_cycle(&mut self, spent: Spent) {
        self.spent = self.spent + spent;
    }

    /// Whether each rapid takes its time alone, with nothing to wait for.
    pub fn is_even(&self) -> bool {
        self.planner.is_none() && self.per_mm.is_some() && self.starting == 0.0
    }

    /// Adds a level rapid along X and Y, and a cycle repeated at its end; for times that are even.
    pub fn repeat_level(&mut self, [x, y]: [f64; 2], spent: Spent) {
        let [per_x, per_y, _] = self.per_mm.unwrap_or_default();
        self.spent.rapid += (x.abs() * per_x).max(y.abs() * per_y);
        self.repeat_cycle(spent);
    }

    /// What the tool in the spindle took; the next begins.
    pub fn put_down(&mut self, emit: &mut impl FnMut(&Segment, &Planned)) -> Spent {
        self.flush(emit);
        let spent = self.spent - self.before_tool;
        self.before_tool = self.spent;
        spent
    }

    /// Where the time went so far.
    pub fn times(&self) -> Times {
        let Spent { cutting, rapid, dwell } = self.spent;
        let planned = self.planner.is_some() && !self.incomplete;
        Times { cutting, rapid, dwell, tool_change: self.tool_change, spin_up: self.spin_up, planned }
    }
}

/// Seconds for each millimetre of a rapid along X, Y and Z.
fn rapid_per_mm(machine: &Machine) -> Option<[f64; 3]> {
    let [x, y, z, ..] = machine.rapid;
    let [x, y, z] = [x?, y?, z?].map(|rate| 60.0 / rate.0);
    [x, y, z].iter().all(|seconds| seconds.is_finite() && *seconds > 0.0).then_some([x, y, z])
}

/// Whether the way is known: an axis that is known nowhere stands still.
fn knows_way(step: &Step<'_>) -> bool {
    (step.from.known.0 ^ step.to.known.0) & Axes::XYZ.0 == 0
}

impl Spent {
    fn add_move(&mut self, kind: StepKind, seconds: f64) {
        if kind == StepKind::Rapid {
            self.rapid += seconds;
        } else {
            self.cutting += seconds;
        }
    }
}

impl Add for Spent {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { cutting: self.cutting + other.cutting, rapid: self.rapid + other.rapid, dwell: self.dwell + other.dwell }
    }
}

impl Sub for Spent {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self { cutting: self.cutting - other.cutting, rapid: self.rapid - other.rapid, dwell: self.dwell - other.dwell }
    }
}

#[cfg(test)]
mod tests {
    use crate::job::Machine;
    use crate::motion::Times;
    use crate::operation::Survey;
    use crate::operation::watched::{self, DRILL, PLATE};
    use crate::units::{MmPerMin, Seconds};

    /// What a program takes on the machine that `change` makes of one with 1 m/s2 and 12 m/min on every axis.
    fn survey(program: &str, change: impl Fn(&mut Machine)) -> Survey {
        let mut job = watched::job(&format!("{PLATE}{DRILL}{ROUTER}"));
        job.machine.acceleration = [Some(1.0); 3];
        job.machine.rapid = [Some(MmPerMin(12_000.0)); 3];
        change(&mut job.machine);
        let text = format!("G21 G90 G94 G17\nT1 M6\nG0 G43 H1 X0 Y0 Z50\n{program}\nM30\n");
        watched::watch(Some(&job), &text, ()).0
    }

    fn times(program: &str) -> Times {
        survey(program, |_| {}).times
    }

    #[track_caller]
    fn near(value: f64, expected: f64) {
        assert!((value - expected).abs() < 1e-9, "{value} is not {expected}");
    }

    const ROUTER: &str = r#"
[tool.2]
kind = "router"
diameter = 4.0
edges = 2
"#;

    #[test]
    fn moves_take_their_planned_time() {
        let times = times("G0 X300 Y400\nG1 X340 F2400\nG4 P1.5\nG0 X0");
        // Rapids of 500 mm at 250 mm/s and 1250 mm/s2, and of 340 mm at 200 mm/s and 1000 mm/s2.
        near(times.rapid, 2.2 + 1.9);
        near(times.cutting, 1.04);
        near(times.dwell, 1.5);
        assert!(times.planned);
    }

    #[test]
    fn without_accelerations_times_are_lower_bounds() {
        let commanded = |machine: &mut Machine| machine.acceleration = [None; 3];
        let times = survey("G0 X300 Y400\nG1 X340 F2400", commanded).times;
        near(times.rapid, 2.0);
        near(times.cutting, 1.0);
        assert!(!times.planned);
        let blind = survey("G0 X300 Y400\nG1 X340 F2400", |machine| machine.rapid = [None; 3]).times;
        near(blind.rapid, 0.0);
        near(blind.cutting, 1.04);
        assert!(!blind.planned);
        assert!(!self::times("S2000 M3\nG0 X10\nG1 Z-3").planned, "the last move has no feed");
    }

    #[test]
    fn a_cycle_takes_the_same_wherever_it_is_repeated() {
        let cycle = "G99 G82 X10 Z-8 R2 P0.5 F600";
        let once = times(cycle);
        let long = times("G0 X10\nZ2\nG1 Z-8 F600\nG4 P0.5\nG0 Z2");
        for (one, other) in [(once.cutting, long.cutting), (once.rapid, long.rapid), (once.dwell, long.dwell)] {
            near(one, other);
        }
        // 10 mm at 10 mm/s and two ramps.
        near(once.cutting, 1.01);
        let row = times(&format!("{cycle}\nX20\nX30\nX40"));
        near(row.cutting, 4.0 * once.cutting);
        near(row.dwell, 4.0 * 0.5);
        // Once over 10 mm, down 48 mm and back 10 mm; then three times over 10 mm and back.
        let ten = 2.0 * libm::sqrt(10.0 / 1000.0);
        near(row.rapid, 48.0 / 200.0 + 0.2 + 8.0 * ten);
    }

    #[test]
    fn pecks_are_timed_stroke_by_stroke() {
        let pecks =
            |program: &str| survey(program, |machine| machine.peck_clearance = Some(crate::units::Millimetres(0.2)));
        let once = pecks("G99 G83 X10 Z-8 R2 Q2 F600").times;
        let thrice = pecks("G99 G83 X10 Z-8 R2 Q2 F600\nX20\nX30").times;
        near(thrice.cutting, 3.0 * once.cutting);
        assert!(once.cutting > 1.01 + 4.0 * 0.01, "{once:?}");
        assert!(once.rapid > 0.5, "{once:?}");
    }

    #[test]
    fn exact_stops_take_longer() {
        let row: String = (1..=100).map(|step| format!("G1 X{} F2400\n", f64::from(step) * 0.25)).collect();
        near(times(&format!("G61\n{row}")).cutting, 200.0 * libm::sqrt(0.25 / 1000.0));
        near(times(&row).cutting, 25.0 / 40.0 + 0.04);
    }

    #[test]
    fn tools_and_spindle_take_their_time_too() {
        let slow = |machine: &mut Machine| {
            machine.tool_change = Some(Seconds(8.0));
            machine.spin_up = Some(Seconds(2.0));
        };
        let program = "S2000 M3\nG4 P0.5\nG1 X40 F2400\nX80\nM5\nT2 M6\nG0 X0\nS2000 M3\nG1 X40";
        let survey = survey(program, slow);
        near(survey.times.tool_change, 16.0);
        near(survey.times.spin_up, 1.5 + 2.0);
        let per_tool: Vec<_> = survey.tools.iter().map(|used| (used.tool, used.cutting, used.rapid)).collect();
        let [(1, first, none), (2, second, back)] = per_tool[..] else { panic!("{per_tool:?}") };
        near(first, 80.0 / 40.0 + 0.04);
        near(second, 40.0 / 40.0 + 0.04);
        near(none, 0.0);
        near(back, 80.0 / 200.0 + 0.2);
        near(survey.times.cutting, first + second);
    }
}
