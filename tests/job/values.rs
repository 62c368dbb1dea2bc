//! What a job file says is what the job holds.

use super::{load, load_from, root, settings, told};
use lastply::job::{DraftFacts, DraftHoles, DraftTool};
use lastply::job::{
    Extent, Job, LifeLimit, Limit, MaterialClass, PeckRule, Pinned, Substrate, Support, Tolerance, ToolKind, draft,
};
use lastply::units::{Micrometres, Millimetres, MmPerMin, MmPerRev, MmPerTooth, RevPerMin, UnitSystem};

#[test]
fn the_plate_loads_as_written() {
    let job = load_from(&root().join("tests/jobs/plate.toml"));
    let laminate = job.laminate.as_ref().unwrap();
    let layer = &laminate.layers[0];
    assert_eq!((layer.plies, layer.ply, layer.material.class), (48, Millimetres(0.125), MaterialClass::Carbon));
    assert_eq!(laminate.tolerance, Some(Tolerance::Share(0.03)));
    assert_eq!(laminate.support, Support::None);
    let exit = laminate.exit.as_ref().unwrap();
    assert_eq!(exit.feed, Limit::new(MmPerRev(0.03), "plate.toml: laminate.plate.exit.feed, SPEC-1 5.3"));
    assert_eq!(exit.extent, Extent::Length(Millimetres(0.5)));
    assert_eq!(layer.limits.peck.as_ref().map(|peck| peck.value), Some(PeckRule::Forbidden));
    let speeds: Vec<_> = layer.limits.speeds.iter().map(|band| (band.tool, band.band.value.0.0)).collect();
    assert_eq!(speeds, [(Some(Substrate::Carbide), 60.0), (Some(Substrate::DiamondCoated), 80.0)]);
    let tool = job.tool(6).unwrap();
    assert_eq!((tool.edges, tool.edge_radius), (Some(2), Some(Micrometres(5.0))));
    assert_eq!(tool.life, [LifeLimit::Holes(100)]);
    assert!(matches!(job.tool(8).unwrap().kind, ToolKind::Reamer { lead: Some(Millimetres(2.0)) }));
    assert_eq!(job.machine.travel[2], Some((Millimetres(-100.0), Millimetres(200.0))));
    assert_eq!(job.machine.known_codes[0], (10, "clamp rotary axis".to_owned()));
    assert_eq!(job.fixture.zones.len(), 3);
}

#[test]
fn tuning_is_a_house_value_until_the_job_says_otherwise() {
    let head = "[job]\npart = 'a'\nunits = 'mm'\nentry_z = 0\n[tool.6]\nkind = 'router'\ndiameter = 6\n\
                [[holes]]\nid = 'A'\ndiameter = 6\nthrough = true\npositions = [{ x = 1, y = 2, id = 'A1' }]\n";
    let usual = load(head).unwrap().tuning;
    assert_eq!((usual.margin, usual.stages), (Limit::new(0.1, "house value"), Limit::new(2, "house value")));
    let own = load(&format!("{head}[tune]\nmargin = '5 %'\nstages = 3\npin = [['A', 'T6'], ['A1', 'A']]")).unwrap();
    assert_eq!(own.tuning.margin, Limit::new(0.05, "a.job.toml: tune.margin"));
    assert_eq!(own.tuning.stages, Limit::new(3, "a.job.toml: tune.stages"));
    let (group, hole) = (Pinned::Group("A".to_owned()), Pinned::Hole("A1".to_owned()));
    assert_eq!(own.tuning.pins, [vec![group.clone(), Pinned::Tool(6)], vec![hole, group]]);
    let errors = load(&format!("{head}[tune]\nmargin = '100 %'\nstages = 0\npin = [['B']]")).unwrap_err();
    assert_eq!(
        told(&errors),
        "a.job.toml: `tune.margin` must be from 0 to under 100 %\n    at: '100 %'\n\
         a.job.toml: `tune.stages` must be at least 1, not 0\n    at: 0\n\
         a.job.toml: `tune.pin` names `B`, which is no hole, edge or tool of this job\n    at: 'B'\n    \
         help: known here: A, T6\n"
    );
}

/// Thrust 60 N at 0.02 mm/rev and 120 N at 0.08: m = ln 2 / ln 4 = 0.5, c = 60 / 0.02^0.5 = 424.264.
#[test]
fn two_thrust_points_give_a_law() {
    let job = load_from(&root().join("tests/jobs/plate.toml"));
    let law = job.tool(6).unwrap().thrust.clone().unwrap();
    assert!((law.m - 0.5).abs() < 1e-12 && (law.c - 424.264).abs() < 5e-4, "{law:?}");
    assert!((law.valid.0 - 0.016).abs() < 1e-12 && (law.valid.1 - 0.096).abs() < 1e-12, "{law:?}");
    assert_eq!(law.origin, "plate.toml: tool.6.thrust, worked example");
}

