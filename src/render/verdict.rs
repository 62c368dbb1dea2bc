//! What a report comes to: how many findings stand, whether every check could conclude, and the exit code that says so.

use crate::check::Report;
use crate::diagnostic::{Severity, Status};
use schemars::JsonSchema;
use serde::Serialize;

/// Findings by severity; waived ones are counted apart.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Tally {
    /// Open errors.
    pub errors: u64,
    /// Open warnings.
    pub warnings: u64,
    /// Open notes.
    pub notes: u64,
    /// Findings accepted by a waiver.
    pub waived: u64,
    /// Findings of the baseline.
    pub known: u64,
}

impl Tally {
    /// Counts the findings of a report.
    #[must_use]
    pub fn of(report: &Report) -> Self {
        let mut tally = Self::default();
        for finding in &report.findings {
            let count = match (&finding.status, finding.severity) {
                (Status::Waived(_), _) => &mut tally.waived,
                (Status::Known, _) => &mut tally.known,
                (Status::Open, Severity::Error) => &mut tally.errors,
                (Status::Open, Severity::Warning) => &mut tally.warnings,
                (Status::Open, Severity::Note) => &mut tally.notes,
            };
            *count += 1;
        }
        tally
    }

    /// Both together.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self {
            errors: self.errors + other.errors,
            warnings: self.warnings + other.warnings,
            notes: self.notes + other.notes,
            waived: self.waived + other.waived,
            known: self.known + other.known,
        }
    }

    /// Open findings at or above a severity.
    #[must_use]
    pub fn at_least(self, severity: Severity) -> u64 {
        match severity {
            Severity::Error => self.errors,
            Severity::Warning => self.errors + self.warnings,
            Severity::Note => self.errors + self.warnings + self.notes,
        }
    }
}

/// Two answers that may both be true: something failed, and something could not be concluded.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Verdict {
    /// Findings at or above the severity asked for stand open.
    pub failed: bool,
    /// A check had no data, a block was not understood, or a hole could not be judged.
    pub inconclusive: bool,
}

impl Verdict {
    /// The verdict on one report.
    #[must_use]
    pub fn of(report: &Report, fail_on: Severity) -> Self {
        let unjudged = report.coverage.judged < report.coverage.holes;
        Self { failed: report.fails_at(fail_on), inconclusive: report.incomplete() || unjudged }
    }

    /// The verdict on both together.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self { failed: self.failed || other.failed, inconclusive: self.inconclusive || other.inconclusive }
    }

    /// Exit code: 1 failed, 3 not concluded, 0 clean. A failure outranks what is missing.
    #[must_use]
    pub fn exit(self) -> u8 {
        match (self.failed, self.inconclusive) {
            (true, _) => 1,
            (false, true) => 3,
            (false, false) => 0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::sample;
    use super::*;
    use crate::diagnostic::Coverage;

    fn exit(report: &Report, fail_on: Severity) -> u8 {
        Verdict::of(report, fail_on).exit()
    }

    #[test]
    fn waived_findings_are_counted_apart() {
        let tally = Tally::of(&sample::report());
        assert_eq!(tally, Tally { errors: 1, warnings: 0, notes: 1, waived: 1, known: 0 });
    }

    #[test]
    fn a_failure_outranks_what_is_missing() {
        let mut report = sample::report();
        assert_eq!(exit(&report, Severity::Error), 1);
        report.findings.remove(0);
        assert_eq!(exit(&report, Severity::Error), 3);
        assert_eq!(exit(&report, Severity::Warning), 3, "the warning is waived");
        assert_eq!(exit(&report, Severity::Note), 1);
        report.not_checked.clear();
        assert_eq!(exit(&report, Severity::Error), 0);
    }

    #[test]
    fn what_was_not_understood_or_judged_is_never_clean() {
        let mut report = sample::report();
        report.findings.clear();
        report.not_checked.clear();
        report.coverage = Coverage { blocks: 9, understood: 8, holes: 1, judged: 1 };
        assert_eq!(exit(&report, Severity::Note), 3);
        report.coverage = Coverage { blocks: 9, understood: 9, holes: 1, judged: 0 };
        assert_eq!(exit(&report, Severity::Note), 3);
    }
}
