//! The panel and its edges: what the job holds of them, and every fault they can have.

use super::{load, settings, told};
use lastply::job::{CornerMode, CutDirection, HolderPart, Job, RapidStyle, Vertex, contour};
use lastply::units::{Degrees, Millimetres, MmPerTooth, Seconds};
use proptest::prelude::*;

const HEAD: &str = "[job]\npart = 'a'\nentry_z = '0 mm'\nunits = 'mm'\nlaminate = 'x'\n\
    [laminate.x]\nspec = 'S'\nlayers = [{ material = 'carbon-tape', plies = 4, ply = 0.2 }]\n\
    [laminate.y]\nlayers = [{ material = 'foam', thickness = 10 }]\n";

fn loads(body: &str) -> Job {
    load(&format!("{HEAD}{body}")).unwrap_or_else(|errors| panic!("{body}\n{}", told(&errors)))
}

fn area(contour: &[Vertex]) -> f64 {
    (contour::area(contour) * 1e6).round() / 1e6
}

#[test]
fn a_panel_loads_as_drawn() {
    let job = loads(
        "[workpiece]\nrectangle = { x = [-575, 575], y = [-410, 410], corner = 60 }\nraw_margin = 25\n\
         zones = [{ id = 'D', laminate = 'y', rectangle = { x = [-600, -500], y = [0, 100] } }]\n\
         holes = [{ x = 1, y = 2, diameter = 6 }]",
    );
    let panel = job.workpiece.unwrap();
    assert_eq!(panel.outline.len(), 8);
    assert_eq!(panel.raw_margin, Millimetres(25.0));
    assert_eq!((panel.zones[0].id.as_str(), panel.zones[0].laminate.name.as_str()), ("D", "y"));
    assert_eq!(panel.holes, [([1.0, 2.0], 6.0)]);
}

/// A half disc drawn clockwise: area pi 10^2 / 2, its arc on the edge that leaves the corner where the file's arc began.
#[test]
fn a_clockwise_outline_is_turned() {
    let job = loads(
        "[workpiece]\noutline = [{ x = -10, y = 0 }, { x = 10, y = 0, arc = 'cw', radius = 10 }, { x = 0, y = 0 }]",
    );
    let outline = job.workpiece.unwrap().outline;
    assert_eq!(area(&outline), (50.0 * core::f64::consts::PI * 1e6).round() / 1e6);
    assert_eq!(outline.iter().find(|vertex| vertex.bulge != 0.0), Some(&Vertex { at: [10.0, 0.0], bulge: 1.0 }));
}

#[test]
fn edges_load_as_drawn() {
    let job = loads(
        "[workpiece]\nrectangle = { x = [0, 200], y = [0, 100] }\n\
         [[edges]]\nid = 'OUT'\ncontour = 'outline'\ndirection = 'climb'\ntools = [3]\n\
         tabs = [{ x = 100, y = 0, width = 6 }]\ntolerance = 0.2\n\
         [[edges]]\nid = 'S1'\nslot = { at = [60, 50], length = 60, width = 22, angle = 90 }\nfinish = false\n\
         [[edges]]\nid = 'C1'\ncircle = { at = [150, 50], diameter = 20 }\nopening = true",
    );
    let [out, slot, round] = job.edges.as_slice() else { panic!("{:?}", job.edges) };
    assert_eq!(out.contour, job.workpiece.unwrap().outline);
    assert_eq!((out.opening, out.finish, out.direction), (false, true, Some(CutDirection::Climb)));
    assert_eq!((out.tools.as_slice(), out.tolerance), ([3].as_slice(), Millimetres(0.2)));
    assert_eq!(out.tabs, [([100.0, 0.0], 6.0)]);
    assert_eq!((slot.opening, slot.finish, slot.direction), (true, false, None));
    let reach = contour::points(&slot.contour, 0.01).iter().fold(0.0_f64, |most, point| most.max(point[1]));
    assert!((reach - 80.0).abs() < 0.01, "{reach}");
    assert!(round.opening);
}

