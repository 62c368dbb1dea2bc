//! One digest for all rules, so that two runs can tell whether they judged by the same.

use crate::rules::ALL;
use crate::source::sha256;

/// SHA-256 over every rule's name, severity and manual, in the order of the list, each ended by a zero byte.
#[must_use]
pub fn rule_set() -> String {
    let mut bytes = Vec::new();
    for entry in ALL {
        for part in [entry.rule.name, entry.rule.severity.word(), &entry.manual().text] {
            bytes.extend_from_slice(part.as_bytes());
            bytes.push(0);
        }
    }
    sha256(&bytes)
}
