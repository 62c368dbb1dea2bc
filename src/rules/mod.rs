//! The rules: one file each with its manual, its check and its remedy. To add one: write the file, name it twice below.

mod context;
mod ledger;
mod manual;
mod rule;

pub use context::{Aim, Context, Report};
pub use ledger::{Draft, Ledger, Subject};
pub use manual::{Example, Manual};
pub use rule::{Check, HoleView, Rule, StepView};

/// One entry of the list: the rule and the text of its own file, whose head is the manual.
#[derive(Clone, Copy)]
pub struct Entry {
    /// The rule.
    pub rule: &'static Rule,
    /// Its file.
    pub text: &'static str,
}

/// Lists rules by file name.
macro_rules! entries {
    ($($file:ident),* $(,)?) => {
        /// Every rule, in the order reports list them.
        pub static ALL: &[Entry] =
            &[$(Entry { rule: &$file::RULE, text: include_str!(concat!(stringify!($file), ".rs")) }),*];
    };
}

mod peck_in_laminate;

entries![peck_in_laminate];