#[test]
fn trimming_limits_holder_and_motion_load() {
    let job = loads(
        "[laminate.z]\nlayers = [{ material = 'foam', thickness = 10 }]\n[workpiece]\n\
         zones = [{ id = 'D', laminate = 'z', circle = { at = [0, 0], diameter = 10 } }]\n[laminate.z.trim]\n\
         tooth_floor = 0.05\ntooth_ceiling = 0.15\nramp = 5\ncrossing_margin = 1\noverhang = 0\nspec = 'T 3'\n\
         [machine]\njerk = { x = 20, y = '20000 mm/s3' }\ncorner = { blend = 0.05 }\nlook_ahead = 40\n\
         block_time = '2 ms'\nrapid_style = 'axis-by-axis'\ntool_change = 8\n\
         [tool.3]\nkind = 'router'\ndiameter = 12\nholder = [{ length = 30, diameter = 40 }, { length = 20, lower = 40, upper = 63 }]",
    );
    let trim = &job.workpiece.as_ref().unwrap().zones[0].laminate.trim;
    assert_eq!(trim.tooth_floor.as_ref().unwrap().value, MmPerTooth(0.05));
    assert_eq!(trim.tooth_ceiling.as_ref().unwrap().origin, "a.job.toml: laminate.z.trim.tooth_ceiling, T 3");
    assert_eq!(trim.ramp.as_ref().unwrap().value, Degrees(5.0));
    assert_eq!(trim.crossing_margin.as_ref().unwrap().value, Millimetres(1.0));
    assert_eq!(trim.overhang.as_ref().unwrap().value, Millimetres(0.0));
    let machine = &job.machine;
    assert_eq!(machine.jerk, [Some(20.0), Some(20.0), None]);
    assert_eq!(machine.corner, Some(CornerMode::Blend(Millimetres(0.05))));
    assert_eq!((machine.look_ahead, machine.block_time), (Some(40), Some(Seconds(0.002))));
    assert_eq!((machine.rapid_style, machine.tool_change), (Some(RapidStyle::AxisByAxis), Some(Seconds(8.0))));
    let part = |length, lower, upper| HolderPart {
        length: Millimetres(length),
        lower: Millimetres(lower),
        upper: Millimetres(upper),
    };
    assert_eq!(job.tool(3).unwrap().holder, [part(30.0, 40.0, 40.0), part(20.0, 40.0, 63.0)]);
    let stops = loads("[machine]\ncorner = 'exact-stop'\nrapid_style = 'interpolated'").machine;
    assert_eq!((stops.corner, stops.rapid_style), (Some(CornerMode::ExactStop), Some(RapidStyle::Interpolated)));
}

/// The same panel in inches, its radius and width as text.
#[test]
fn an_inch_panel_is_the_metric_one() {
    let body = |x: &str, corner: &str, width: &str| {
        format!(
            "[job]\npart = 'a'\nentry_z = '0 mm'\nunits = '{x}'\n[workpiece]\nrectangle = {{ x = ['0 mm', '254 mm'], y = ['0 in', '4 in'], \
             corner = {corner} }}\n[[edges]]\nid = 'E'\ncontour = 'outline'\ntabs = [{{ x = {width}, y = 0, width = {width} }}]"
        )
    };
    let (inch, metric) = (load(&body("in", "1", "2")).unwrap(), load(&body("mm", "25.4", "50.8")).unwrap());
    assert_eq!(inch.workpiece, metric.workpiece);
    assert_eq!(inch.edges, metric.edges);
}

/// A contour of so many corners from a rule for each.
fn drawn(count: u32, at: impl Fn(u32) -> (f64, f64)) -> String {
    let corner = |index| {
        let (x, y) = at(index);
        format!("{{ x = {x:.6}, y = {y:.6} }}")
    };
    (0..count).map(corner).collect::<Vec<_>>().join(", ")
}

