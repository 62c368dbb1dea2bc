//! A job file drafted from what a program shows, with what it cannot show marked.
//!
//! Prose begins with `# `. A line that begins with `#` and no space is a key to uncomment once its value is known;
//! `?` stands for a value only the shop has.

use super::needs::{EDGE, JOB, LAMINATE, MACHINE, Need, TOOL, WORKPIECE, need};
use crate::units::{Millimetres, MmPerMin, RevPerMin, UnitSystem, trimmed};
use std::fmt::Write;

/// What a program shows of its job.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DraftFacts {
    /// Name of the program file.
    pub program: String,
    /// Units it is posted in, where it says so.
    pub units: Option<UnitSystem>,
    /// Work offset it calls, such as `G54`.
    pub work_offset: Option<String>,
    /// M codes that only the machine knows, each once, with the comment of its block.
    pub codes: Vec<(u32, String)>,
    /// Tools in the order they are first used.
    pub tools: Vec<DraftTool>,
    /// Holes made alike, in the order first drilled.
    pub holes: Vec<DraftHoles>,
}

/// What a program shows of one tool.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DraftTool {
    /// Tool number.
    pub number: u32,
    /// Comment at its tool change; empty when there is none.
    pub comment: String,
    /// Spindle speeds, each once.
    pub speeds: Vec<RevPerMin>,
    /// Table feeds, each once.
    pub feeds: Vec<MmPerMin>,
    /// Deepest program coordinate it reaches.
    pub deepest: Option<Millimetres>,
    /// Holes it makes.
    pub holes: usize,
    /// Cycles it runs, such as `G83`, each once.
    pub cycles: Vec<String>,
}

/// Holes that the same tools take to the same depths.
#[derive(Clone, Debug, PartialEq)]
pub struct DraftHoles {
    /// Tools in order of use, each with the program coordinate of its bottom.
    pub tools: Vec<(u32, Millimetres)>,
    /// Positions in program coordinates.
    pub positions: Vec<(Millimetres, Millimetres)>,
}

/// The text of a job file that loads as it stands, in the program's own units.
#[must_use]
pub fn draft(facts: &DraftFacts) -> String {
    let mut page = Page { text: String::new(), units: facts.units.unwrap_or_default() };
    page.prose(&format!("Job file drafted from {}.", facts.program));
    page.prose("Uncomment a line once its value is known; `?` stands for what only the shop can tell.");
    page.prose("Check every value against the drawing and the process specification, not against the program.");
    page.job(facts);
    page.table("machine", &MACHINE);
    page.codes(&facts.codes);
    page.table("laminate.NAME", &LAMINATE);
    for tool in &facts.tools {
        page.tool(tool);
    }
    page.table("workpiece", &WORKPIECE);
    page.line("\n#[[edges]]");
    page.needs(&EDGE);
    for (index, holes) in facts.holes.iter().enumerate() {
        page.holes(index, holes);
    }
    page.text
}

/// Columns of a draft.
const WIDTH: usize = 80;

struct Page {
    text: String,
    units: UnitSystem,
}

