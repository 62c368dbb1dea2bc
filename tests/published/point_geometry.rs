//! Point lengths and breakthrough depths against hand-worked tables: plain geometry, L = D / (2 tan(point / 2)).
//! Tolerance: half a unit of the last printed digit, and a hair for figures that lie on the boundary.

use super::agrees;
use lastply::job::{Cone, Laminate, Layer, Tolerance, Tool, ToolKind};
use lastply::operation::{Breakthrough, point_length};
use lastply::units::{Degrees, MM_PER_INCH, Millimetres};

fn tool(diameter: f64, kind: ToolKind) -> Tool {
    Tool {
        number: 1,
        label: String::new(),
        kind,
        diameter: Millimetres(diameter),
        edges: None,
        helix: None,
        flute_length: None,
        stick_out: None,
        substrate: None,
        coating: None,
        edge_radius: None,
        wear_factor: None,
        life: Vec::new(),
        life_law: None,
        used: 0.0,
        length_offset: None,
        radius_offset: None,
        length: None,
        max_speed: None,
        holder: Vec::new(),
        thrust: None,
    }
}

fn drill(diameter: f64, point: f64) -> Tool {
    tool(diameter, ToolKind::TwistDrill { point: Some(Degrees(point)) })
}

fn cone(to: f64, angle: f64) -> Cone {
    Cone { to: Millimetres(to), angle: Degrees(angle) }
}

fn length(tool: &Tool) -> f64 {
    point_length(tool).expect("the tool has all its angles").0
}

fn layer(plies: u32, ply: f64, tolerance: Option<f64>) -> Layer {
    let tolerance = tolerance.map(|by| Tolerance::Absolute(Millimetres(by)));
    Layer { plies, ply: Millimetres(ply), tolerance, ..Layer::default() }
}

fn stack(share: f64, layers: Vec<Layer>) -> Laminate {
    Laminate { tolerance: Some(Tolerance::Share(share)), layers, ..Laminate::default() }
}

#[test]
fn length_over_diameter_by_point_angle() {
    let table = [
        (30.0, 1.8660),
        (60.0, 0.8660),
        (90.0, 0.5000),
        (100.0, 0.4195),
        (118.0, 0.3004),
        (120.0, 0.2887),
        (130.0, 0.2332),
        (135.0, 0.2071),
        (140.0, 0.1820),
    ];
    for (angle, printed) in table {
        agrees(length(&drill(1.0, angle)), printed, 4);
    }
}

#[test]
fn length_by_diameter_and_point_angle() {
    let angles = [90.0, 118.0, 130.0, 135.0, 140.0];
    let table = [
        (3.0, [1.500, 0.901, 0.699, 0.621, 0.546]),
        (4.8, [2.400, 1.442, 1.119, 0.994, 0.874]),
        (6.0, [3.000, 1.803, 1.399, 1.243, 1.092]),
        (6.35, [3.175, 1.908, 1.481, 1.315, 1.156]),
        (8.0, [4.000, 2.403, 1.865, 1.657, 1.456]),
        (10.0, [5.000, 3.004, 2.332, 2.071, 1.820]),
        (12.0, [6.000, 3.605, 2.798, 2.485, 2.184]),
    ];
    for (diameter, row) in table {
        for (angle, printed) in angles.into_iter().zip(row) {
            agrees(length(&drill(diameter, angle)), printed, 3);
        }
    }
}

#[test]
fn cones_one_after_another() {
    let double = vec![cone(4.0, 118.0), cone(6.0, 90.0)];
    agrees(length(&tool(6.0, ToolKind::MultiAngleDrill { cones: double.clone() })), 2.2017, 4);
    agrees(length(&tool(6.0, ToolKind::SpadeDrill { cones: double })), 2.2017, 4);
    let step = ToolKind::StepDrill {
        pilot: Millimetres(4.0),
        point: Some(Degrees(118.0)),
        step: Millimetres(5.0),
        step_angle: Degrees(90.0),
    };
    agrees(length(&tool(6.0, step)), 1.2017 + 5.0 + 1.0, 4);
    let sink = ToolKind::Countersink { angle: Degrees(90.0), tip: Millimetres(2.0) };
    agrees(length(&tool(10.0, sink)), 4.0, 4);
}

