//! Stance of a compression router, by plain geometry: overhang, crossing and the up-cut lengths and tips that suit.

use super::agrees;
use crate::rules::job;
use lastply::job::{Tool, ToolKind};
use lastply::operation::point_length;
use lastply::process::compression::{crossing, exit_faces, overhang, tip_range, up_cut_range};
use lastply::units::Millimetres;

fn router(up_cut: f64) -> Tool {
    let mut tool = job("sandwich").tools.remove(&3).unwrap();
    tool.kind = ToolKind::CompressionRouter { up_cut: Millimetres(up_cut), end_cutting: false };
    tool
}

#[test]
fn a_crossing_between_the_faces() {
    // thickness, tip, up-cut; overhang, crossing over the bottom, crossing under the top
    let table = [
        (6.0, -7.5, 5.0, 1.5, 3.5, 2.5),
        (6.0, -11.5, 5.0, 5.5, -0.5, 6.5), // below the bottom: all down-cut
        (6.0, -6.2, 5.0, 0.2, 4.8, 1.2),   // crossing in order, overhang too short
        (2.0, -3.5, 5.0, 1.5, 3.5, -1.5),  // above the top: all up-cut
    ];
    for (thickness, tip, up_cut, out, over, under) in table {
        let (tool, bottom, tip) = (router(up_cut), Millimetres(-thickness), Millimetres(tip));
        agrees(overhang(point_length(&tool).unwrap(), tip, bottom).0, out, 9);
        let height = crossing(&tool, tip).unwrap();
        agrees((height - bottom).0, over, 9);
        agrees((-height).0, under, 9);
        let (least, most) = up_cut_range(Millimetres(thickness), Millimetres(out), Millimetres(0.0));
        assert_eq!((least.0..=most.0).contains(&up_cut), over >= 0.0 && under >= 0.0);
        let (low, high) = tip_range(bottom, Millimetres(0.0), Millimetres(up_cut), Millimetres(0.0));
        assert_eq!((low.0..=high.0).contains(&tip.0), over >= 0.0 && under >= 0.0);
    }
}

#[test]
fn margins_close_the_range() {
    // 1 mm from either face of a 6 mm plate with 1.5 mm below it: 2.5 to 6.5 mm of up-cut; none in a plate of 1.5 mm.
    let range = |thickness| up_cut_range(Millimetres(thickness), Millimetres(1.5), Millimetres(1.0));
    let (least, most) = range(6.0);
    agrees(least.0, 2.5, 9);
    agrees(most.0, 6.5, 9);
    let (least, most) = range(1.5);
    assert!(least > most);
}

#[test]
fn only_a_compression_router_has_a_crossing() {
    let job = job("plate");
    assert_eq!(crossing(&job.tools[&12], Millimetres(-7.0)), None);
}

#[test]
fn exit_faces_follow_the_tolerance() {
    // 25.58 mm of sandwich, 3 % either way on every layer.
    let job = job("sandwich");
    let [thin, nominal, thick] = exit_faces(job.laminate.as_ref().unwrap(), Millimetres(0.0));
    agrees(thin.0, -24.8126, 4);
    agrees(nominal.0, -25.58, 9);
    agrees(thick.0, -26.3474, 4);
}
