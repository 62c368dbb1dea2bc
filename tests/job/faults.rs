//! Every fault of a job file, as its reader sees it.

use super::{load, settings, told};

const HEAD: &str = "[job]\npart = 'a'\nentry_z = '0 mm'\nunits = 'mm'\nlaminate = 'x'\n";
const LAMINATE: &str = "[laminate.x]\nlayers = [{ material = 'carbon-tape', plies = 4, ply = 0.2 }]\n";

fn faults(cases: &[&str]) -> String {
    let told = |case: &&str| {
        let errors = load(case).err().unwrap_or_else(|| panic!("loads:\n{case}"));
        told(&errors)
    };
    cases.iter().map(told).collect::<Vec<_>>().join("\n")
}

/// Each case with a head and a sound laminate before it.
fn after_laminate(cases: &[&str]) -> String {
    let cases: Vec<String> = cases.iter().map(|case| format!("{HEAD}{LAMINATE}{case}")).collect();
    faults(&cases.iter().map(String::as_str).collect::<Vec<_>>())
}

#[test]
fn text_and_shape() {
    settings().bind(|| {
        insta::assert_snapshot!(faults(&[
            "",
            "[job\npart = ",
            "[job]\npart = 'a'\npart = 'b'\nunits = mm",
            "[job]\npart = 1\nunits = 'cm'\nrevison = 'C'\n[lamniate.x]\n",
            "[job]\npart = 'a'\nentry_z = '0 mm'\n[tool.six]\nkind = 'drill'\n[tool.6]\nkind = 'twist-dril'\ndiameter = [6]\nedges = -2",
            "[job]\npart = 'a'\nentry_z = '0 mm'\n[machine]\ntravel = { x = [1, 2, 3], w = 1 }\nextraction_on = 7\nfeeding = true",
            "[job]\npart = 'a'\nentry_z = '0 mm'\nzzz = 1\n[rules]\n'not-through' = 'ignore'",
            "[job]\npart = 'a'\nentry_z = '0 mm'\ndate = 2026-02-30\n",
            "[job]\npart = 'a'\nentry_z = '0 mm'\n[tool.4000000000]\nkind = 'router'\ndiameter = '6 mm'",
        ]))
    });
}

#[test]
fn units() {
    settings().bind(|| insta::assert_snapshot!(faults(&[
        "[job]\npart = 'a'\nentry_z = 1.0\n[tool.1]\nkind = 'router'\ndiameter = '6'",
        "[job]\npart = 'a'\nentry_z = '0 mm'\n[tool.1]\nkind = 'router'\ndiameter = '6 mn'",
        "[job]\npart = 'a'\nentry_z = '0 mm'\n[tool.1]\nkind = 'router'\ndiameter = 'wide'\nmax_speed = '3 mm'\nlength = nan",
        "[job]\npart = 'a'\nentry_z = '0 mm'\nunits = 'mm'\n[tool.1]\nkind = 'router'\ndiameter = 0\nlength = -120\ncoating = '-1 um'",
    ])));
}

