//! The rules as a list, and the manual of one as a page.

use super::look::Look;
use crate::rules::Entry;

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

/// The manual of one rule as its file has it, under its name and severity.
#[must_use]
pub fn rule_page(entry: &Entry, look: &Look) -> String {
    let rule = entry.rule;
    let severity = look.paint(look.severity(rule.severity), rule.severity.word());
    format!("# {} ({severity})\n\n{}\n", rule.name, entry.manual().text.trim_end())
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
            assert!(page.starts_with(&format!("# {} (", entry.rule.name)) && page.contains("## Fires on"), "{page}");
        }
        assert!(list.lines().all(|line| line.len() <= 80));
    }
}
