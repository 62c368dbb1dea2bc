//! The rules as a list, and the manual of one as a page.

use super::look::Look;
use crate::rules::Entry;
use std::iter;

/// Every rule with its severity and summary, one a line.
#[must_use]
pub fn rule_list(entries: &[Entry], look: &Look) -> String {
    let width = entries.iter().map(|entry| entry.rule.name.len()).max().unwrap_or(0);
    let lines = entries.iter().map(|entry| {
        let rule = entry.rule;
        let first = format!("{:width$}  {:7}  ", rule.name, rule.severity.word());
        look.wrapped(&first, &" ".repeat(width + 11), rule.summary)
    });
    lines.collect()
}

/// The manual of one rule under its name and severity: headings bare, programs set in by two columns.
#[must_use]
pub fn rule_page(entry: &Entry, look: &Look) -> String {
    let rule = entry.rule;
    let severity = look.paint(look.severity(rule.severity), rule.severity.word());
    format!("{} ({severity})\n\n{}", rule.name, flowed(entry.manual().text.trim_end(), look))
}

/// A manual with its paragraphs wrapped to the width; programs, lists and tables keep their lines.
fn flowed(manual: &str, look: &Look) -> String {
    let mut text = String::new();
    let mut paragraph: Vec<&str> = Vec::new();
    let mut fenced = false;
    for line in manual.lines().chain(iter::once("")) {
        let fence = line.starts_with("```");
        let prose = !fenced && !fence && line.starts_with(|c: char| c.is_alphanumeric() || "`\"(".contains(c));
        if prose {
            paragraph.push(line.trim_end());
            continue;
        }
        if !paragraph.is_empty() {
            text.push_str(&look.wrapped("", "", &paragraph.join(" ")));
            paragraph.clear();
        }
        if fence {
            fenced = !fenced;
            continue;
        }
        let indent = if fenced { "  " } else { "" };
        text.push_str(&format!("{indent}{}\n", line.trim_start_matches("## ")));
    }
    text.truncate(text.trim_end().len());
    text.push('\n');
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::ALL;

    #[test]
    fn every_rule_is_listed_and_has_a_page() {
        let list = rule_list(ALL, &Look::default());
        for entry in ALL {
            assert!(list.contains(entry.rule.name) && list.contains(entry.rule.severity.word()));
            let page = rule_page(entry, &Look::default());
            assert!(page.starts_with(&format!("{} (", entry.rule.name)) && page.contains("\nFires on\n"), "{page}");
            assert!(!page.contains("```") && !page.lines().any(|line| line.starts_with('#')), "{page}");
            assert!(page.lines().all(|line| line.len() <= 80), "{page}");
        }
        assert!(list.lines().all(|line| line.len() <= 80));
    }
}
