//! Arcs, helices and readings of cuts: worked by hand, the wall-feed form confirmed by a public page on circular feeds.

use super::agrees;
use crate::rules::job;
use lastply::job::{Job, Limit};
use lastply::motion::{BlockRef, Cause, SpindleSense, UNSTATED};
use lastply::operation::{Cut, CutEntry, CutStyle, Path, Stretch};
use lastply::process::wall::{Helix, arc_wall_factor};
use lastply::process::{CutReading, OverrideBand};
use lastply::units::{Millimetres, MmPerMin, MmPerTooth, RevPerMin};

#[test]
fn feed_at_the_wall_of_an_arc() {
    // tool, wall radius, inside, wall feed; centre feed
    let table = [
        (10.0, 20.0, true, 600.0, 450.0),
        (10.0, 20.0, false, 600.0, 750.0),
        (8.0, 6.0, true, 480.0, 160.0),
        (16.0, 13.0, true, 600.0, 600.0 / 2.6),   // 26 / (26 - 16) = 2.6
        (12.0, 11.0, true, 2400.0, 2400.0 / 2.2), // a 5 mm path in an 11 mm slot end
    ];
    for (tool, wall, inside, at_wall, centre) in table {
        let radius = if inside { wall - tool / 2.0 } else { wall + tool / 2.0 };
        let factor = arc_wall_factor(Millimetres(radius), Millimetres(tool), inside).unwrap();
        agrees(centre * factor, at_wall, 9);
    }
}

#[test]
fn a_hole_of_12_milled_by_a_tool_of_8() {
    let helix = Helix { diameter: Millimetres(12.0 - 8.0), pitch: Millimetres(0.5) };
    agrees(helix.turn().0, 12.5763, 4);
    agrees(helix.ramp().0, 2.2785, 4);
    agrees(Helix { pitch: Millimetres(1.0), ..helix }.ramp().0, 4.5499, 4);
    agrees(helix.axial_feed(MmPerMin(160.0)).0, 6.361, 3);
    agrees((helix.axial_feed(MmPerMin(160.0)) / RevPerMin(8000.0)).0, 0.000_795, 6);
    assert_eq!(helix.core(Millimetres(8.0)), None);
    let wide = Helix { diameter: Millimetres(20.0 - 8.0), pitch: Millimetres(0.5) };
    assert_eq!(wide.core(Millimetres(8.0)), Some(Millimetres(4.0)));
}

#[test]
fn an_orbit_through_thick_glass() {
    // 26 mm hole, 16 mm tool, pitch 3, 41.3 mm in all: 13.8 turns, 434 mm of path.
    let helix = Helix { diameter: Millimetres(26.0 - 16.0), pitch: Millimetres(3.0) };
    agrees(helix.path(Millimetres(41.3)).0, 434.0, 0);
    agrees(41.3 / helix.pitch.0, 13.8, 1);
    agrees(helix.ramp().0, 5.455, 3);
}

/// A stretch of the sandwich's 12 mm compression router, two edges, S12000, tip 2 mm below the nominal exit.
fn stretch(path: Path, feed: f64) -> Stretch {
    Stretch {
        first: BlockRef::default(),
        last: BlockRef::default(),
        moves: 1,
        path,
        length: 100.0,
        z: (-27.58, -27.58),
        descent: 0.0,
        feed: Some(feed),
        speed: Some(12000.0),
        sense: SpindleSense::Clockwise,
        engagement: Some((180.0, 180.0)),
        top: 0.0,
        reached: None,
        zone: None,
        feed_at: UNSTATED,
        exact: None,
        at: [0.0, 0.0],
    }
}

fn read(stretches: Vec<Stretch>, job: &Job) -> Vec<CutReading> {
    let cut = Cut {
        tool: 3,
        first: BlockRef::default(),
        last: BlockRef::default(),
        entry: CutEntry::Arc,
        lowest: -27.58,
        length: 100.0,
        style: Some(CutStyle::Slot),
        side: None,
        direction: None,
        edge: None,
        stretches,
    };
    CutReading::of(&cut, job)
}

fn sandwich() -> Job {
    let mut job = job("sandwich");
    let trim = &mut job.laminate.as_mut().unwrap().trim;
    trim.tooth_floor = Some(Limit::new(MmPerTooth(0.050), "worked by hand"));
    trim.tooth_ceiling = Some(Limit::new(MmPerTooth(0.150), "worked by hand"));
    job
}

#[test]
fn a_trim_pass_is_read() {
    let job = sandwich();
    let end = Path::Arc { radius: 5.0, inside: true };
    let corner = Path::Arc { radius: 66.0, inside: false };
    let readings = read(vec![stretch(Path::Line, 2400.0), stretch(end, 2400.0), stretch(corner, 2400.0)], &job);
    let tooth: Vec<f64> = readings.iter().map(|reading| reading.per_tooth.unwrap().0).collect();
    for (value, printed) in tooth.iter().zip([0.100, 0.220, 0.0909]) {
        agrees(*value, printed, 4);
    }
    agrees(readings[0].surface_speed.unwrap().0, 452.4, 1);
    agrees(readings[0].axial.0, 25.58, 9);
    agrees(readings[0].flutes.0, 27.58, 9);
    agrees(readings[0].overhang.unwrap().0, 27.58 - 26.3474, 4);
    agrees(readings[0].crossing.unwrap().0, 6.0, 9);
    assert_eq!(readings[0].layers, 0..4);
    // Thickest chip of a full slot is the feed for each edge, its mean 2/pi of that.
    agrees(readings[0].chip_max.unwrap().0, 100.0, 6);
    agrees(readings[0].chip_mean.unwrap().0, 200.0 / std::f64::consts::PI, 6);
    // Slot ends keep the ceiling at 68 %, outer corners the floor from 55 % on.
    assert_eq!(OverrideBand::of_cut(&readings).text(), "feed override 55 % to 68 %, not as programmed");
}

#[test]
fn a_tenth_of_the_diameter_thins_the_chip() {
    let light = Stretch { engagement: Some((36.87, 36.87)), ..stretch(Path::Line, 2400.0) };
    let readings = read(vec![light], &sandwich());
    agrees(readings[0].chip_max.unwrap().0, 60.0, 3);
    agrees(readings[0].thinning.unwrap(), 0.6, 4);
}

#[test]
fn short_segments_reach_less_than_commanded() {
    // Stop to stop at 1 m/s2: sqrt(a L) is 949 mm/min over 0.25 mm and 1342 over 0.5 mm.
    for (peak, tooth) in [(948.68, 0.0395), (1341.64, 0.0559)] {
        let short = Stretch { reached: Some((peak, peak, Cause::ExactStop)), ..stretch(Path::Line, 2400.0) };
        agrees(read(vec![short], &sandwich())[0].reached_per_tooth.unwrap().0, tooth, 4);
    }
}

#[test]
fn foam_alone_has_no_limits() {
    // Both skins were taken before: from 3 to 20 mm deep there is foam only.
    let foam = Stretch { top: -3.0, z: (-20.0, -20.0), ..stretch(Path::Line, 100.0) };
    let readings = read(vec![foam, stretch(Path::Line, 100.0)], &sandwich());
    assert!(readings[0].core_only && readings[0].floor.is_none() && readings[0].ceiling.is_none());
    assert!(!readings[1].core_only && readings[1].floor.is_some());
}
