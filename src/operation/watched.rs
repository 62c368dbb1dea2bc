//! What the tests of this folder run: a program through the state machine and the recogniser, with someone watching.

use super::{Contact, Recogniser, Survey, ToolUse, Watcher};
use crate::job::{Job, NoFiles};
use crate::motion::{BlockRef, MotionFault, Settings, Step, ToolTable, run};
use crate::program::ProgramGraph;
use crate::source::{NoLibrary, Source};

/// Nobody watches.
impl Watcher for () {
    fn step(&mut self, _: &Step<'_>, _: Contact) {}
    fn hole(&mut self, _: u32, _: bool, _: &Survey) {}
    fn tool(&mut self, _: &ToolUse, _: &Survey) {}
    fn fault(&mut self, _: MotionFault) {}
    fn block(&mut self, _: BlockRef, _: bool) {}
}

/// A plate 6 mm thick entered at Z0, on a machine that leaves no doubt how its words are read.
pub(super) const PLATE: &str = r#"
[job]
part = "P"
units = "mm"
entry_z = 0.0
laminate = "plate"

[machine]
dialect = "shop"
dwell_unit = "seconds"
peck_clearance = 0.2
peck_back_off = 0.3
number_input = "decimal"

[laminate.plate]
layers = [{ material = "carbon-tape", plies = 48, ply = 0.125 }]
"#;

/// A drill of 6 mm as tool 1.
pub(super) const DRILL: &str = r#"
[tool.1]
kind = "twist-drill"
diameter = 6.0
edges = 2
point = 118
stick_out = 40.0
"#;

/// The job of some text.
#[track_caller]
pub(super) fn job(text: &str) -> Job {
    Job::load(&Source::new("p.job.toml", text), &NoFiles).unwrap_or_else(|errors| panic!("{errors:?}"))
}

/// What a program leaves behind, and what the watcher saw; cuts keep their stretches.
pub(super) fn watch<W: Watcher>(job: Option<&Job>, program: &str, watcher: W) -> (Survey, W) {
    let settings = Settings::of_job(job).expect("the dialect is known");
    let programs = ProgramGraph::read(Source::new("p.nc", program), &NoLibrary, &settings.lexis());
    let tools = job.map(ToolTable::of_job).unwrap_or_default();
    let mut recogniser = Recogniser::new(job, watcher);
    recogniser.keep_stretches = true;
    run(&programs, &settings, &tools, &mut recogniser);
    recogniser.finish()
}