/// Contours made to be slow: a star of thousands of crossings, a comb, two combs across each other, too many corners.
#[test]
fn hostile_contours_end() {
    let panel = |outline: &str, more: &str| load(&format!("{HEAD}[workpiece]\noutline = [{outline}]\n{more}"));
    let star = drawn(4001, |index| {
        let angle = f64::from(index) * 2000.0 / 4001.0 * core::f64::consts::TAU;
        (500.0 * angle.cos(), 500.0 * angle.sin())
    });
    assert!(told(&panel(&star, "").unwrap_err()).contains("crosses or touches itself"));
    let tooth = |index: u32| {
        (f64::from(index), if index == 0 || index == 1999 { 0.0 } else { 1.0 + 999.0 * f64::from(index % 2) })
    };
    let (comb, turned) = (
        drawn(2000, tooth),
        drawn(2000, |index| {
            let (x, y) = tooth(index);
            (y + 500.0, x)
        }),
    );
    assert_eq!(panel(&comb, "").unwrap().workpiece.unwrap().outline.len(), 2000);
    let zones = format!(
        "zones = [{{ id = 'A', laminate = 'y', outline = [{comb}] }}, {{ id = 'B', laminate = 'y', outline = [{turned}] }}]"
    );
    let square = drawn(4, |index| [(-1e4, -1e4), (1e4, -1e4), (1e4, 1e4), (-1e4, 1e4)][index as usize]);
    assert!(told(&panel(&square, &zones).unwrap_err()).contains("zones `A` and `B` overlap"));
    assert!(told(&panel(&drawn(5001, |index| (f64::from(index), 0.0)), "").unwrap_err()).contains("5001 corners"));
}

proptest! {
    /// Any corners end in a panel that runs counterclockwise, or in faults that lie inside the text.
    #[test]
    fn any_corners_end_in_a_panel_or_a_fault(corners in prop::collection::vec((-9i32..9, -9i32..9, 0u8..3, 1u8..20), 0..9)) {
        let corner = |(x, y, arc, radius): (i32, i32, u8, u8)| match arc {
            0 => format!("{{ x = {x}, y = {y} }}"),
            sense => format!("{{ x = {x}, y = {y}, arc = '{}cw', radius = {radius} }}", if sense == 1 { "c" } else { "" }),
        };
        let list: Vec<String> = corners.into_iter().map(corner).collect();
        let list = list.join(", ");
        let text = format!(
            "{HEAD}[workpiece]\noutline = [{list}]\nraw_margin = 3\n\
             zones = [{{ id = 'A', laminate = 'y', outline = [{list}] }}, {{ id = 'B', laminate = 'y', circle = {{ at = [0, 0], diameter = 4 }} }}]"
        );
        match load(&text) {
            Ok(job) => prop_assert!(contour::area(&job.workpiece.unwrap().outline) > 0.0),
            Err(errors) => prop_assert!(errors.iter().all(|error| error.span.end as usize <= text.len())),
        }
    }
}

fn faults(cases: &[&str]) -> String {
    let told = |case: &&str| {
        let errors = load(&format!("{HEAD}{case}")).err().unwrap_or_else(|| panic!("loads:\n{case}"));
        told(&errors)
    };
    cases.iter().map(told).collect::<Vec<_>>().join("\n")
}