impl Page {
    fn line(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    /// A sentence for the reader; control characters of program comments would end the line and are left out.
    fn prose(&mut self, sentence: &str) {
        let clean: String = sentence.chars().filter(|letter| !letter.is_control()).collect();
        let whole_words = textwrap::Options::new(WIDTH - 2).word_splitter(textwrap::WordSplitter::NoHyphenation);
        for line in textwrap::wrap(&clean, whole_words.word_separator(textwrap::WordSeparator::AsciiSpace)) {
            self.line(&format!("# {line}"));
        }
    }

    fn needs(&mut self, needs: &[Need]) {
        for Need { line, unlocks } in needs {
            self.explained(&format!("#{line}"), &format!("needed: {unlocks}"));
        }
    }

    /// A line with a remark behind it, or above it where both are too long.
    fn explained(&mut self, line: &str, remark: &str) {
        let whole = format!("{line:<24} # {remark}");
        if whole.chars().count() <= WIDTH {
            return self.line(&whole);
        }
        self.prose(remark);
        self.line(line);
    }

    /// M codes of the program, to be named or taken for what the machine makes of them.
    fn codes(&mut self, codes: &[(u32, String)]) {
        if codes.is_empty() {
            return;
        }
        self.prose("M codes the program uses that only the machine knows; say what each does.");
        let entry = |(code, comment): &(u32, String)| {
            let clean: String = comment.chars().filter(|letter| !letter.is_control()).collect();
            format!("{code} = {}", quoted(if clean.is_empty() { "?" } else { &clean }))
        };
        let entries = codes.iter().map(entry).collect::<Vec<_>>().join(", ");
        self.line(&format!("#known_codes = {{ {entries} }}"));
    }

    fn table(&mut self, name: &str, needs: &[Need]) {
        self.line(&format!("\n#[{name}]"));
        self.needs(needs);
    }

    fn job(&mut self, facts: &DraftFacts) {
        let file = facts.program.rsplit('/').next().unwrap_or_default();
        let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
        self.line("\n[job]");
        self.explained(&format!("part = {}", quoted(stem)), "needed: the part's own number");
        match facts.units {
            Some(UnitSystem::Metric) => self.line("units = \"mm\""),
            Some(UnitSystem::Inch) => self.line("units = \"in\""),
            None => self.needs(&[need("units = \"mm\"", "bare numbers; the program does not state its units")]),
        }
        let entry = if facts.units.is_some() { "0.0" } else { "\"0 mm\"" };
        self.explained(
            &format!("entry_z = {entry}"),
            "a guess: height of the entry face, which every depth counts from",
        );
        match &facts.work_offset {
            Some(offset) => self.line(&format!("work_offset = {}", quoted(offset))),
            None => self.needs(&[need("work_offset = ?", "checks of the work offset; the program calls none")]),
        }
        self.needs(&JOB);
    }

    fn tool(&mut self, tool: &DraftTool) {
        self.line("");
        let mut seen = format!("Tool {} in the program", tool.number);
        if !tool.comment.is_empty() {
            let _ = write!(seen, ", commented \"{}\"", tool.comment);
        }
        self.prose(&format!("{seen}: {}.", self.seen(tool)));
        self.line(&format!("#[tool.{}]", tool.number));
        let comment: String = tool.comment.chars().filter(|letter| !letter.is_control()).collect();
        if !comment.is_empty() {
            self.line(&format!("#label = {}", quoted(&comment)));
        }
        self.needs(&TOOL);
    }

    fn seen(&self, tool: &DraftTool) -> String {
        let mut parts = Vec::new();
        match tool.holes {
            0 => {}
            1 => parts.push("1 hole".to_owned()),
            many => parts.push(format!("{many} holes")),
        }
        if !tool.cycles.is_empty() {
            parts.push(tool.cycles.join(" "));
        }
        parts.extend(tool.speeds.iter().map(|speed| format!("S{}", trimmed(speed.0, 0))));
        parts.extend(tool.feeds.iter().map(|feed| self.units.feed(*feed)));
        parts.extend(tool.deepest.map(|deepest| format!("down to {}", self.units.coordinate('Z', deepest))));
        if parts.is_empty() { "no cut seen".to_owned() } else { parts.join(", ") }
    }

    fn holes(&mut self, index: usize, holes: &DraftHoles) {
        let by =
            |(tool, bottom): &(u32, Millimetres)| format!("tool {tool} to {}", self.units.coordinate('Z', *bottom));
        let by = holes.tools.iter().map(by).collect::<Vec<_>>().join(", then by ");
        let tools = holes.tools.iter().map(|(tool, _)| tool.to_string()).collect::<Vec<_>>().join(", ");
        self.line("");
        self.prose(&format!("Drilled by {by}, {} in all.", holes.positions.len()));
        self.line("#[[holes]]");
        self.line(&format!("#id = \"{}\"", letters(index)));
        self.needs(&[
            need("diameter = ?", "checks of diameter, and of holes missing or extra"),
            need("through = ?", "whether a hole must break through; else give `depth`"),
        ]);
        self.line(&format!("#tools = [{tools}]"));
        self.line("#positions = [");
        for (x, y) in &holes.positions {
            self.line(&format!("#  {{ x = {}, y = {} }},", self.number(*x), self.number(*y)));
        }
        self.line("#]");
    }

    /// A bare number of the file's unit.
    fn number(&self, length: Millimetres) -> String {
        let decimals = if self.units == UnitSystem::Inch { 4 } else { 3 };
        trimmed(length.0 / self.units.mm(), decimals)
    }
}

fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// A to Z, then AA to AZ and so on.
fn letters(index: usize) -> String {
    let (before, last) = (index / 26, index % 26);
    let head = before.checked_sub(1).map(letters).unwrap_or_default();
    let letter = u8::try_from(last).map_or('A', |last| char::from(b'A' + last));
    format!("{head}{letter}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Job, NoFiles};
    use crate::source::Source;

    fn facts(units: UnitSystem) -> DraftFacts {
        let at = |x, y| (Millimetres(x), Millimetres(y));
        DraftFacts {
            program: "shop/flange.nc".to_owned(),
            units: Some(units),
            work_offset: Some("G54".to_owned()),
            tools: vec![DraftTool {
                number: 5,
                comment: "DRILL 1/4 \"CARBIDE\"".to_owned(),
                speeds: vec![RevPerMin(4000.0)],
                feeds: vec![MmPerMin(162.56)],
                deepest: Some(Millimetres(-11.938)),
                holes: 2,
                cycles: vec!["G81".to_owned()],
            }],
            codes: vec![(51, "EXTRACTION ON".to_owned())],
            holes: vec![DraftHoles {
                tools: vec![(5, Millimetres(-11.938)), (6, Millimetres(-3.0))],
                positions: vec![at(25.4, 25.4), at(50.8, 25.4)],
            }],
        }
    }

    #[test]
    fn a_draft_loads_as_it_stands() {
        for facts in [facts(UnitSystem::Metric), facts(UnitSystem::Inch), DraftFacts::default()] {
            let text = draft(&facts);
            let job = Job::load(&Source::new("draft.toml", text.clone()), &NoFiles);
            assert!(job.is_ok_and(|job| job.head.units == facts.units), "{text}");
        }
    }

    /// Uncommented and filled in, every line of the draft is a key that loads.
    #[test]
    fn a_filled_in_draft_loads_with_every_key() {
        let filled = [
            ("kind = ?", "kind = \"twist-drill\""),
            ("material = ?,", "material = \"carbon-tape\","),
            ("material = ?", "material = \"carbide\""),
            ("plies = ?", "plies = 4"),
            ("direction = ?", "direction = \"climb\""),
            ("rapid_style = ?", "rapid_style = \"interpolated\""),
            ("laminate = ?", "laminate = \"NAME\""),
            ("support = ?", "support = \"none\""),
            ("coolant = ?", "coolant = \"dry\""),
            ("dwell_unit = ?", "dwell_unit = \"seconds\""),
            ("feed_memory = ?", "feed_memory = \"shared\""),
            ("tolerance = ?", "tolerance = \"5 %\""),
            ("through = ?", "through = true"),
            ("edges = ?", "edges = 2"),
            ("holes = ?", "holes = 80"),
            ("name = ?", "name = \"a\""),
            ("spec = ?", "spec = \"a\""),
            ("revision = ?", "revision = \"a\""),
            ("drawing = ?", "drawing = \"a\""),
            ("entry_face = ?", "entry_face = \"a\""),
            ("[[?, ?], [?, ?]]", "[[1, 60], [2, 90]]"),
            ("poisson = ?", "poisson = 0.3"),
            ("source = ?", "source = \"a\""),
            ("[?, ?]", "[1, 2]"),
            ("?", "1"),
        ];
        let key = |line: &str| match line.strip_prefix('#') {
            Some(key) if !key.starts_with(' ') || key.starts_with("  {") => key.to_owned(),
            _ => line.to_owned(),
        };
        let mut text: String = draft(&facts(UnitSystem::Inch)).lines().map(|line| key(line) + "\n").collect();
        for (blank, value) in filled {
            text = text.replace(blank, value);
        }
        let job = Job::load(&Source::new("draft.toml", text.clone()), &NoFiles);
        let job = job.unwrap_or_else(|errors| panic!("{text}\n{:?}", errors.first().map(|error| &error.message)));
        assert_eq!(job.tool(5).map(|tool| tool.label.as_str()), Some("DRILL 1/4 \"CARBIDE\""));
        assert_eq!(job.holes[0].positions[1].x, Millimetres(50.8));
        assert_eq!((&job.holes[0].tools, job.machine.known_codes[0].0), (&vec![5, 6], 51));
        assert!(job.laminate.is_some_and(|laminate| laminate.exit.is_some() && laminate.trim.ramp.is_some()));
        assert_eq!(job.edges[0].contour, job.workpiece.unwrap().outline);
    }

    #[test]
    fn groups_are_lettered_like_columns() {
        assert_eq!([0, 25, 26, 27, 702].map(letters), ["A", "Z", "AA", "AB", "AAA"]);
    }
}
