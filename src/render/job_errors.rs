//! Mistakes in a job file, each drawn into its text.

use super::book::Line;
use super::look::Look;
use super::source_code::Excerpt;
use crate::diagnostic::Severity;
use crate::job::JobError;
use crate::source::LineIndex;
use miette::{Diagnostic, LabeledSpan, SourceCode};
use std::fmt;

/// One mistake as miette wants it.
#[derive(Debug)]
struct Drawn<'a> {
    error: &'a JobError,
    excerpt: Excerpt,
    label: LabeledSpan,
}

impl fmt::Display for Drawn<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.error.message)
    }
}

impl std::error::Error for Drawn<'_> {}

impl Diagnostic for Drawn<'_> {
    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.excerpt)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(std::iter::once(self.label.clone())))
    }
}

/// Every mistake, in the order given.
#[must_use]
pub fn job_errors(errors: &[JobError], look: &Look) -> String {
    let mut text = String::new();
    for error in errors {
        let line = Line::at(&error.file.bytes, &LineIndex::new(&error.file.bytes), error.span.start);
        let mut excerpt = Excerpt::default();
        let label = excerpt.add(&error.file.name, line, error.span, look.room());
        let drawn = Drawn { error, excerpt, label: LabeledSpan::new_primary_with_span(None, label) };
        // Writing to a string cannot fail.
        let _ = look.handler("E error", look.severity(Severity::Error)).render_report(&mut text, &drawn);
        if let Some(help) = &error.help {
            text.push_str(&look.led("do", help));
        }
        text.push('\n');
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Job, NoFiles};
    use crate::source::Source;

    #[test]
    fn every_mistake_is_shown_where_it_stands() {
        let text = "[job]\r\npart = \"A\"\r\nunits = \"furlong\"\r\n\r\n[machine]\r\nfeedng = \"cnc\"\r\n";
        let errors = Job::load(&Source::new("a.job.toml", text), &NoFiles).unwrap_err();
        insta::assert_snapshot!(job_errors(&errors, &Look::default()));
    }
}