#[test]
fn a_bolt_circle_and_a_list_are_worked_out() {
    let job = load_from(&root().join("programs/root_plate/root_plate_op20.job.toml"));
    let (circle, dowels) = (&job.holes[0], &job.holes[1]);
    assert_eq!(circle.positions.len(), 36);
    assert_eq!(circle.positions[35].id, "H36");
    // First hole at 5 deg on a circle of 780 mm: 390 cos 5 = 388.516, 390 sin 5 = 33.991.
    let first = &circle.positions[0];
    assert!((first.x.0 - 388.516).abs() < 5e-4 && (first.y.0 - 33.991).abs() < 5e-4, "{first:?}");
    // Chord of 10 deg on 390 mm: 2 x 390 sin 5 = 67.981.
    let second = &circle.positions[1];
    let chord = (first.x.0 - second.x.0).hypot(first.y.0 - second.y.0);
    assert!((chord - 67.981).abs() < 1e-3, "{chord}");
    assert_eq!(circle.diameter_limits, Some((Millimetres(0.2), Millimetres(0.0))));
    assert_eq!(dowels.positions[0].id, "D1");
    assert_eq!(dowels.positions[3].id, "D4");
    assert_eq!((dowels.class.as_deref(), dowels.diameter_limits), (Some("H8"), None));
    let laminate = job.laminate.unwrap();
    assert_eq!(
        laminate.exit.unwrap().feed.origin,
        "root_plate_op20.job.toml: laminate.root-glass-38.exit.feed, RP-014 rev B 5.3"
    );
    let waiver = &job.waivers[0];
    assert_eq!((waiver.bound, waiver.bound_unit.as_str()), (Some(0.045), "mm/rev"));
    assert_eq!(waiver.expires.unwrap().to_string(), "2027-03-31");
}

#[test]
fn a_layer_without_its_own_limit_has_the_laminates() {
    let job = load_from(&root().join("tests/jobs/stack.toml"));
    let laminate = job.laminate.unwrap();
    let peck = |at: usize| laminate.layers[at].limits.peck.clone().unwrap();
    assert_eq!(peck(0).value, PeckRule::Forbidden);
    assert_eq!(peck(1).value, PeckRule::FullRetract(Millimetres(1.0)));
    assert_eq!(peck(1).origin, "stack.toml: laminate.carbon-titanium.layers.2.peck, SPEC-2 4.1");
    let text = "[job]\npart = 'a'\nentry_z = '0 mm'\nunits = 'mm'\nlaminate = 'x'\n[laminate.x]\ntooth_floor = 0.01\nlayers = [\
        { material = 'carbon-tape', plies = 2, ply = 0.2 },\
        { material = 'titanium', thickness = 2, tooth_floor = 0.02 }]";
    let layers = load(text).unwrap().laminate.unwrap().layers;
    let floors: Vec<_> = layers.iter().map(|layer| layer.limits.tooth_floor.clone().unwrap()).collect();
    assert_eq!(floors[0], Limit::new(MmPerTooth(0.01), "a.job.toml: laminate.x.tooth_floor"));
    assert_eq!(floors[1], Limit::new(MmPerTooth(0.02), "a.job.toml: laminate.x.layers.2.tooth_floor"));
}

/// Every kind of tool, with the geometry that only it has.
#[test]
fn every_tool_kind_loads() {
    let geometry = [
        ("twist-drill", "point = 118"),
        ("straight-flute-drill", "point = 90"),
        ("multi-angle-drill", "cones = [{ to = 4.0, angle = 118 }, { to = 6.0, angle = 90 }]"),
        ("step-drill", "pilot = 4.0\npoint = 118\nstep = 5.0\nstep_angle = 90"),
        ("spade-drill", "cones = [{ to = 2.0, angle = 90 }, { to = 6.0, angle = 30 }]"),
        ("drill-reamer", "drill = 5.8\npoint = 118\nlead = 6.0"),
        ("reamer", "lead = 2.0"),
        ("core-drill", "wall = 1.0"),
        ("brad-point-drill", "tip = 1.0"),
        ("countersink", "angle = 100\ntip = 1.0"),
        ("end-mill", "end_cutting = true\ncorner = 0.5"),
        ("router", "end_cutting = false"),
        ("compression-router", "up_cut = 4.0\nend_cutting = true"),
        ("serrated-rougher", "end_cutting = false"),
        ("ball-mill", ""),
    ];
    for (kind, keys) in geometry {
        let text = format!(
            "[job]\npart = 'a'\nentry_z = '0 mm'\nunits = 'mm'\n[tool.1]\nkind = '{kind}'\ndiameter = 6.0\n{keys}"
        );
        let job = load(&text).unwrap_or_else(|errors| panic!("{kind}\n{}", told(&errors)));
        assert_eq!(job.tool(1).unwrap().kind.name(), kind);
        assert_eq!(job.tool(1).unwrap().label, format!("{kind} 6 mm"));
    }
}

