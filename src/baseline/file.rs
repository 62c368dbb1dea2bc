//! The baseline as a file: TOML in a fixed order, so that a review sees what came and went.

use super::{Baseline, Entry};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Counts up when an entry changes its meaning; a file of another version is refused, not guessed at.
const VERSION: u32 = 1;

/// What opens the file.
const HEAD: &str = "# Findings that were there before. `lastply check FOLDER --baseline THIS` fails on others only;\n\
    # `--accept-new` adds those, `--drop-stale` takes out entries that nothing answers to.\n\n";

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Document {
    version: u32,
    #[serde(default)]
    known: Vec<Known>,
}

/// An entry with how often it is there. Not flattened: unknown fields have to be refused.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Known {
    count: u64,
    finding: Entry,
}

impl Baseline {
    /// Reads a file; anything it does not understand is an error in words, for an entry that was lost would be a finding
    /// that comes back, and one that was misread might hide another.
    ///
    /// # Errors
    /// Says what is wrong with the text.
    pub fn read(text: &str) -> Result<Self, String> {
        let document: Document = toml::from_str(text).map_err(|error| error.to_string().trim_end().to_owned())?;
        if document.version != VERSION {
            return Err(format!("it has version {}, and this lastply reads version {VERSION}", document.version));
        }
        let mut entries = BTreeMap::new();
        for Known { count, finding } in document.known {
            if count == 0 {
                return Err(format!("it counts no `{finding}`"));
            }
            if let Some(twice) = entries.insert(finding.clone(), count) {
                return Err(format!("it has two entries of `{finding}`, the first for {twice}"));
            }
        }
        Ok(Self { entries })
    }

    /// The file.
    ///
    /// # Errors
    /// Says why the text could not be made.
    pub fn text(&self) -> Result<String, String> {
        let known = self.entries.iter().map(|(finding, count)| Known { count: *count, finding: finding.clone() });
        let document = Document { version: VERSION, known: known.collect() };
        toml::to_string(&document).map(|body| format!("{HEAD}{body}")).map_err(|error| error.to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(rule: &str) -> Entry {
        Entry {
            program: "a/b.nc".to_owned(),
            rule: rule.to_owned(),
            tool: Some(11),
            feature: "H19".to_owned(),
            place: Some("X1.5 Y-2".to_owned()),
            value: "6.00000e-2 mm/rev".to_owned(),
        }
    }

    #[test]
    fn what_is_written_is_read_again() {
        let mut baseline = Baseline::default();
        baseline
            .accept(&[(entry("exit-feed-high"), 2), (Entry { tool: None, place: None, ..entry("not-through") }, 1)]);
        assert_eq!(Baseline::read(&baseline.text().unwrap()), Ok(baseline));
        assert_eq!(Baseline::read(&Baseline::default().text().unwrap()), Ok(Baseline::default()));
    }

    #[test]
    fn what_is_not_understood_is_refused() {
        let mut baseline = Baseline::default();
        baseline.accept(&[(entry("exit-feed-high"), 2)]);
        let text = baseline.text().unwrap();
        let body = text.split_once("[[known]]").unwrap().1;
        for (wrong, why) in [
            (text.replace("version = 1", "version = 2"), "version 2"),
            (text.replace("count = 2", "count = 0"), "counts no"),
            (text.replace("rule =", "rules ="), "rules"),
            (format!("{text}\n[[known]]{body}"), "two entries"),
            ("version = 1\n[[known".to_owned(), "TOML"),
            (String::new(), "version"),
        ] {
            let told = Baseline::read(&wrong).unwrap_err();
            assert!(told.contains(why), "{why}: {told}");
        }
    }
}
