//! How text may look where it goes: width, colour, drawing characters.

use crate::diagnostic::Severity;
use miette::{GraphicalReportHandler, GraphicalTheme, ThemeCharacters, ThemeStyles};
use owo_colors::{Style, XtermColors};
use textwrap::{Options, WordSeparator, WordSplitter};

/// Orange and blue keep apart for every kind of colour vision; both stand out on black and on white.
const ORANGE: u8 = 208;
const BLUE: u8 = 33;

/// Columns taken by the word that opens a line under a finding, such as `limit`.
const LEAD: usize = 9;

/// Columns miette draws left of a program line: line number, bar and blanks.
const GUTTER: usize = 12;

/// Where a text goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look {
    /// Columns of a line.
    pub width: usize,
    /// Whether colour may be used; it never carries meaning alone.
    pub colour: bool,
    /// Whether box-drawing characters may be used.
    pub unicode: bool,
}

impl Default for Look {
    /// Plain ASCII, 80 columns, no colour.
    fn default() -> Self {
        Self { width: 80, colour: false, unicode: false }
    }
}

impl Look {
    /// A line under a finding: a lead word, then text wrapped beside it.
    #[must_use]
    pub fn led(&self, lead: &str, text: &str) -> String {
        let painted = self.paint(self.blue(), lead);
        let blank = " ".repeat(LEAD.saturating_sub(2 + lead.len()));
        self.wrapped(&format!("  {painted}{blank}"), &" ".repeat(LEAD), text)
    }

    /// Text wrapped to the width, with one indent for the first line and one for the others.
    #[must_use]
    pub fn wrapped(&self, first: &str, rest: &str, text: &str) -> String {
        let options = Options::new(self.width)
            .initial_indent(first)
            .subsequent_indent(rest)
            .word_separator(WordSeparator::AsciiSpace)
            .word_splitter(WordSplitter::NoHyphenation);
        let mut lines = textwrap::fill(text, options);
        lines.push('\n');
        lines
    }

    /// Columns left for a program line.
    pub(crate) fn room(&self) -> usize {
        self.width.saturating_sub(GUTTER).max(20)
    }

    /// Text in a style, where colour is allowed.
    #[must_use]
    pub fn paint(&self, style: Style, text: &str) -> String {
        if self.colour && !text.is_empty() { style.style(text).to_string() } else { text.to_owned() }
    }

    /// The style of a severity.
    #[must_use]
    pub fn severity(&self, severity: Severity) -> Style {
        match severity {
            Severity::Error if self.colour => self.orange().bold(),
            Severity::Error => Style::new(),
            Severity::Warning => self.orange(),
            Severity::Note => self.blue(),
        }
    }

    fn orange(&self) -> Style {
        if self.colour { Style::new().color(XtermColors::from(ORANGE)) } else { Style::new() }
    }

    /// The style of what needs no hurry: lead words, notes, waived findings.
    #[must_use]
    pub fn blue(&self) -> Style {
        if self.colour { Style::new().color(XtermColors::from(BLUE)) } else { Style::new() }
    }

    /// The drawer of headings and program lines; each heading opens with `mark`, in `style`.
    pub(crate) fn handler(&self, mark: &str, style: Style) -> GraphicalReportHandler {
        let base = if self.unicode { ThemeCharacters::unicode() } else { ThemeCharacters::ascii() };
        let characters = ThemeCharacters { error: mark.to_owned(), ..base };
        let styles = ThemeStyles {
            error: style,
            link: Style::new(),
            linum: Style::new(),
            highlights: vec![self.orange(), self.blue()],
            ..ThemeStyles::none()
        };
        GraphicalReportHandler::new_themed(GraphicalTheme { characters, styles })
            .with_width(self.width)
            .with_context_lines(0)
            .with_links(false)
            .with_word_separator(WordSeparator::AsciiSpace)
            .with_word_splitter(WordSplitter::NoHyphenation)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_text_wraps_beside_its_lead_word() {
        let look = Look { width: 30, ..Look::default() };
        assert_eq!(
            look.led("limit", "0.03 mm/rev from the exit-feed key"),
            "  limit  0.03 mm/rev from the\n         exit-feed key\n"
        );
    }

    #[test]
    fn colour_appears_only_when_allowed() {
        let plain = Look::default();
        let colour = Look { colour: true, ..plain };
        assert_eq!(plain.paint(plain.severity(Severity::Error), "x"), "x");
        assert_eq!(colour.paint(colour.severity(Severity::Note), "x"), "\u{1b}[38;5;33mx\u{1b}[0m");
    }
}