#[test]
fn laminates() {
    let laminate = |body: &str| format!("{HEAD}[laminate.x]\n{body}");
    let layer = "layers = [{ material = 'carbon-tape', plies = 4, ply = 0.2 }]\n";
    let cases = [
        laminate("layers = []"),
        laminate("spec = 'S'"),
        laminate(
            "layers = [{ material = 'carbon-tpae', plies = 4, ply = 0.2 }, { material = 'unobtainium', thickness = 1 }]",
        ),
        laminate("tolerance = '-5 %'\nworn_edge = 0\nlayers = [{ material = 'steel', thickness = 0, rev_floor = -1 }]"),
        laminate("layers = [{ material = 'steel', class = 'carbon', thickness = 1 }]"),
        laminate("layers = [{ material = 'steel', thickness = -1 }, { material = 'steel', plies = 0, ply = 0.2 }]"),
        laminate("layers = [{ material = 'steel', plies = 4 }, { material = 'steel', thickness = 1, ply = 0.2 }]"),
        laminate(&format!("{layer}tolerance = '120 %'\nsupport = 'vacuum'")),
        laminate(&format!("{layer}tooth_floor = 0.1\ntooth_ceiling = 0.05\nrev_floor = 0.2\nrev_ceiling = 0.1")),
        laminate(&format!("{layer}tooth_floor = 0.2\nrev_ceiling = 0.08\nexit = {{ feed = 0.3, plies = 2 }}")),
        laminate(&format!("{layer}exit = {{ feed = '120 mm/min', plies = 3 }}\nentry = {{ feed = 0.05 }}")),
        laminate(&format!("{layer}exit = {{ feed = 0.03, plies = 3, length = 1 }}\nentry = {{ plies = 3 }}")),
        laminate(&format!("{layer}peck = 'forbiden'")),
        laminate(&format!("{layer}peck = {{ ful_retract = 1.0 }}")),
        laminate(&format!("{layer}peck = {{ full_retract = true }}")),
        laminate(&format!("{layer}peck = {{ full_retract = 1, at_most = 2 }}")),
        laminate(&format!("{layer}speeds = {{ carbide = [150, 60], steel = [1, 2] }}")),
        laminate(&format!(
            "{layer}plate = {{ modulus = '138 GPa', poisson = 0.7, fracture_energy = 0.25, safety = 0.5, source = 's' }}"
        )),
        format!("{HEAD}{}", LAMINATE.replace(".x", ".y")),
        format!("{HEAD}[laminate.x]\nsupport = 'none'\n{layer}[fixture]\nbacking = 10"),
    ];
    settings().bind(|| insta::assert_snapshot!(faults(&cases.iter().map(String::as_str).collect::<Vec<_>>())));
}

#[test]
fn tools() {
    settings().bind(|| {
        insta::assert_snapshot!(after_laminate(&[
            "[tool.1]\nkind = 'twist-drill'\ndiameter = 6\nedges = 0\npoint = 240\nup_cut = 4",
            "[tool.1]\nkind = 'step-drill'\ndiameter = 6\npilot = 7\nstep = 5",
            "[tool.1]\nkind = 'spade-drill'\ndiameter = 6",
            "[tool.1]\nkind = 'spade-drill'\ndiameter = 6\ncones = [{ to = 4, angle = 90 }, { to = 3, angle = 30 }]",
            "[tool.1]\nkind = 'spade-drill'\ndiameter = 6\ncones = [{ to = 4, angle = 90 }, { to = 5, angle = 30 }]",
            "[tool.1]\nkind = 'core-drill'\ndiameter = 6\nwall = 3",
            "[tool.1]\nkind = 'ball-mill'\ndiameter = 6\nwear_factor = 0.9\npoint = 118\nused = -1",
            "[tool.1]\nkind = 'router'\ndiameter = 6\nthrust = { points = [[0.02, 60], [0.02, 120]] }",
            "[tool.1]\nkind = 'router'\ndiameter = 6\nthrust = { points = [[0.02, 60], [0.02000000001, 120]] }",
            "[tool.1]\nkind = 'router'\ndiameter = 6\nthrust = { c = inf, m = nan, from = 0.02, to = 0.08 }",
            "[tool.1]\nkind = 'router'\ndiameter = 6\nthrust = { c = 400, m = 0.5 }",
            "[tool.1]\nkind = 'router'\ndiameter = 6\nthrust = { c = 400 }",
            "[tool.1]\nkind = 'router'\ndiameter = 6\nlife = { law = { at = 100, exponent = 2, up_to = 200 } }",
            "[tool.1]\nkind = 'router'\ndiameter = 6\nlife = { metres = 9, law = { at = 100, exponent = 2 } }",
            "[tool.1]\nkind = 'router'\ndiameter = 6\nlife = { metres = 9, law = { at = 100, up_to = 200 } }",
            "[tool.1]\nkind = 'router'\ndiameter = 6\nlife = { metres = 9, law = { at = 200, exponent = 2, up_to = 100 } }",
            "[tool.1]\nkind = 'router'\ndiameter = 6\nlife = { metres = 9, law = { at = 100, exponent = -2, up_to = 200 } }",
            "[tool.1]\nkind = 'router'\ndiameter = 6\nthrust = { points = [[0.02, 60], [0.08, 50]] }",
            "[tool.1]\nkind = 'router'\ndiameter = 6\nthrust = { c = 400, m = 0.5, from = 0.02, to = 0.08, diameters = [8, 10] }",
            "[tool.1]\nkind = 'router'\ndiameter = 6\nlife = { holes = 0 }",
        ]))
    });
}

