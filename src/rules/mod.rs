//! The rules: one file each with its manual, its check and its remedy. To add one: write the file, name it twice below.

mod context;
mod ledger;
mod manual;
mod rule;
mod support;

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

mod chip_load_below_floor;
mod chip_below_edge_radius;
mod feed_above_ceiling;
mod no_feed_window;
mod surface_speed_outside_band;
mod feed_below_slow_limit;
mod exit_feed_high;
mod exit_slowed_late;
mod exit_slow_ends_early;
mod slow_feed_rubs;
mod entry_feed_high;
mod thrust_above_critical;
mod peck_in_laminate;

entries![
    chip_load_below_floor,
    chip_below_edge_radius,
    feed_above_ceiling,
    no_feed_window,
    surface_speed_outside_band,
    feed_below_slow_limit,
    exit_feed_high,
    exit_slowed_late,
    exit_slow_ends_early,
    slow_feed_rubs,
    entry_feed_high,
    thrust_above_critical,
    peck_in_laminate,
];
