//! Two revisions compared: single edits are found and rightly classed, rewrites that change nothing are identical.

mod command;
mod edits;

use edits::EDITS;
use lastply::check::Options;
use lastply::compare::{Changes, Names, Revision, compare};
use lastply::job::{Job, NoFiles};
use lastply::program::ProgramGraph;
use lastply::source::{NoLibrary, Source};
use proptest::prelude::*;
use std::fs;
use std::path::Path;

/// A sample program with its job.
struct Sample {
    text: String,
    job: Job,
}

fn sample(name: &str) -> Sample {
    let folder = name.rsplit_once("_op").map_or(name, |(folder, _)| folder);
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("programs").join(folder);
    let job = fs::read(path.join(format!("{name}.job.toml"))).unwrap();
    let job = Job::load(&Source::new("job.toml", job), &NoFiles).unwrap_or_else(|_| panic!("{name}: job"));
    Sample { text: fs::read_to_string(path.join(format!("{name}.nc"))).unwrap(), job }
}

/// Compares two texts under a job.
fn changes(old: &[u8], new: &[u8], job: Option<&Job>) -> Changes {
    let Options { settings, tools, .. } = Options::of_job(job).unwrap();
    let read = |name: &str, bytes: &[u8]| ProgramGraph::read(Source::new(name, bytes), &NoLibrary, &settings.lexis());
    let (old, new, names) = (read("old.nc", old), read("new.nc", new), Names::default());
    let side = |programs| Revision { programs, settings: &settings, tools: &tools, names: &names };
    compare(&side(&old), &side(&new))
}

/// Changes of the machining as `class aspect count`.
fn told(changes: &Changes) -> Vec<String> {
    let mut told: Vec<String> = changes
        .machining
        .iter()
        .map(|change| {
            let aspect = serde_json::to_value(change.aspect).unwrap();
            format!("{} {} {}", change.aspect.class().word(), aspect.as_str().unwrap(), change.count)
        })
        .collect();
    told.sort();
    told
}

