//! A report made by hand, for the tests of every format.

use crate::check::Report;
use crate::diagnostic::{Bound, Coverage, Finding, NotChecked, Place, Quantity, Related, Remedy, Severity, Status};
use crate::job::{Date, Job, NoFiles, Waiver};
use crate::motion::{CycleCode, CyclePart, SpindleSense, TraceId};
use crate::operation::{AXIS_Z, Hole, Origin, Recipe, Stroke, StrokeKind, Survey};
use crate::process::HoleReading;
use crate::rules::WaiverUse;
use crate::source::{Source, SourceId, Span};
use crate::units::{Millimetres, MmPerMin, UnitSystem};
use std::collections::BTreeMap;

/// Four holes driven by one feed word, a Latin-1 comment and CRLF line ends.
pub(crate) const PROGRAM: &[u8] = b"%\r\nN10 G21 G90 (BOHRUNGEN \xd8 12)\r\nN20 T11 M6\r\nN30 S2650 M3\r\n\
    N40 G99 G81 X-388.516 Y-33.991 Z-42.8 R3. F159.\r\nN50 X-380. Y-67.\r\nN60 X-376.7 Y-100.9\r\nN70 X-350.\r\n\
    N80 G80\r\nN90 M30\r\n%\r\n";

/// Span of the first appearance of `text` in the sample program.
pub(crate) fn span(text: &str) -> Span {
    let start = PROGRAM.windows(text.len()).position(|window| window == text.as_bytes()).expect("sample text");
    Span::new(start as u32, (start + text.len()) as u32)
}

fn place(text: &str, hole: Option<u32>) -> Place {
    Place { source: SourceId(0), span: span(text), tool: Some(11), hole }
}

/// A finding without places or numbers.
pub(crate) fn bare(rule: &'static str, severity: Severity, message: &str) -> Finding {
    Finding {
        rule,
        severity,
        status: Status::Open,
        message: message.to_owned(),
        why: Vec::new(),
        advice: None,
        measured: None,
        limit: None,
        job_entry: None,
        places: Vec::new(),
        more_places: 0,
        related: Vec::new(),
        remedy: None,
    }
}

fn exit_feed() -> Finding {
    let limit = Quantity { value: 0.03, unit: "mm/rev" };
    Finding {
        why: vec![
            "F159 / S2650 = 0.06 mm/rev".to_owned(),
            "slow zone Z-33.77 to Z-43.68: three plies above the thinnest exit to one point length below the thickest"
                .to_owned(),
        ],
        advice: Some("split the feed at Z-33.7: F79.5 from there to Z-43.8, or declare a backing".to_owned()),
        measured: Some(Quantity { value: 0.06, unit: "mm/rev" }),
        limit: Some(Bound {
            quantity: limit,
            origin: "plate.job.toml: laminate.root.exit.feed, SPEC-9 5.3".to_owned(),
        }),
        places: (0..3).map(|hole| place("F159.", Some(hole))).collect(),
        remedy: Some(Remedy::SlowExit { from: Millimetres(-33.7), feed: MmPerMin(79.5), to: Millimetres(-43.8) }),
        related: vec![Related { source: SourceId(0), span: span("S2650"), message: "speed set here".to_owned() }],
        ..bare("exit-feed-high", Severity::Error, "exit feed 0.06 mm/rev, should be at most 0.03 mm/rev")
    }
}

