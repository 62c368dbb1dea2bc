//! A program that calls itself, directly or through others.
//!
//! ## Why it matters
//! The control runs until its nesting limit and stops in mid-cut.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 F318
//! G80
//! M98 P4711
//! M30
//! O4711
//! M98 P4711 (!)
//! M99
//! ```
//!
//! ## Quiet on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 F318
//! G80
//! M98 P4711
//! M30
//! O4711
//! G0 Z50
//! M99
//! ```

use super::{Aim, Check, Draft, Report, Rule};
use crate::diagnostic::Severity;
use crate::program::{Call, ProgramGraph};

/// The rule.
pub static RULE: Rule = Rule {
    name: "subprogram-recursive",
    severity: Severity::Error,
    summary: "a program that calls itself",
    checks: &[Check::Reading],
};

/// Adds to each recursion the run met the ring of calls behind it, and returns a report for each ring no run reached.
pub(super) fn name_rings(drafts: &mut [Draft], programs: &ProgramGraph) -> Vec<Report> {
    let mut unmet = Vec::new();
    for ring in programs.recursions() {
        let Some(last) = ring.last() else { continue };
        let is_of_ring = |draft: &&mut Draft| {
            draft.rule.name == RULE.name && ring.iter().any(|call| aim_of(call) == draft.report.aim)
        };
        match drafts.iter_mut().find(is_of_ring) {
            Some(draft) if ring.len() > 1 => draft.report.why.push(path(&ring, programs)),
            Some(_) => {}
            None => unmet.push(Report::new(aim_of(last), path(&ring, programs)).advice("take out one of the calls")),
        }
    }
    unmet
}

fn aim_of(call: &Call) -> Aim {
    Aim::Exact { source: call.source, span: call.word }
}

/// Such as `O2 calls O3 calls O2`.
fn path(ring: &[&Call], programs: &ProgramGraph) -> String {
    let first = ring.first().map(|call| call.caller);
    let names = first.into_iter().chain(ring.iter().filter_map(|call| call.target));
    let name = |id| match programs.program(id).and_then(|program| program.number) {
        Some(number) => format!("O{number}"),
        None => "the main program".to_owned(),
    };
    names.map(name).collect::<Vec<_>>().join(" calls ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::Ledger;
    use crate::source::{NoLibrary, Source};
    use crate::syntax::Lexis;

    const RING: &str = "O1\nM98 P2\nM30\nO2\nM98 P3\nM99\nO3\nM98 P2\nM99\n";

    fn graph() -> ProgramGraph {
        ProgramGraph::read(Source::new("main.nc", RING), &NoLibrary, &Lexis::default())
    }

    #[test]
    fn a_ring_the_run_met_is_named_under_its_finding() {
        let graph = graph();
        let mut ledger = Ledger::default();
        let met = graph.calls().last().map(aim_of).unwrap();
        ledger.report(&RULE, Default::default(), Report::new(met, "program 2 calls itself"));
        assert!(name_rings(&mut ledger.drafts, &graph).is_empty());
        assert_eq!(ledger.drafts[0].report.why, ["O2 calls O3 calls O2"]);
    }

    #[test]
    fn a_ring_the_run_did_not_meet_is_reported() {
        let unmet = name_rings(&mut [], &graph());
        assert_eq!(unmet.len(), 1);
        assert_eq!(unmet[0].message, "O2 calls O3 calls O2");
    }
}
