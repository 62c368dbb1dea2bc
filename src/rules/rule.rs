//! What a rule is: name, severity and checks, each check called at one kind of event.

use super::Context;
use crate::diagnostic::Severity;
use crate::job::{Job, Laminate, Tool};
use crate::motion::Step;
use crate::operation::{Contact, Cut, Hole, Recipe, Survey, ToolUse};
use crate::process::{CutReadings, HoleReading};

/// One rule.
pub struct Rule {
    /// Plain name, such as `exit-feed-high`.
    pub name: &'static str,
    /// Severity unless the job file says otherwise.
    pub severity: Severity,
    /// One line for lists.
    pub summary: &'static str,
    /// Its checks.
    pub checks: &'static [Check],
}

/// When a check is called.
pub enum Check {
    /// Once for each modal state and kind of step (rapid or feed, in air or in material): state rules.
    State(fn(&StepView<'_>, &mut Context<'_>)),
    /// Every rapid that meets what concerns the rule: geometry rules.
    Rapid(Meets, fn(&StepView<'_>, &mut Context<'_>)),
    /// Every feed move, straight or round, that meets what concerns the rule.
    Feed(Meets, fn(&StepView<'_>, &mut Context<'_>)),
    /// Every step that does not move: dwells, stops, tool changes.
    Still(fn(&StepView<'_>, &mut Context<'_>)),
    /// Once for each recipe: all holes made alike get the same verdict.
    Hole(fn(&HoleView<'_>, &mut Context<'_>)),
    /// Every hole where the tool may reach a zone of the fixture: rules that depend on where it is.
    Place(fn(&HoleView<'_>, &mut Context<'_>)),
    /// Each cut, when it is finished.
    Cut(fn(&CutView<'_>, &mut Context<'_>)),
    /// Each stretch a tool spends in the spindle, when it ends.
    Tool(fn(&ToolUse, &mut Context<'_>)),
    /// Once, when the program has ended.
    Program(fn(&Survey, &mut Context<'_>)),
    /// Reported by the reader or the state machine under this rule's name.
    Reading,
}

/// What a move must meet before a geometry rule looks at it: most moves meet nothing, and no rule is called.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meets {
    /// The tool touches material, or nobody can tell.
    Material = 1,
    /// The same, in a laminate with a layer of metal.
    Metal = 2,
    /// The tool may reach a zone of the fixture.
    Zone = 4,
    /// The move ends beyond the machine's travel.
    TravelEnd = 8,
}

/// A step with what is around it.
pub struct StepView<'a> {
    /// The step with its modal state.
    pub step: &'a Step<'a>,
    /// Whether the tool touches material during it.
    pub contact: Contact,
    /// Whether it fed through material in the last step that moved.
    pub was_cutting: bool,
    /// The tool in the spindle, if the job lists it.
    pub tool: Option<&'a Tool>,
    /// Seconds since the spindle last started or changed speed, as far as moves and dwells tell.
    pub since_spindle: Option<f64>,
    /// Whether the tool may reach a zone of the fixture during a rapid.
    pub near_zone: bool,
    /// How far G52, G92 and their like have moved the origin along X and Y, mm; see [`StepView::placed`].
    pub shift: [f64; 2],
}

impl StepView<'_> {
    /// A place of the step in the frame of the job, where zones, holes and cuts lie: a step's own coordinates count from
    /// an origin that G52 and G92 move.
    #[must_use]
    pub fn placed(&self, [x, y, z]: [f64; 3]) -> [f64; 3] {
        let [shift_x, shift_y] = self.shift;
        [x + shift_x, y + shift_y, z]
    }
}

/// A cut with everything known about it.
pub struct CutView<'a> {
    /// The cut.
    pub cut: &'a Cut,
    /// What its stretches come to.
    pub readings: &'a CutReadings<'a>,
    /// The job.
    pub job: &'a Job,
    /// The tool, if the job lists it.
    pub tool: Option<&'a Tool>,
    /// The laminate, if the job names one; zones have their own, see `Stretch::zone`.
    pub laminate: Option<&'a Laminate>,
}

/// A hole with everything known about it.
pub struct HoleView<'a> {
    /// Its index in the survey.
    pub index: u32,
    /// Its place.
    pub hole: &'a Hole,
    /// How it is made.
    pub recipe: &'a Recipe,
    /// What that comes to.
    pub reading: &'a HoleReading,
    /// The job.
    pub job: Option<&'a Job>,
    /// The tool, if the job lists it.
    pub tool: Option<&'a Tool>,
    /// The laminate, if the job names one.
    pub laminate: Option<&'a Laminate>,
    /// Whether the tool may reach a zone of the fixture at the hole.
    pub near_zone: bool,
}
