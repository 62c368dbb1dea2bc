//! The manual of a rule: the `//!` head of its file, with examples that run as tests.

use super::Entry;

/// A manual, read from a rule file's head.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Manual {
    /// Markdown without the `//!` marks.
    pub text: String,
}

/// One example program of a manual.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Example {
    /// Whether it stands under "Fires on"; else under "Quiet on".
    pub fires: bool,
    /// Name of the job it runs with, `tests/jobs/<name>.toml`; `None` runs without a job.
    pub job: Option<String>,
    /// What was measured of the part, such as `thickness=6.1mm`.
    pub measured: Option<String>,
    /// The program. In a firing example a line with the comment `(!)` is one the finding must point at.
    pub program: String,
}

impl Entry {
    /// The rule's manual.
    #[must_use]
    pub fn manual(&self) -> Manual {
        let lines = self.text.lines().map_while(|line| line.strip_prefix("//!"));
        let text = lines.map(|line| line.strip_prefix(' ').unwrap_or(line)).collect::<Vec<_>>().join("\n");
        Manual { text }
    }
}

impl Manual {
    /// The examples under "Fires on" and "Quiet on", in order.
    #[must_use]
    pub fn examples(&self) -> Vec<Example> {
        let mut examples = Vec::new();
        let mut fires = None;
        let mut open: Option<Example> = None;
        for line in self.text.lines() {
            if let Some(example) = &mut open {
                if line.starts_with("```") {
                    examples.extend(open.take());
                } else {
                    example.program.push_str(line);
                    example.program.push('\n');
                }
            } else if let Some(heading) = line.strip_prefix("## ") {
                fires = match heading.trim() {
                    "Fires on" => Some(true),
                    "Quiet on" => Some(false),
                    _ => None,
                };
            } else if let (Some(fires), Some(fence)) = (fires, line.strip_prefix("```nc")) {
                let mut words = fence.split(',').skip(1).map(|word| word.trim().to_owned());
                // A fence takes no equal sign.
                let (job, measured) = (words.next(), words.next().map(|word| word.replacen('-', "=", 1)));
                open = Some(Example { fires, job, measured, program: String::new() });
            }
        }
        examples
    }
}