#[test]
fn holes_and_fixture() {
    settings().bind(|| insta::assert_snapshot!(after_laminate(&[
        "[[holes]]\nid = 'A'\ndiameter = 6\nthrough = true",
        "[[holes]]\nid = 'A'\ndiameter = 6\npositions = [{ x = 1, y = 2 }]",
        "[[holes]]\nid = 'A'\ndiameter = 6\nthrough = true\ndepth = 4\npositions = []",
        "[[holes]]\nid = 'A'\ndiameter = 6\nclass = 'H88'\nthrough = true\ncircle = { count = 0, diameter = 40 }",
        "[[holes]]\nid = 'A'\ndiameter = 6\nthrough = true\ncircle = { count = 4000000000, diameter = 40 }",
        "[[holes]]\nid = 'A'\ndiameter = 6\nlimits = [0, 0.1]\nthrough = true\ngrid = { columns = 2, rows = 2 }",
        "[[holes]]\nid = 'A'\ndiameter = 6\nthrough = true\npositions = [{ x = 1, y = 2 }, { x = 3, y = 4, id = 'A1' }]",
        "[[holes]]\nid = 'A'\ndiameter = 6\nthrough = true\npositions = [{ x = 1, y = 2, id = 'P' }]\n\
         [[holes]]\nid = 'A'\ndiameter = 8\nthrough = true\npositions = [{ x = 1, y = 2, id = 'Q' }]",
        "[[holes]]\nid = 'A'\ndiameter = 4\nthrough = true\npositions = [{ x = 1, y = 2 }]\n\
         countersink = { diameter = 3.575, angle = 100 }",
        "[fixture]\nzones = [{ id = 'C', kind = 'clamp', x = [0, 1], y = [0, 1] }, { id = 'C', kind = 'post', at = [0, 0] }]",
        "[fixture]\nzones = [{ id = 'C', kind = 'clmap', x = [1, 0], y = [0, 1] }, { id = 'D', kind = 'post', x = [1, 0], y = [0, 1] }]",
    ])));
}

#[test]
fn waivers_and_rules() {
    settings().bind(|| insta::assert_snapshot!(after_laminate(&[
        "[[waiver]]\nid = 'W'\nrule = 'not-through'\nreason = ' '",
        "[[waiver]]\nid = 'W'\nrule = 'not-through'",
        "[[waiver]]\nid = 'W'\nrule = 'not-through'\nreason = 'r'\ndate = 'soon'\nexpires = '2027-02-29'\nbound = 'small'",
        "[[waiver]]\nid = 'W'\nrule = 'not-through'\nreason = 'r'\ndate = '2026-09-01'\nexpires = 2026-08-31",
        "[[waiver]]\nid = 'W'\nrule = 'not-through'\nreason = 'r'\n[[waiver]]\nid = 'W'\nrule = 'not-through'\nreason = 'r'",
    ])));
}

/// Faults of shape, of unit, of value and of agreement, all in one file, are all told, in the order of the text.
#[test]
fn every_fault_of_a_file_is_told_at_once() {
    let errors = load(
        "[job]\npart = 'a'\nentry_z = '0 mm'\nrevison = 'C'\nunits = 'mm'\nlaminate = 'y'\n\
         [laminate.x]\nlayers = [{ material = 'carbon', plies = 4, ply = 0.2 }]\n\
         [tool.1]\nkind = 'twist-dril'\ndiameter = '6 mm/rev'\n\
         [tool.2]\nkind = 'router'\ndiameter = -1\nedges = 'two'\n\
         [[waiver]]\nid = 'W'\nrule = 'not-through'\nreason = ''",
    )
    .unwrap_err();
    settings().bind(|| insta::assert_snapshot!(told(&errors)));
}
