//! The rules: one file each with its manual, its check and its remedy. To add one: write the file, name it twice below.

mod context;
mod feed;
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

mod chip_below_edge_radius;
mod chip_load_below_floor;
mod entry_feed_high;
mod exit_feed_high;
mod exit_slow_ends_early;
mod exit_slowed_late;
mod feed_above_ceiling;
mod feed_below_slow_limit;
mod no_feed_window;
mod peck_in_laminate;
mod slow_feed_rubs;
mod surface_speed_outside_band;
mod thrust_above_critical;

entries![
    chip_below_edge_radius,
    chip_load_below_floor,
    entry_feed_high,
    exit_feed_high,
    exit_slow_ends_early,
    exit_slowed_late,
    feed_above_ceiling,
    feed_below_slow_limit,
    no_feed_window,
    peck_in_laminate,
    slow_feed_rubs,
    surface_speed_outside_band,
    thrust_above_critical,
];
