//! One program an error condition: the condition is found, and on the line the report's interpreter stopped at.

use std::fs;
use std::path::Path;

use lastply::motion::{Axes, Dialect, Settings};

use super::runs::{Run, run_with};

/// The report's error numbers with the kind we name the condition by.
#[rustfmt::skip]
const CONDITIONS: [(u32, &str); 94] = [
    (5, "CodeWithoutAxis"), (6, "MotionWithoutAxis"), (7, "ArcOutOfReach"), (8, "Value(InverseOutOfRange"),
    (9, "Value(InverseOutOfRange"), (11, "Value(FractionalPower"), (12, "Text(BadCharacter"), (38, "Compensated"),
    (41, "NoFeed"), (42, "ZeroRepeat"), (43, "NoFeed"), (48, "Probe"), (53, "CompensationPlane"),
    (54, "CompensationOn"), (56, "AxisWithCancel"), (58, "NoAxis('B')"), (59, "NoAxis('C')"), (60, "Compensated"),
    (62, "Compensated"), (63, "TwoAxisCodes"), (64, "Compensated"), (66, "Text(LineTooLong"), (67, "Compensation(ConcaveCorner"),
    (69, "ArcSamePoint"), (70, "Compensation(Gouging"), (71, "Unused('D'"), (73, "CycleWithout(\"G82\", 'P'"),
    (74, "CycleWithout(\"G86\", 'P'"), (77, "Text(EqualMissing"), (79, "NoInverseFeed"), (81, "NoEnd"),
    (84, "UnknownCode('G'"), (85, "Unused('H'"), (88, "Unused('I'"), (89, "ArcLetter('J'"),
    (90, "CycleWithout(\"G87\", 'J'"), (91, "Unused('J'"), (93, "CycleWithout(\"G87\", 'K'"), (95, "Unused('L'"),
    (98, "Text(LineNumberTooLong"), (100, "UnknownCode('M'"), (101, "ArcMixed"), (102, "Repeated('A'"),
    (103, "Repeated('B'"), (104, "Repeated('C'"), (106, "Repeated('F'"), (109, "Repeated('J'"), (111, "Repeated('L'"),
    (112, "Repeated('P'"), (113, "Repeated('Q'"), (115, "Repeated('S'"), (116, "Repeated('T'"), (117, "Repeated('X'"),
    (118, "Repeated('Y'"), (120, "MachineNeedsLine"), (124, "Negative('G'"), (125, "Negative('H'"),
    (127, "Negative('M'"), (128, "NoPeckIncrement"), (132, "Text(NestedComment"), (133, "Text(MissingValue"),
    (138, "DataNumber"), (140, "Unused('P'"), (142, "Value(IndexOutOfRange"), (143, "CycleWithout(\"G83\", 'Q'"),
    (144, "Unused('Q'"), (147, "ArcWithoutCentre"), (148, "CycleUpsideDown"), (149, "CycleUpsideDown"),
    (150, "CycleUpsideDown"), (152, "ArcRadii"), (155, "TooLarge('T'"), (156, "Text(SlashMissing"),
    (158, "CycleSpindle(\"G86\""), (159, "CycleSpindle(\"G87\""), (162, "ProbeNear"), (163, "TooManyM"),
    (168, "SameGroup"), (171, "Text(UnclosedComment"), (172, "Text(UnclosedExpression"), (173, "UnknownCode('G'"),
    (175, "Text(UnknownOperation"), (180, "Text(UnknownFunction"), (183, "Text(UnknownFunction"),
    (184, "Text(UnknownFunction"), (186, "Text(UnknownFunction"), (188, "Text(UnknownFunction"),
    (190, "ArcWithoutEnd(Zx)"), (192, "Probe"), (193, "ArcWithoutEnd(Yz)"), (194, "CycleWithoutDepth(\"G81\", 'Y'"),
    (195, "CycleWithoutDepth(\"G81\", 'Z'"), (196, "Value(LogarithmOutOfRange"), (197, "ArcZeroRadius"),
];

/// The condition whose line the list does not hold in full.
const LINE_TOO_LONG: u32 = 66;

#[test]
fn every_condition_is_found_on_its_line() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/vectors/rs274/errors");
    let list = fs::read_to_string(folder.join("EXPECTED.tsv")).unwrap();
    let mut wrong = Vec::new();
    let mut checked = 0;
    for row in list.lines().skip(1) {
        let fields: Vec<&str> = row.split('\t').collect();
        let text = fs::read_to_string(folder.join(fields[0])).unwrap();
        let number = fields[1].parse().unwrap();
        let ours = run_with(&text, &settings(fields.get(4).is_some_and(|flag| *flag == "-X")));
        if let Err(found) = first_is(&ours, number, fields[3].trim()) {
            wrong.push(format!("{} ({}) at `{}`: {found}", fields[0], fields[2], fields[3]));
        }
        checked += 1;
    }
    assert_eq!(checked, CONDITIONS.len());
    assert!(wrong.is_empty(), "{} conditions\n{}", wrong.len(), wrong.join("\n"));
}

/// Settings of the report's machine, without rotary axes where the case asks for that.
fn settings(three_axes: bool) -> Settings {
    let mut settings = Settings::new(Dialect::named("rs274-ngc").unwrap(), None);
    if three_axes {
        settings.axes = Axes::XYZ;
    }
    settings
}

fn first_is(ours: &Run, number: u32, line: &str) -> Result<(), String> {
    let (_, kind) = CONDITIONS.iter().find(|(known, _)| *known == number).unwrap();
    let Some((fault, at)) = ours.faults.first() else { return Err("no fault".to_owned()) };
    let found = format!("{:?}", fault.kind);
    // The list cuts the one line that is too long.
    let there = at == line || number == LINE_TOO_LONG && at.starts_with(line);
    if !found.starts_with(kind) || !there {
        return Err(format!("first fault is {found} at `{at}`, expected {kind}"));
    }
    if fault.kind.message().is_empty() || fault.kind.rule().is_empty() {
        return Err(format!("{found} has no text"));
    }
    Ok(())
}
