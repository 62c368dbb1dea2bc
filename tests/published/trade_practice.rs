//! Facts of the trade, common practice, no source: feed under the edge radius crushes fibre instead of cutting it, HSS
//! is through after a hole or two in carbon, straight flutes belong where the feed is by hand.

use crate::rules::job;
use lastply::check::{Options, check};
use lastply::source::{NoLibrary, Source};

/// Rules that speak of a hole drilled with tool `tool` at speed `speed` and feed `feed` in a job of `tests/jobs`.
fn said(job_name: &str, tool: u32, speed: u32, feed: f64) -> Vec<&'static str> {
    let job = job(job_name);
    let text = format!(
        "G21 G90 G94 G17 G40 G49 G80 G98\nG54\nT{tool} M6\nS{speed} M3 M7\nG0 G43 H{tool} X20 Y20 Z5\nG4 P3\n\
         G81 Z-8.5 R2 F{feed}\nG80\nM30\n"
    );
    let options = Options::of_job(Some(&job)).unwrap();
    let report = check(Source::new("trade.nc", text.into_bytes()), Some(&job), &NoLibrary, &options);
    report.findings.into_iter().map(|finding| finding.rule).collect()
}

/// Common practice, no source. The edge is 10 um round, a carbon fibre about 6 um thick: at a chip of 4 um the lip is
/// pressed over the fibre, at 20 um it cuts.
#[test]
fn a_feed_under_the_edge_radius_crushes_the_fibre() {
    let (crushing, cutting) = (0.01 * 6366.0, 0.05 * 6366.0);
    assert!(said("worked_plate", 6, 6366, crushing).contains(&"chip-below-edge-radius"));
    assert!(!said("worked_plate", 6, 6366, cutting).contains(&"chip-below-edge-radius"));
}

/// Common practice, no source.
#[test]
fn high_speed_steel_does_not_live_in_carbon() {
    assert!(said("steel_hss", 6, 2000, 100.0).contains(&"tool-unfit"));
    assert!(!said("plate", 6, 2000, 100.0).contains(&"tool-unfit"));
}

/// Common practice, no source.
#[test]
fn hand_fed_exits_want_straight_flutes() {
    assert!(said("hand_fed", 6, 2000, 100.0).contains(&"helical-hand-fed"));
    assert!(!said("hand_fed", 7, 2000, 100.0).contains(&"helical-hand-fed"));
    assert!(!said("plate", 6, 2000, 100.0).contains(&"helical-hand-fed"));
}