#[test]
fn points_that_are_no_cones() {
    let lead = ToolKind::Reamer { lead: Some(Millimetres(2.0)) };
    agrees(length(&tool(10.0, lead)), 2.0, 4);
    let both = ToolKind::DrillReamer { drill: Millimetres(6.0), point: Some(Degrees(118.0)), lead: Millimetres(3.0) };
    agrees(length(&tool(6.35, both)), 4.803, 3);
    agrees(length(&tool(8.5, ToolKind::BradPointDrill { tip: Millimetres(1.2) })), 1.2, 4);
    agrees(length(&tool(20.0, ToolKind::CoreDrill { wall: Millimetres(1.5) })), 0.0, 4);
    agrees(length(&tool(8.0, ToolKind::BallMill)), 4.0, 4);
    let mill = ToolKind::EndMill { end_cutting: true, corner: Millimetres(0.5) };
    agrees(length(&tool(8.0, mill)), 0.5, 4);
    agrees(length(&tool(8.0, ToolKind::Router { end_cutting: false })), 0.0, 4);
}

#[test]
fn a_missing_angle_gives_no_length() {
    assert_eq!(point_length(&tool(6.0, ToolKind::TwistDrill { point: None })), None);
    assert_eq!(point_length(&tool(6.0, ToolKind::Reamer { lead: None })), None);
    assert_eq!(point_length(&drill(6.0, 0.0)), None);
}

#[test]
fn a_thick_glass_plate() {
    // 4 plies of 0.44 mm and 42 of 0.87 mm, 5 % either way, drill 12 mm with 120 degrees.
    let plate = stack(0.05, vec![layer(2, 0.44, None), layer(42, 0.87, None), layer(2, 0.44, None)]);
    let through = Breakthrough::of(&plate, &drill(12.0, 120.0), Millimetres(40.0)).expect("the angle is given");
    agrees(through.point.0, 3.46, 2);
    let [thin, nominal, _] = through.tip_out.map(|depth| depth.0);
    agrees(nominal, 38.30, 2);
    agrees(thin - 3.0 * 0.87, 33.77, 2);
    let [_, nominal_full, thick_full] = through.full_out.map(|depth| depth.0);
    agrees(nominal_full, 41.76, 2);
    agrees(thick_full, 43.68, 2);
    agrees(through.full_up_to.0, 36.54, 2);
}

#[test]
fn a_carbon_and_titanium_stack() {
    // 46 plies of 0.22 mm, 3 % either way, then 5 mm +/-0.1; drill 9.7 mm with 135 degrees.
    let stack = stack(0.03, vec![layer(46, 0.22, None), layer(1, 5.0, Some(0.1))]);
    let through = Breakthrough::of(&stack, &drill(9.7, 135.0), Millimetres(18.0)).expect("the angle is given");
    agrees(through.point.0, 2.01, 2);
    agrees(stack.layers.first().expect("two layers").thickness().0 + through.point.0, 12.13, 2);
    agrees(stack.span_of(1).0.0, 9.82, 2);
    let ([_, tip, _], [_, full, _]) = (through.tip_out, through.full_out);
    agrees(tip.0, 15.12, 2);
    agrees(full.0, 17.13, 2);
    agrees(length(&drill(6.0, 135.0)), 1.24, 2);
}

#[test]
fn a_carbon_and_aluminium_splice_in_inches() {
    // 28 plies of .0074 in, 4 % either way, then .190 in +/-.003; quarter-inch drill with 135 degrees.
    let inch = |value: f64| value * MM_PER_INCH;
    let splice = stack(0.04, vec![layer(28, inch(0.0074), None), layer(1, inch(0.19), Some(inch(0.003)))]);
    let through = Breakthrough::of(&splice, &drill(6.35, 135.0), Millimetres(inch(0.47))).expect("the angle is given");
    agrees(through.point.0 / MM_PER_INCH, 0.0518, 4);
    let ([_, tip, _], [_, full, _]) = (through.tip_out, through.full_out);
    agrees(tip.0 / MM_PER_INCH, 0.3972, 4);
    agrees(full.0 / MM_PER_INCH, 0.4490, 4);
    let (thin, thick) = splice.span_of(1);
    agrees(thin.0 / MM_PER_INCH, 0.1989, 4);
    agrees(thick.0 / MM_PER_INCH, 0.2155, 4);
}
