//! The page a reader opens first: what was checked by what, the verdict, waivers, and what the method cannot see.

use super::inputs::{Inputs, Run};
use super::manifest::{MadeBy, VerdictOut};
use crate::check::Report;
use crate::job::{Head, Waiver};
use crate::patch::Patch;
use crate::render::{self, CAUTION, Look, counted};
use crate::rules::{WaiverState, WaiverUse};
use crate::source::sha256;
use std::collections::BTreeSet;

/// What the method assumes and where it ends; each is so for every record.
const LIMITS: [&str; 8] = [
    "Moves are rebuilt from the text by the dialect and the machine facts of the job file. What the control does in \
     another way, by parameters, macros or hand, is not seen.",
    "IF, WHILE, GOTO and macro calls are recognised and not followed; tilted planes and tool-centre-point modes are not \
     rebuilt. Blocks that were not understood are counted in the check and never count as clean.",
    "A hole is judged by the layers, tolerance and support the job file states: the thinnest part decides where slow feed \
     begins, the thickest whether the hole is through. Nothing was measured on a part but what is listed above.",
    "A limit is only as good as its source, which stands beside it in every finding. `house value` marks limits of this \
     program's own; formulas are held to published examples where there are any.",
    "Thrust and the critical thrust are estimates of models whose coefficients the job file gives. Without coefficients \
     nothing is judged by thrust.",
    "Feeds reached and times follow from the accelerations the job file gives; without them what the text commands counts.",
    "Clearances are those of the shapes the job file describes; what it does not describe is not in the way.",
    "What could not be checked for want of data is listed as not checked and is no pass.",
];

/// What the page tells of.
pub(super) struct Summary<'a> {
    pub inputs: &'a Inputs,
    pub run: &'a Run<'a>,
    pub patch: &'a Patch,
    /// What changed since the revision before.
    pub headline: Option<&'a str>,
    pub verdict: &'a VerdictOut,
}

/// The page.
pub(super) fn summary(of: &Summary<'_>) -> String {
    let look = Look::default();
    let mut page = Page { look: &look, text: look.wrapped("", "  ", &title(of)) };
    page.part("What was judged", &facts(of));
    page.part("What it came to", &conclusions(of));
    page.part("What was read", &read(of.inputs));
    page.part("Waivers", &waivers(of.run));
    page.part("Assumptions and limits of the method", &LIMITS.map(str::to_owned));
    page.part("What this record is good for", &[CAUTION.to_owned()]);
    page.text
}

struct Page<'a> {
    look: &'a Look,
    text: String,
}

impl Page<'_> {
    fn part(&mut self, heading: &str, lines: &[String]) {
        self.text.push_str(&format!("\n{heading}\n"));
        for line in lines {
            self.text.push_str(&self.look.wrapped("  - ", "    ", line));
        }
    }
}

fn title(of: &Summary<'_>) -> String {
    format!("Record of the check of {}", of.inputs.this.program.name)
}

fn facts(of: &Summary<'_>) -> Vec<String> {
    let made = MadeBy::this();
    let mut lines = of.run.job.as_ref().map(|job| head(&job.head)).unwrap_or_default();
    lines.push(match &of.run.job {
        Some(job) => format!("judged by {}", job.name),
        None => "judged without a job file: most checks had no data".to_owned(),
    });
    lines.extend(of.inputs.date.map(|date| format!("waivers judged on {date}")));
    if let Some(overlay) = &of.run.report.overlay {
        lines.push(render::measured_heading(overlay));
        lines.extend(overlay.measured.values.iter().map(|value| value.text(of.run.report.units)));
    }
    lines.extend(of.inputs.tools.as_ref().map(|table| format!("tool offsets from {}", table.name)));
    lines.extend(of.inputs.dialect.as_ref().map(|dialect| format!("read in the dialect {dialect}")));
    lines.push(format!(
        "made by {} {}, {}, rule set {}",
        made.name,
        made.version,
        counted(made.rules as u64, "rule"),
        made.rule_set
    ));
    lines
}

fn head(head: &Head) -> Vec<String> {
    let Head { part, operation, revision, drawing, .. } = head;
    let given = [("part", part), ("operation", operation), ("revision", revision), ("drawing", drawing)];
    given.iter().filter(|(_, value)| !value.is_empty()).map(|(name, value)| format!("{name} {value}")).collect()
}

