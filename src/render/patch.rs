//! What a patch does and does not cure: notes for people beside the diff, one document for machines.

use super::look::Look;
use super::{CAUTION, counted, grouped};
use crate::diagnostic::Finding;
use crate::patch::Patch;
use serde::Serialize;
use std::collections::BTreeMap;

/// What every patch says of itself.
const PROPOSAL: &str = "A patch is a proposal. It was applied to a copy, read again and checked again; that proves what \
    the text says, not that the cut will be good. Prove it out as any change of the program.";

/// Findings of one rule that are told in full before the rest are counted: a house value.
const SHOWN: usize = 5;

/// Which findings the patch cures, which it leaves and why.
#[must_use]
pub fn patch_notes(patch: &Patch, findings: &[Finding], look: &Look) -> String {
    let verdict = patch.verdict();
    let mut text = String::new();
    let cured: Vec<_> = verdict.cured.iter().filter_map(|index| findings.get(*index)).collect();
    text.push_str(&listed("cured", &cured, look));
    text.push_str(&left(&verdict.left, findings, look));
    if verdict.cured.is_empty() {
        return text + &look.wrapped("", "  ", "no change is proposed");
    }
    let (changed, same) = (verdict.holes_changed as u64, verdict.holes_same as u64);
    text.push_str(&look.wrapped(
        "",
        "  ",
        &format!("{} made in another way, {same} as before", counted(changed, "hole")),
    ));
    text.push_str(&look.wrapped("  ", "  ", PROPOSAL));
    text
}

/// Findings one by one, the first few of each rule.
fn listed(label: &str, findings: &[&Finding], look: &Look) -> String {
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let mut text = String::new();
    for finding in findings {
        let count = seen.entry(finding.rule).or_default();
        *count += 1;
        if *count <= SHOWN {
            text.push_str(&look.led(label, &format!("{}: {}", finding.rule, finding.message)));
        }
    }
    for (rule, count) in seen.into_iter().filter(|(_, count)| *count > SHOWN) {
        text.push_str(&look.led(label, &format!("{rule}: {} more", grouped((count - SHOWN) as u64))));
    }
    text
}

/// What is left, those for the same reason together.
fn left(left: &[(usize, String)], findings: &[Finding], look: &Look) -> String {
    let mut reasons: Vec<&str> = Vec::new();
    for (_, why) in left {
        if !reasons.contains(&why.as_str()) {
            reasons.push(why);
        }
    }
    let mut text = String::new();
    for reason in reasons {
        let alike = left.iter().filter(|(_, why)| why == reason);
        let alike: Vec<_> = alike.filter_map(|(index, _)| findings.get(*index)).collect();
        text.push_str(&listed("left", &alike, look));
        text.push_str(&look.led("", &format!("because {reason}")));
    }
    text
}

/// One finding in the document.
#[derive(Serialize)]
struct FindingOut<'a> {
    rule: &'static str,
    severity: &'static str,
    message: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    why: Option<&'a str>,
}

/// The document.
#[derive(Serialize)]
struct PatchOut<'a> {
    schema_version: u32,
    caution: &'static str,
    proposal: &'static str,
    program: &'a str,
    cured: Vec<FindingOut<'a>>,
    left: Vec<FindingOut<'a>>,
    holes_changed: usize,
    holes_same: usize,
    files: Vec<&'a str>,
    /// Bytes that are not UTF-8 are replaced here; `diff_exact` then says false.
    diff: String,
    diff_exact: bool,
}

/// The patch as one JSON document.
#[must_use]
pub fn patch_json(patch: &Patch, program: &str, findings: &[Finding]) -> String {
    let verdict = patch.verdict();
    let out = |index: usize, why| {
        let finding = findings.get(index)?;
        Some(FindingOut { rule: finding.rule, severity: finding.severity.word(), message: &finding.message, why })
    };
    let diff = patch.diff();
    let document = PatchOut {
        schema_version: 1,
        caution: CAUTION,
        proposal: PROPOSAL,
        program,
        cured: verdict.cured.iter().filter_map(|index| out(*index, None)).collect(),
        left: verdict.left.iter().filter_map(|(index, why)| out(*index, Some(why.as_str()))).collect(),
        holes_changed: verdict.holes_changed,
        holes_same: verdict.holes_same,
        files: patch.patched().map(|(_, name, _)| name).collect(),
        diff: String::from_utf8_lossy(&diff).into_owned(),
        diff_exact: std::str::from_utf8(&diff).is_ok(),
    };
    // Strings and integers in structs and lists cannot fail to serialise.
    serde_json::to_string_pretty(&document).unwrap_or_default() + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::Severity;
    use crate::render::sample::bare;

    #[test]
    fn many_findings_of_one_rule_are_counted_behind_the_first() {
        let findings: Vec<Finding> = (1..=8)
            .map(|feed| bare("exit-feed-high", Severity::Error, &format!("exit feed 0.{feed} mm/rev")))
            .collect();
        let listed = listed("cured", &findings.iter().collect::<Vec<_>>(), &Look::default());
        assert_eq!(listed.lines().count(), SHOWN + 1, "{listed}");
        assert!(listed.contains("exit-feed-high: 3 more"), "{listed}");
    }
}
