//! The rules: one file each with its manual, its check and its remedy. To add one: write the file and name it below as a
//! module; the build lists those with a `RULE` from the names here, which the formatter sees too.

mod context;
mod exit_feed;
mod feed;
mod ledger;
mod manual;
mod missing;
mod names;
mod nearness;
mod resolve;
mod rule;
mod run;
mod spin;
mod support;
mod trim;
mod waive;

pub use context::{Aim, Context, Report};
pub use ledger::{Cause, Draft, Ledger, Subject};
pub use manual::{Example, Manual};
pub use names::{load_job, names, suggestion};
pub use resolve::{Ground, findings};
pub use rule::{Check, CutView, HoleView, Meets, Rule, StepView};
pub use run::Inspector;
pub use waive::{WaiverState, WaiverUse, apply as apply_waivers, verdicts as waiver_verdicts};

/// One entry of the list: the rule and the text of its own file, whose head is the manual.
#[derive(Clone, Copy)]
pub struct Entry {
    /// The rule.
    pub rule: &'static Rule,
    /// Its file.
    pub text: &'static str,
}

/// The rule of that name.
#[must_use]
pub fn rule_named(name: &str) -> Option<&'static Rule> {
    ALL.iter().map(|entry| entry.rule).find(|rule| rule.name == name)
}

mod arc_impossible;
mod axial_depth_beyond_flutes;
mod blind_depth_wrong;
mod chip_below_edge_radius;
mod chip_below_floor_after_thinning;
mod chip_load_below_floor;
mod clearance_short;
mod compensation_impossible;
mod compression_in_slot;
mod coolant_against_rule;
mod core_pilot;
mod countersink_size;
mod coupon_cut;
mod crossing_outside_laminate;
mod cycle_left_active;
mod direction_changed;
mod dwell_in_contact;
mod dwell_in_hole;
mod entered_straight;
mod entry_feed_high;
mod exact_stop_left_on;
mod exit_feed_high;
mod exit_slow_ends_early;
mod exit_slowed_late;
mod extraction_off;
mod feed_above_ceiling;
mod feed_below_slow_limit;
mod feed_carried_over;
mod feed_implausible;
mod feed_missing;
mod feed_mode_changed;
mod flute_too_short;
mod helical_hand_fed;
mod hole_diameter_wrong;
mod hole_extra;
mod hole_missing;
mod hole_order;
mod hole_repeated;
mod hole_tool_wrong;
mod hop_over_clamp;
mod length_offset_cancelled;
mod length_offset_mismatch;
mod length_offset_missing;
mod machine_feed_exceeded;
mod machine_speed_exceeded;
mod no_feed_window;
mod not_followed;
mod not_through;
mod offcut_not_held;
mod orbit_leaves_core;
mod overhang_short;
mod override_locked;
mod overtravel;
mod part_outside_tolerance;
mod peck_in_laminate;
mod peck_missing;
mod peck_retract_wrong;
mod peck_stops_at_exit;
mod peck_stops_at_interface;
mod peck_too_deep;
mod plunge_into_material;
mod power_up_relied_on;
mod program_frame;
mod radius_offset_mismatch;
mod ramp_too_steep;
mod rapid_in_material;
mod reached_feed_below_floor;
mod reamer_rapid_out;
mod repeat_in_place;
mod retract_below_clamp;
mod retract_below_face;
mod rougher_left_finish;
mod skin_left_uncut;
mod slow_feed_rubs;
mod speed_carried_over;
mod speed_changed_in_hole;
mod speed_missing;
mod spindle_not_up_to_speed;
mod spindle_off;
mod spindle_sense;
mod spindle_stops_in_hole;
mod stepped_compression;
mod subprogram_missing;
mod subprogram_never_called;
mod subprogram_recursive;
mod surface_speed_outside_band;
mod tab_cut_early;
mod text_unreadable;
mod thrust_above_critical;
mod tool_life_exceeded;
mod tool_unfit;
mod tool_unknown;
mod tool_wider_than_slot;
mod travel_exceeded;
mod units_doubtful;
mod value_out_of_range;
mod waiver_exceeded;
mod waiver_expired;
mod waiver_unused;
mod wall_feed_high;
mod wall_feed_low;
mod word_conflict;
mod word_incomplete;
mod word_not_understood;
mod work_offset_changed;
mod work_offset_unstated;
mod wrong_datum;

// `ALL`, every rule in the order reports list them: the modules named in this file that have a `RULE`.
include!(concat!(env!("OUT_DIR"), "/rules.rs"));