/// The report.
pub(crate) fn report() -> Report {
    let waived = Finding {
        status: Status::Waived("WV-012".to_owned()),
        places: vec![place("X-350.", Some(3))],
        ..bare("hole-order", Severity::Warning, "hole drilled out of order, should follow H1")
    };
    let note = Finding {
        places: vec![place("X-380.", Some(1)), place("X-376.7", Some(2)), place("X-350.", Some(3))],
        more_places: 1200,
        ..bare("repeat-in-place", Severity::Note, "cycle runs again at the same place")
    };
    Report {
        sources: vec![Source::new("jobs/plate.nc", PROGRAM)],
        job_name: Some("plate.job.toml".to_owned()),
        units: UnitSystem::Metric,
        survey: Survey::default(),
        readings: Vec::new(),
        findings: vec![exit_feed(), waived, note],
        not_checked: vec![
            missing("chip-below-edge-radius", Some("tool.11.edge_radius")),
            missing("slow-feed-rubs", Some("tool.11.edge_radius")),
            missing("subprogram-missing", None),
            NotChecked { needed: false, ..missing("entry-feed-high", Some("laminate.root.entry")) },
        ],
        coverage: Coverage { blocks: 4212, understood: 4212, holes: 4, judged: 4 },
        hole_names: ["H1", "H2", "H3", ""].map(str::to_owned).to_vec(),
        tool_labels: BTreeMap::from([(11, "carbide drill 12.0".to_owned())]),
        zone_names: vec!["C4".to_owned()],
        waivers: vec![(waiver(), WaiverUse { places: 1, ..WaiverUse::default() })],
        only: Vec::new(),
        rulings: Vec::new(),
        overlay: None,
    }
}

fn waiver() -> Waiver {
    let day = |year, month, day| Some(Date { year, month, day });
    Waiver {
        id: "WV-012".to_owned(),
        rule: "hole-order".to_owned(),
        holes: vec!["H4".to_owned()],
        tools: Vec::new(),
        bound: None,
        bound_unit: String::new(),
        reason: "the clamp is in the way".to_owned(),
        raised_by: "programmer".to_owned(),
        approved_by: "engineering".to_owned(),
        date: day(2026, 10, 1),
        expires: day(2026, 12, 31),
        effectivity: "first 20 plates".to_owned(),
        reference: "DR-7".to_owned(),
    }
}

fn missing(rule: &str, key: Option<&str>) -> NotChecked {
    let why = if key.is_some() { "the edge radius is not given" } else { "the call at line 7 was not followed" };
    NotChecked { rule: rule.to_owned(), why: why.to_owned(), key: key.map(str::to_owned), needed: true }
}

/// The four holes of the sample program as one recipe: 159 mm/min at 2650 rev/min down to Z-42.8.
pub(crate) fn drilled() -> Report {
    let stroke = Stroke {
        kind: StrokeKind::Feed,
        from: 3.0,
        to: -42.8,
        feed: Some(159.0),
        speed: Some(2650.0),
        sense: SpindleSense::Clockwise,
        block: 0,
        part: Some(CyclePart::Feed(1)),
    };
    let recipe = Recipe {
        tool: 11,
        axis: AXIS_Z,
        origin: Origin::Cycle(CycleCode::G81),
        start: 3.0,
        r: Some(3.0),
        q: None,
        bottom: -42.8,
        clear: 3.0,
        strokes: vec![stroke],
        orbit: None,
        pilot: 0.0,
        heights_known: true,
    };
    let hole = |text: &str| Hole {
        x: 0.0,
        y: 0.0,
        recipe: 0,
        block: span(text).start,
        stated: span("N40").start,
        feed_at: span("F159.").start,
        speed_at: span("S2650").start,
        trace: TraceId(0),
        source: SourceId(0),
    };
    let holes = ["N40", "N50", "N60", "N70"].map(hole).to_vec();
    let readings = vec![HoleReading::of(&recipe, &job())];
    let survey = Survey { holes, recipes: vec![recipe], ..Survey::default() };
    Report { survey, readings, ..report() }
}

/// A job with the drill and a thick glass laminate.
pub(crate) fn job() -> Job {
    Job::load(&Source::new("plate.job.toml", JOB), &NoFiles).expect("sample job")
}

const JOB: &str = r#"
[job]
part = "SAMPLE"
units = "mm"
entry_z = 0.0
laminate = "root"

[laminate.root]
tolerance = "5 %"
support = "none"
layers = [
  { name = "biax600", material = "glass-fabric", plies = 2, ply = 0.44 },
  { name = "triax1200-long-name", material = "glass-fabric", plies = 42, ply = 0.87 },
  { name = "biax600", material = "glass-fabric", plies = 2, ply = 0.44 },
]
tooth_floor = 0.020
rev_ceiling = 0.080
exit = { feed = 0.030, length = 2.61, spec = "SPEC-9 5.3" }

[tool.11]
kind = "twist-drill"
label = "carbide drill 12.0"
diameter = 12.0
edges = 2
point = 120
"#;