const METRIC: &str = "
    [job]
    part = 'twin'
    units = 'mm'
    laminate = 'x'
    entry_z = 2.54
    [machine]
    max_feed = 5080
    rapid = { z = 2540 }
    travel = { x = [-254, 254] }
    peck_clearance = 0.508
    [laminate.x]
    tolerance = 0.0508
    layers = [{ material = 'carbon-tape', plies = 10, ply = 0.254 }]
    tooth_floor = 0.0254
    rev_ceiling = 0.0762
    speeds = { any = [60.96, 152.4] }
    exit = { feed = 0.0508, length = 0.508 }
    slowest_feed = 50.8
    peck = { at_most = 2.54 }
    [tool.1]
    kind = 'twist-drill'
    diameter = 6.35
    edge_radius = 5
    thrust = { points = [[0.0254, 60], [0.0508, 90]] }
    life = { metres = 12 }
    [[holes]]
    id = 'A'
    diameter = 6.35
    limits = [0.0762, 0]
    through = true
    grid = { columns = 2, rows = 2, pitch = [25.4, 12.7], at = [2.54, 0] }
    [fixture]
    table_z = -50.8
    zones = [{ id = 'C', kind = 'clamp', at = [25.4, 0], diameter = 12.7, z = [0, 25.4] }]";

const INCH: &str = "
    [job]
    part = 'twin'
    units = 'in'
    laminate = 'x'
    entry_z = 0.1
    [machine]
    max_feed = 200
    rapid = { z = '100 ipm' }
    travel = { x = [-10, 10] }
    peck_clearance = '.02 in'
    [laminate.x]
    tolerance = 0.002
    layers = [{ material = 'carbon-tape', plies = 10, ply = 0.01 }]
    tooth_floor = '.001 in/tooth'
    rev_ceiling = '.003 ipr'
    speeds = { any = [200, '500 sfm'] }
    exit = { feed = 0.002, length = 0.02 }
    slowest_feed = 2.0
    peck = { at_most = 0.1 }
    [tool.1]
    kind = 'twist-drill'
    diameter = '1/4 in'
    edge_radius = '0.005 mm'
    thrust = { points = [[0.001, 60], ['0.0508 mm/rev', 90]] }
    life = { metres = '12000 mm' }
    [[holes]]
    id = 'A'
    diameter = 0.25
    limits = [0.003, 0]
    through = true
    grid = { columns = 2, rows = 2, pitch = [1, 0.5], at = [0.1, 0] }
    [fixture]
    table_z = '-2 in'
    zones = [{ id = 'C', kind = 'clamp', at = [1, 0], diameter = 0.5, z = [0, 1] }]";

/// Numbers of a debug print to nine decimals, so that the last bit of a product does not count.
fn rounded(job: &Job) -> String {
    let round = |word: &str| word.parse::<f64>().map_or_else(|_| word.to_owned(), |number| format!("{number:.9}"));
    format!("{job:?}").split_inclusive([' ', '(', ')', ',', ']']).fold(String::new(), |mut text, piece| {
        let word = piece.trim_end_matches([' ', '(', ')', ',', ']']);
        text.push_str(&round(word));
        text.push_str(&piece[word.len()..]);
        text
    })
}

#[test]
fn inch_and_metric_twins_load_to_the_same_job() {
    let metric = load(METRIC).unwrap_or_else(|errors| panic!("{}", told(&errors)));
    let mut inch = load(INCH).unwrap_or_else(|errors| panic!("{}", told(&errors)));
    assert_eq!((metric.head.units, inch.head.units), (Some(UnitSystem::Metric), Some(UnitSystem::Inch)));
    inch.head.units = metric.head.units;
    assert_eq!(rounded(&metric), rounded(&inch));
}

#[test]
fn a_draft_says_what_the_program_shows_and_what_it_cannot() {
    let at = |x, y| (Millimetres(x), Millimetres(y));
    let tool = DraftTool {
        number: 5,
        comment: "DRILL 1/4 CARBIDE".to_owned(),
        speeds: vec![RevPerMin(4000.0)],
        feeds: vec![MmPerMin(162.56)],
        deepest: Some(Millimetres(-11.938)),
        holes: 2,
        cycles: vec!["G81".to_owned()],
    };
    let holes = DraftHoles { tools: vec![(5, Millimetres(-11.938))], positions: vec![at(25.4, 25.4), at(50.8, 25.4)] };
    settings().bind(|| {
        insta::assert_snapshot!(draft(&DraftFacts {
            program: "flange.nc".to_owned(),
            units: Some(UnitSystem::Inch),
            work_offset: Some("G54".to_owned()),
            codes: vec![(51, "EXTRACTION ON".to_owned()), (77, String::new())],
            tools: vec![tool],
            holes: vec![holes],
        }))
    });
}
