//! The rules: one file each with its manual, its check and its remedy. To add one: write the file, name it twice below,
//! as a module and as an entry; a macro that did both would hide the files from the formatter.

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

/// Lists rules by file name.
macro_rules! entries {
    ($($file:ident),* $(,)?) => {
        /// Every rule, in the order reports list them.
        pub static ALL: &[Entry] =
            &[$(Entry { rule: &$file::RULE, text: include_str!(concat!(stringify!($file), ".rs")) }),*];
    };
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

entries![
    arc_impossible,
    axial_depth_beyond_flutes,
    blind_depth_wrong,
    chip_below_edge_radius,
    chip_below_floor_after_thinning,
    chip_load_below_floor,
    clearance_short,
    compensation_impossible,
    compression_in_slot,
    coolant_against_rule,
    core_pilot,
    countersink_size,
    coupon_cut,
    crossing_outside_laminate,
    cycle_left_active,
    direction_changed,
    dwell_in_contact,
    dwell_in_hole,
    entered_straight,
    entry_feed_high,
    exact_stop_left_on,
    exit_feed_high,
    exit_slow_ends_early,
    exit_slowed_late,
    extraction_off,
    feed_above_ceiling,
    feed_below_slow_limit,
    feed_carried_over,
    feed_implausible,
    feed_missing,
    feed_mode_changed,
    flute_too_short,
    helical_hand_fed,
    hole_diameter_wrong,
    hole_extra,
    hole_missing,
    hole_order,
    hole_repeated,
    hole_tool_wrong,
    hop_over_clamp,
    length_offset_cancelled,
    length_offset_mismatch,
    length_offset_missing,
    machine_feed_exceeded,
    machine_speed_exceeded,
    no_feed_window,
    not_followed,
    not_through,
    offcut_not_held,
    orbit_leaves_core,
    overhang_short,
    override_locked,
    overtravel,
    peck_in_laminate,
    peck_missing,
    peck_retract_wrong,
    peck_stops_at_exit,
    peck_stops_at_interface,
    peck_too_deep,
    plunge_into_material,
    power_up_relied_on,
    program_frame,
    radius_offset_mismatch,
    ramp_too_steep,
    rapid_in_material,
    reached_feed_below_floor,
    reamer_rapid_out,
    repeat_in_place,
    retract_below_clamp,
    retract_below_face,
    rougher_left_finish,
    skin_left_uncut,
    slow_feed_rubs,
    speed_carried_over,
    speed_changed_in_hole,
    speed_missing,
    spindle_not_up_to_speed,
    spindle_off,
    spindle_sense,
    spindle_stops_in_hole,
    stepped_compression,
    subprogram_missing,
    subprogram_never_called,
    subprogram_recursive,
    surface_speed_outside_band,
    tab_cut_early,
    text_unreadable,
    thrust_above_critical,
    tool_life_exceeded,
    tool_unfit,
    tool_unknown,
    tool_wider_than_slot,
    travel_exceeded,
    units_doubtful,
    value_out_of_range,
    waiver_exceeded,
    waiver_expired,
    waiver_unused,
    wall_feed_high,
    wall_feed_low,
    word_conflict,
    word_incomplete,
    word_not_understood,
    work_offset_changed,
    work_offset_unstated,
    wrong_datum,
];