#[test]
fn faults_of_panels() {
    let panel = "[workpiece]\nrectangle = { x = [0, 200], y = [0, 100] }\n";
    let zone = |zones: &str| format!("{panel}zones = [{zones}]");
    settings().bind(|| {
        insta::assert_snapshot!(faults(&[
            "[workpiece]\noutline = [{ x = 0, y = 0 }, { x = 10, y = 0 }]",
            "[workpiece]\noutline = [{ x = 0, y = 0 }, { x = 10, y = 10 }, { x = 10, y = 0 }, { x = 0, y = 10 }]",
            "[workpiece]\noutline = [{ x = 0, y = 0 }, { x = 10, y = 0 }, { x = 10, y = 10 }, { x = 0, y = 0 }]",
            "[workpiece]\noutline = [{ x = 0, y = 0 }, { x = 10, y = 0, arc = 'ccw', radius = 4.9 }, { x = 5, y = 20, radius = 3 }]",
            "[workpiece]\noutline = [{ x = 0, y = 0 }, { x = nan, y = 0 }, { x = inf, y = 10 }, { x = 0, y = 'far' }]",
            "[workpiece]\noutline = [{ x = 0, y = 0 }, { x = 10, y = 0 }, { x = 4, y = 0 }]",
            "[workpiece]\nrectangle = { x = [0, 20], y = [0, 100], corner = 11 }\nraw_margin = -1",
            "[workpiece]\nrectangle = { x = [0, 20], y = [0, 100] }\ncircle = { at = [0, 0], diameter = 4 }",
            "[workpiece]\nholes = [{ x = 1, y = 1, diameter = 0 }]",
            "[workpiece]\nzones = [{ id = 'A', laminate = 'y' }]",
            &zone("{ id = 'A', laminate = 'yy', rectangle = { x = [0, 20], y = [0, 20] } }"),
            &zone("{ id = 'A', laminate = 'y', rectangle = { x = [180, 220], y = [0, 20] } }"),
            &zone(
                "{ id = 'A', laminate = 'y', rectangle = { x = [0, 20], y = [0, 20] } }, \
                 { id = 'A', laminate = 'y', circle = { at = [20, 20], diameter = 10 } }"
            ),
        ]))
    });
}

#[test]
fn faults_of_edges() {
    let panel = "[workpiece]\nrectangle = { x = [0, 200], y = [0, 100] }\nraw_margin = 5\n";
    let edge = |keys: &str| format!("{panel}[[edges]]\nid = 'E'\n{keys}");
    settings().bind(|| {
        insta::assert_snapshot!(faults(&[
            "[[edges]]\nid = 'E'\ncontour = 'outline'",
            &edge("contour = 'outlin'"),
            &edge("direction = 'up'"),
            &edge("contour = 'outline'\nopening = true"),
            &edge("contour = 'outline'\ncircle = { at = [20, 20], diameter = 10 }"),
            &edge("slot = { at = [20, 20], length = 10, width = 10 }"),
            &edge("circle = { at = [200, 20], diameter = 40 }\nopening = true"),
            &edge("contour = 'outline'\ntabs = [{ x = 100, y = 6, width = 6 }, { x = 100, y = 0, width = 0 }]"),
            &edge("contour = 'outline'\n[[edges]]\nid = 'E'\ncontour = 'outline'"),
        ]))
    });
}

#[test]
fn faults_of_trimming_holder_and_motion() {
    settings().bind(|| {
        insta::assert_snapshot!(faults(&[
            "[laminate.x.trim]\ntooth_floor = 0.1\ntooth_ceiling = 0.05\nramp = 120\noverhang = -1",
            "[machine]\nacceleration = { x = 0, y = 1 }\njerk = { z = -1 }\nlook_ahead = 0\nblock_time = -1",
            "[machine]\ncorner = 'round'",
            "[machine]\ncorner = { blend = 0 }\nrapid_style = 'dogleg'",
            "[tool.3]\nkind = 'router'\ndiameter = 12\nholder = [{ length = 3, diameter = 4, upper = 5 }, { length = 0, diameter = 5 }]",
        ]))
    });
}

/// Zones that share an edge, round or straight, do not overlap.
#[test]
fn zones_may_lie_edge_to_edge() {
    loads(
        "[workpiece]\nrectangle = { x = [0, 200], y = [0, 100] }\nzones = [\n\
         { id = 'A', laminate = 'y', outline = [{ x = 0, y = 0 }, { x = 50, y = 0 }, { x = 50, y = 100, arc = 'ccw', radius = 60 }, { x = 0, y = 100 }] },\n\
         { id = 'B', laminate = 'x', outline = [{ x = 50, y = 0, arc = 'cw', radius = 60 }, { x = 200, y = 0 }, { x = 200, y = 100 }, { x = 50, y = 100 }] },\n\
         ]",
    );
}
