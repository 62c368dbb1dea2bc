//! What a drafted job file asks for, key by key.

/// A key the program cannot tell: an example of its value and what it unlocks.
pub(super) struct Need {
    pub line: &'static str,
    pub unlocks: &'static str,
}

/// A key with what it unlocks.
pub(super) const fn need(line: &'static str, unlocks: &'static str) -> Need {
    Need { line, unlocks }
}

/// Keys of `[job]`.
pub(super) const JOB: [Need; 4] = [
    need("revision = ?", "the revision in every report"),
    need("drawing = ?", "the drawing in every report"),
    need("entry_face = ?", "which face the tool enters, on the operator's sheet"),
    need("laminate = ?", "every check of feed, depth, pecks and speed: name a [laminate.NAME] below"),
];

/// Keys of `[machine]`.
pub(super) const MACHINE: [Need; 19] = [
    need("name = ?", "the machine in every report"),
    need("feeding = \"cnc\"", "checks of hand-fed and track-fed tools"),
    need("dwell_unit = ?", "how long each dwell lasts: seconds, milliseconds or milliseconds-without-point"),
    need("peck_clearance = ?", "where a peck slows down again after its retract"),
    need("number_input = \"decimal\"", "numbers without a decimal point"),
    need("feed_memory = ?", "the feed after a change between G94 and G95: shared, per-mode or cleared"),
    need("repeat_word = \"either\"", "repeats of a cycle: L, K or either"),
    need("max_speed = ?", "checks against the spindle"),
    need("max_feed = ?", "checks against the axes"),
    need("travel = { x = [?, ?], y = [?, ?], z = [?, ?] }", "checks against the travel"),
    need("rapid = { x = ?, y = ?, z = ? }", "the time of rapids"),
    need("acceleration = { x = ?, y = ?, z = ? }", "the feed and the time really reached; in m/s2"),
    need("corner = { blend = ? }", "how corners slow the feed; or \"exact-stop\""),
    need("look_ahead = ?", "how many blocks ahead the control brakes for"),
    need("block_time = ?", "whether short blocks starve the control; in s"),
    need("rapid_style = ?", "where rapids run: interpolated or axis-by-axis"),
    need("tool_change = ?", "tool changes in the time of the whole run"),
    need("spin_up = ?", "checks that the spindle is up to speed before the first cut"),
    need("extraction_on = [?]", "checks that dust extraction runs before the first cut"),
];

/// Keys of `[laminate.NAME]`.
pub(super) const LAMINATE: [Need; 15] = [
    need("spec = ?", "the specification beside every limit"),
    need("tolerance = ?", "the thinnest and thickest part, such as \"5 %\""),
    need("support = ?", "exit checks: \"none\" or \"backed\""),
    need("layers = [{ material = ?, plies = ?, ply = ? }]", "every check of depth, exit and interface"),
    need("tooth_floor = ?", "checks for rubbing, and feed windows"),
    need("exit_tooth_floor = ?", "checks for rubbing while slowed for the exit"),
    need("rev_ceiling = ?", "checks for too much feed, and feed windows"),
    need("entry = { feed = ?, plies = ? }", "checks of the feed through the first plies"),
    need("exit = { feed = ?, plies = ? }", "checks of the feed through the last plies"),
    need("overtravel = ?", "how far past full diameter a through hole must go"),
    need("peck = \"forbidden\"", "checks of pecks"),
    need("speeds = { carbide = [?, ?] }", "checks of surface speed"),
    need(
        "trim = { tooth_floor = ?, tooth_ceiling = ?, ramp = ?, crossing_margin = ?, overhang = ? }",
        "checks of chip, ramp, crossing and overhang at edges",
    ),
    need(
        "plate = { modulus = ?, poisson = ?, fracture_energy = ?, safety = ?, source = ? }",
        "checks of thrust against what the last plies bear",
    ),
    need("coolant = ?", "checks of coolant: dry, wet or wet-in-metal"),
];

/// Keys of `[tool.N]`.
pub(super) const TOOL: [Need; 11] = [
    need("kind = ?", "every check of this tool"),
    need("diameter = ?", "every check of this tool"),
    need("edges = ?", "chip load"),
    need("point = ?", "depth of full diameter; included angle of a drill, in degrees"),
    need("flute_length = ?", "whether the tool is long enough"),
    need("stick_out = ?", "whether the holder clears the part"),
    need("holder = [{ length = ?, diameter = ? }]", "how near the holder comes to clamps and posts"),
    need("material = ?", "surface speed: hss, carbide, diamond-coated, brazed-pcd or veined-pcd"),
    need("edge_radius = ?", "whether a chip forms, in um"),
    need("life = { holes = ? }", "tool life"),
    need("thrust = { points = [[?, ?], [?, ?]] }", "checks of thrust: feed for each turn and newtons, measured twice"),
];

/// Keys of `[workpiece]`.
pub(super) const WORKPIECE: [Need; 2] = [
    need("rectangle = { x = [?, ?], y = [?, ?] }", "how much of a cutter is engaged; or `outline` or `circle`"),
    need("raw_margin = ?", "where a cutter meets material outside the outline"),
];

/// Keys of `[[edges]]`.
pub(super) const EDGE: [Need; 3] = [
    need("id = \"OUT\"", "the edge in every report"),
    need("contour = \"outline\"", "which edge; or `outline`, `rectangle`, `circle` or `slot` for an opening"),
    need("direction = ?", "whether the cut keeps its direction: climb or conventional"),
];