#[test]
fn single_edits_are_found_and_rightly_classed() {
    let mut wrong = String::new();
    for (name, find, put, expected) in EDITS {
        let Sample { text, job } = sample(name);
        let end = if text.contains("\r\n") { "\r\n" } else { "\n" };
        let [find, put] = [find, put].map(|lines| lines.replace('\n', end));
        assert!(text.contains(&find), "{name} holds no {find:?}");
        let edited = text.replacen(&find, &put, 1);
        let found = changes(text.as_bytes(), edited.as_bytes(), Some(&job));
        let mut expected = expected.to_vec();
        expected.sort_unstable();
        if told(&found) != expected {
            wrong.push_str(&format!("{name}: {find:?} -> {put:?}\n  told {:?}\n  not  {expected:?}\n", told(&found)));
        }
        if expected.is_empty() {
            assert!(found.is_identical_in_motion() && !found.text.comments.is_empty(), "{find:?} is a comment");
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

/// What a rewrite does to a line without its end.
type Rewrite = (&'static str, fn(&str, usize) -> String);

/// Parts of a line: block number, words, comment.
fn parts(line: &str) -> (&str, &str, &str) {
    let (line, comment) = line.split_at(line.find('(').unwrap_or(line.len()));
    let digits = line.strip_prefix('N').map_or(0, |rest| 1 + rest.chars().take_while(char::is_ascii_digit).count());
    let (number, words) = line.split_at(digits);
    (number, words.trim(), comment)
}

/// Every word of a line through `each`.
fn by_word(line: &str, each: impl Fn(&str) -> String) -> String {
    let (number, words, comment) = parts(line);
    let words: Vec<String> = words.split_whitespace().map(each).collect();
    [number, &words.join(" "), comment].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ")
}

fn is_code(word: &str) -> bool {
    word.starts_with(['G', 'M', 'T', 'H', 'O', 'P', 'L', '%'])
}

/// A number with a point, written with `decimals` decimals.
fn decimals(word: &str, decimals: usize) -> String {
    match word.split_at_checked(1) {
        Some((letter, number)) if !is_code(word) && number.contains('.') => {
            format!("{letter}{:.decimals$}", number.parse::<f64>().unwrap())
        }
        _ => word.to_owned(),
    }
}

/// What posts, editors and controls do to a program without changing what it does.
const REWRITES: [Rewrite; 20] = [
    ("renumbered", |line, at| match parts(line) {
        (_, "" | "%", _) => line.to_owned(),
        (_, words, comment) => format!("N{} {words} {comment}", 7 * at),
    }),
    ("without numbers", |line, _| line.strip_prefix(parts(line).0).unwrap().trim_start().to_owned()),
    ("comments dropped", |line, _| line.strip_suffix(parts(line).2).unwrap().to_owned()),
    ("other comments", |line, _| line.replace(')', ", SEE SHEET)")),
    ("lower case", |line, _| line.to_lowercase()),
    ("no blanks", |line, _| line.replace(' ', "")),
    ("many blanks", |line, _| match line {
        "%" => line.to_owned(),
        _ => format!("  {} ", line.replace(' ', "\t  ")),
    }),
    ("CR LF", |line, _| format!("{line}\r")),
    ("blank lines between", |line, _| format!("{line}\n\n")),
    ("zero-padded decimals", |line, _| by_word(line, |word| decimals(word, 5))),
    ("zero-padded codes", |line, _| {
        by_word(line, |word| match word.split_at(1) {
            (letter @ ("G" | "M" | "T"), number) if number.len() == 1 => format!("{letter}0{number}"),
            _ => word.to_owned(),
        })
    }),
    ("trailing zeros dropped", |line, _| {
        by_word(line, |word| match word.contains('.') && !is_code(word) {
            true if word.ends_with(".0") => word.trim_end_matches('0').to_owned(),
            _ => word.to_owned(),
        })
    }),
    ("plus signs", |line, _| {
        by_word(line, |word| match word.split_at(1) {
            (letter @ ("X" | "Y" | "Z"), number) if !number.starts_with('-') => format!("{letter}+{number}"),
            _ => word.to_owned(),
        })
    }),
    ("no leading zero", |line, _| line.replace("X0.", "X.0").replace("X.05", "X0.5")),
    ("words turned round", |line, _| match parts(line) {
        (_, words, _) if words.starts_with(['O', '%']) || words.contains('M') || words.contains("G4 ") => {
            line.to_owned()
        }
        (number, words, comment) => {
            let words: Vec<&str> = words.split_whitespace().rev().collect();
            format!("{number} {} {comment}", words.join(" "))
        }
    }),
    ("another head", |line, at| if at == 0 { "%\n(POSTED AGAIN)".to_owned() } else { line.to_owned() }),
    ("work offset said again", |line, _| match line.contains(" M3") {
        true => format!("{line}\nG54 G17 G40"),
        false => line.to_owned(),
    }),
    ("optional blocks without effect", |line, _| match line.contains(" M6") {
        true => format!("G80\n{line}"),
        false => line.to_owned(),
    }),
    (
        "text behind the end",
        |line, at| if at > 3 && line == "%" { "%\nG0 X1000.\n".to_owned() } else { line.to_owned() },
    ),
    ("speed said again", |line, _| match line.find('S').filter(|at| line[at + 1..].starts_with(char::is_numeric)) {
        Some(at) if parts(line).1.starts_with('S') => format!("{line}\n{}", line[at..].split(' ').next().unwrap()),
        _ => line.to_owned(),
    }),
];

#[test]
fn rewrites_that_change_nothing_are_identical_in_motion() {
    let mut wrong = String::new();
    for name in ["root_plate_op20", "hatch_op40", "battery_lid_op10", "foil_flange_op30"] {
        let Sample { text, job } = sample(name);
        let text = text.replace("\r\n", "\n");
        for (rewrite, change) in REWRITES {
            let lines: Vec<String> = text.lines().enumerate().map(|(at, line)| change(line, at)).collect();
            let new = lines.join("\n") + "\n";
            let found = changes(text.as_bytes(), new.as_bytes(), Some(&job));
            if !found.is_identical_in_motion()
                || !found.open.is_empty()
                || found.same.same_moves != found.same.old_moves
            {
                wrong.push_str(&format!("{name} {rewrite}: {:?} {:?}\n", told(&found), found.open));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn the_same_motion_written_in_another_way_is_identical() {
    let plate = "G21 G90 G17 G94\nT1 M6\nS3000 M3\nG0 X10. Y10. Z50.\n";
    let end = "G0 Z50.\nM5\nM30\n";
    let cycle = "G99 G81 X10. Y10. Z-9. R2. F90.\nX30. Y20.\nG80\n";
    let long_hand = "G0 Z2.\nG1 Z-9. F90.\nG0 Z2.\nX30. Y20.\nG1 Z-9.\nG0 Z2.\n";
    let increments = "G99 G81 X10. Y10. Z-9. R2. F90.\nG91 X20. Y10. Z-11. R-48.\nG80 G90\n";
    let by_turn = "G95 G99 G81 X10. Y10. Z-9. R2. F.03\nX30. Y20.\nG80 G94\n";
    let subprogram = format!("{plate}M98 P9\n{end}O9\n{cycle}M99\n");
    let inch = "G20 G90 G17 G94\nT1 M6\nS3000 M3\nG21 G0 X10. Y10. Z50.\n";
    let with = |head: &str, body: &str| format!("{head}{body}{end}");
    let old = with(plate, cycle);
    for new in [with(plate, long_hand), with(plate, increments), subprogram, with(inch, cycle)] {
        let found = changes(old.as_bytes(), new.as_bytes(), None);
        assert!(found.is_identical_in_motion(), "{new}: {:?}", told(&found));
    }
    let found = changes(old.as_bytes(), with(plate, by_turn).as_bytes(), None);
    assert_eq!(told(&found), ["process feed-mode 2"], "a spindle override acts on one of them alone");
}

/// Words of each change, as the report has them.
fn sentences(old: &str, new: &str) -> String {
    let changes = changes(old.as_bytes(), new.as_bytes(), None);
    lastply::render::headline(&changes)
}

#[test]
fn changes_are_told_in_the_words_of_the_shop() {
    let head = "G21 G90 G94 G17 G40 G49 G80 G98 G54\nT6 M6\nS6000 M3\nG43 H6 Z50.\n";
    let drill = "G81 X10. Y10. Z-3. R2. F100.\nX30.\nX10. Z-8.\n";
    let both = format!("{head}{drill}G80\nM5\nM30\n");
    let once = both.replace("X10. Z-8.\n", "");
    let told = sentences(&both, &once);
    assert!(told.starts_with("hole line 7: second drilling removed"), "{told}");
    let told = sentences(&both, &both.replace("M5\n", ""));
    assert!(told.contains("M5 removed") || told.contains("spindle"), "{told}");
    let round = |way: &str| format!("{head}G0 X0 Y0 Z2.\nG1 Z-5. F200.\n{way}G0 Z50.\nM30\n");
    let climb = round("X100. F800.\nY100.\nX0.\nY0.\n");
    let other = round("Y100. F800.\nX50.\nX100.\nY0.\nX0.\n");
    let told = sentences(&climb, &other);
    assert!(told.contains("path counterclockwise -> clockwise"), "{told}");
}

#[test]
fn what_could_not_be_followed_is_never_called_identical() {
    let text = b"G21 G90\nG0 X1. Y1. Z1.\n#1=[2\nIF [#1 GT 0] GOTO 10\nM30\n";
    let found = changes(text, text, None);
    assert!(found.is_identical_in_motion() && found.open.len() == 2, "{:?}", found.open);
    let other = b"G21 G90\nG0 X1. Y1. Z1.\n#1=[2\nIF [#1 GT 0] GOTO 20\nM30\n";
    assert!(!changes(text, other, None).is_identical_in_motion());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn any_program_is_identical_to_itself(text in crate::any_program::text()) {
        let found = changes(text.as_bytes(), text.as_bytes(), None);
        prop_assert_eq!(told(&found), Vec::<String>::new());
        prop_assert_eq!(found.text, lastply::compare::TextChanges::default());
    }

    #[test]
    fn any_two_programs_can_be_compared(old in crate::any_program::text(), new in crate::any_program::text()) {
        let (there, back) = (changes(old.as_bytes(), new.as_bytes(), None), changes(new.as_bytes(), old.as_bytes(), None));
        prop_assert_eq!(there.is_identical_in_motion(), back.is_identical_in_motion());
        prop_assert_eq!(there.same.old_moves, back.same.new_moves);
    }
}