fn conclusions(of: &Summary<'_>) -> Vec<String> {
    let VerdictOut { errors, warnings, notes, waived, inconclusive, .. } = *of.verdict;
    let counts = [(errors, "error"), (warnings, "warning"), (notes, "note")].map(|(count, noun)| counted(count, noun));
    let mut lines = vec![format!("{}; {waived} waived: check.txt, check.json, check.sarif", counts.join(", "))];
    let missing = of.run.report.not_checked.iter().filter(|missing| missing.needed).count() as u64;
    lines.push(match (inconclusive, missing) {
        (false, _) => "every check the job leaves on and states a limit for had its data".to_owned(),
        (true, 0) => "not concluded: not every block was understood or not every hole judged".to_owned(),
        (true, missing) => format!("not concluded: {} had no data, see check.txt", counted(missing, "check")),
    });
    lines.push(render::coverage(&of.run.report));
    lines.extend(not_run(&of.run.report));
    lines.push("for the operator: sheet.html".to_owned());
    lines.push("hole by hole with margins and override bands: holes.txt; cut by cut: edges.txt".to_owned());
    let verdict = of.patch.verdict();
    let (cured, left) = (verdict.cured.len() as u64, verdict.left.len() as u64);
    let basis = if of.run.report.overlay.is_some() { " for what was measured," } else { "" };
    lines.push(match cured {
        0 if left == 0 => "no open finding asks for a patch".to_owned(),
        0 => format!("no patch is proposed; {} left to decide on, see patch.txt", counted(left, "finding")),
        _ => format!(
            "a patch{basis} proved on a copy cures {} and leaves {left}: patch.diff; it is not applied here",
            counted(cured, "finding")
        ),
    });
    lines.push(match of.headline {
        Some(headline) => format!("since the revision before: {headline}; see changes.txt"),
        None => "no earlier revision was given to compare with".to_owned(),
    });
    lines
}

/// Which checks did not run, and which the job file switches off.
fn not_run(report: &Report) -> Vec<String> {
    let rules: BTreeSet<&str> = report.not_checked.iter().map(|missing| missing.rule.as_str()).collect();
    let rules: Vec<&str> = rules.into_iter().collect();
    [("not run", rules), ("switched off by the job file", report.switched_off())]
        .into_iter()
        .filter(|(_, rules)| !rules.is_empty())
        .map(|(words, rules)| format!("{} {words}: {}", counted(rules.len() as u64, "check"), rules.join(", ")))
        .collect()
}

fn read(inputs: &Inputs) -> Vec<String> {
    inputs.files().iter().map(|(path, bytes)| format!("{path} sha256 {}", sha256(bytes))).collect()
}

fn waivers(run: &Run<'_>) -> Vec<String> {
    let mut lines: Vec<String> = run.report.waivers.iter().map(|(waiver, used)| terms(waiver, used)).collect();
    match lines.is_empty() {
        true => lines.push("the job file holds none".to_owned()),
        false => lines.push("with the findings they cover: waivers.json".to_owned()),
    }
    lines
}

/// A waiver with its terms and its use.
fn terms(waiver: &Waiver, used: &WaiverUse) -> String {
    let bound = waiver.bound.map(|bound| format!("bound {bound} {}", waiver.bound_unit).trim_end().to_owned());
    let named = |name: &str, value: &str| (!value.is_empty()).then(|| format!("{name} {value}"));
    let terms = [
        bound,
        named("holes", &waiver.holes.join(", ")),
        named("raised by", &waiver.raised_by),
        named("approved by", &waiver.approved_by),
        waiver.date.map(|date| format!("of {date}")),
        waiver.expires.map(|date| format!("until {date}")),
        named("for", &waiver.effectivity),
        named("reference", &waiver.reference),
    ];
    let terms: Vec<String> = terms.into_iter().flatten().collect();
    let covers = match used.places {
        0 => "covers nothing here".to_owned(),
        places => format!("covers {} here", counted(places as u64, "place")),
    };
    let state = match WaiverState::of(waiver, used) {
        WaiverState::Used | WaiverState::Unused => String::new(),
        state => format!(" ({})", state.word()),
    };
    format!("{} for `{}`: {}; {}; {covers}{state}", waiver.id, waiver.rule, waiver.reason, terms.join(", "))
}
