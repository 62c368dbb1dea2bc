//! The operator's sheet: what it says in words, what it must never hold, and that it stands alone.

use std::fmt::Write;
use std::fs;
use std::path::Path;
use std::process::Command;
use tempfile::TempDir;

const PLATE: &str = "programs/root_plate/root_plate_op20";

fn root(name: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(name)
}

/// A folder with a program and its job.
fn folder(program: &str, job: &str) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("part.nc"), program).unwrap();
    fs::write(folder.path().join("part.job.toml"), job).unwrap();
    folder
}

fn plate() -> (String, String) {
    let read = |ending: &str| fs::read_to_string(root(&format!("{PLATE}{ending}"))).unwrap();
    (read(".nc"), read(".job.toml"))
}

fn sheet(folder: &Path, arguments: &[&str]) -> (i32, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lastply"));
    command.args(["sheet", "part.nc", "--date", "2026-11-29"]).args(arguments).current_dir(folder).env_clear();
    let output = command.output().unwrap();
    (output.status.code().unwrap(), String::from_utf8(output.stdout).unwrap())
}

/// What a page says, a line for each row or paragraph, pictures left out.
fn words(page: &str) -> String {
    let body = page.split("<body>").nth(1).unwrap();
    let mut text = String::new();
    for (index, part) in body.split("<svg").enumerate() {
        text.push_str(if index == 0 { part } else { part.split("</svg>").nth(1).unwrap() });
    }
    for end in ["</tr>", "</p>", "</h1>", "</h2>", "</h3>", "</li>", "</dd>", "</figcaption>"] {
        text = text.replace(end, "\u{1}");
    }
    let text = text.replace("</th>", " | ").replace("</td>", " | ").replace("<br>", "; ");
    let mut plain = String::new();
    for (index, part) in text.split('<').enumerate() {
        plain.push_str(if index == 0 { part } else { part.split_once('>').unwrap().1 });
    }
    let lines = plain.split('\u{1}').map(|line| line.split_whitespace().collect::<Vec<_>>().join(" "));
    lines.filter(|line| !line.is_empty()).fold(String::new(), |mut text, line| {
        writeln!(text, "{line}").unwrap();
        text
    })
}

/// Every element that is opened is closed, in order.
fn is_balanced(page: &str) -> bool {
    let mut open: Vec<&str> = Vec::new();
    for part in page.split('<').skip(1) {
        let inside = part.split('>').next().unwrap_or_default();
        let name = inside.trim_start_matches('/').split([' ', '/', '\n']).next().unwrap_or_default();
        let empty = ["meta", "br", "!DOCTYPE"].contains(&name) || inside.ends_with('/');
        if inside.starts_with('/') {
            if open.pop() != Some(name) {
                return false;
            }
        } else if !empty {
            open.push(name);
        }
    }
    open.is_empty()
}

#[test]
fn the_root_plate_in_words() {
    let (program, job) = plate();
    let folder = folder(&program, &job);
    let (code, page) = sheet(folder.path(), &[]);
    assert_eq!(code, 0);
    assert!(is_balanced(&page));
    insta::assert_snapshot!(words(&page));
    assert_eq!(sheet(folder.path(), &[]).1, page, "the same inputs give the same bytes");
}

/// A countersink stays near the entry face: a thickness up to which it is complete would be nonsense.
#[test]
fn only_a_part_with_nothing_open_is_marked_clean() {
    let (program, job) = plate();
    let marked = |measured: &str| sheet(folder(&program, &job).path(), &["--measured", measured]).1;
    assert!(marked("thickness=38.3mm").contains(">CLEAN<"));
    let outside = marked("thickness=36mm");
    assert!(outside.contains(">OPEN<") && !outside.contains(">CLEAN<"), "{}", words(&outside));
}

#[test]
fn a_countersink_has_no_breakthrough_and_its_feeds_have_limits() {
    let read = |ending: &str| fs::read_to_string(root(&format!("programs/access_cover/access_cover_op50{ending}")));
    let folder = folder(&read(".nc").unwrap(), &read(".job.toml").unwrap());
    let (code, page) = sheet(folder.path(), &[]);
    let text = words(&page);
    assert!(code != 2 && text.contains("A: A1-A24, T5 countersink"), "{text}");
    // One for each drill.
    assert_eq!((text.matches("full diameter up to").count(), page.matches("full dia out").count()), (2, 4), "{text}");
    assert!(!text.contains("no limit of feed is known"), "{text}");
}

#[test]
fn the_page_stands_alone() {
    for name in [PLATE, "programs/hatch/hatch_op40_faulty", "programs/battery_lid/battery_lid_op10_faulty"] {
        let stem = name.trim_end_matches("_faulty");
        let read = |name: String| fs::read_to_string(root(&name)).unwrap();
        let folder = folder(&read(format!("{name}.nc")), &read(format!("{stem}.job.toml")));
        let (_, page) = sheet(folder.path(), &[]);
        assert!(page.contains("http-equiv=\"Content-Security-Policy\" content=\"default-src 'none';"));
        let bare = page.replace("http://www.w3.org/2000/svg", "").replace("url(#", "");
        for reach in ["http:", "https:", "url(", "src=\"", "href", "fetch", "import(", "@import", "<link"] {
            assert!(!bare.contains(reach), "{name} reaches out with {reach}");
        }
        assert!(is_balanced(&page) && page.len() < 2_000_000, "{name}");
    }
}

/// Base 64 (RFC 4648, section 4) of a digest in hexadecimal.
fn base64(hex: &str) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let bits: String = hex.chars().map(|digit| format!("{:04b}", digit.to_digit(16).unwrap())).collect();
    let letter = |bits: &[u8]| {
        let text = format!("{:0<6}", std::str::from_utf8(bits).unwrap());
        char::from(LETTERS[usize::from_str_radix(&text, 2).unwrap()])
    };
    let mut text: String = bits.as_bytes().chunks(6).map(letter).collect();
    while !text.len().is_multiple_of(4) {
        text.push('=');
    }
    text
}

#[test]
fn the_only_script_a_page_lets_run_is_its_own() {
    let (program, job) = plate();
    let folder = folder(&program, &job);
    let (_, page) = sheet(folder.path(), &[]);
    let script = page.split("<script type=\"module\">").nth(1).unwrap().split("</script>").next().unwrap();
    let digest = base64(&lastply::source::sha256(script.as_bytes()));
    assert!(page.contains(&format!("script-src 'sha256-{digest}';")), "the policy of the page needs 'sha256-{digest}'");
}

#[test]
fn names_cannot_break_out_of_the_page() {
    let (program, job) = plate();
    let job = job
        .replace("\"KR-RP-07\"", "\"<script>alert(1)</script>\"")
        .replace("revision = \"C\"", "revision = '\"; } body { display: none } </style>'")
        .replace("id = \"C4\"", "id = \"<b>C4\"");
    let folder = folder(&program, &job);
    let (_, page) = sheet(folder.path(), &[]);
    assert!(
        page.matches("<script").count() == 1
            && !page.contains("<script>")
            && !page.contains("<b>C4")
            && page.contains("alert(1)")
    );
    assert_eq!(page.matches("</style>").count(), 1);
    assert!(is_balanced(&page));
}

#[test]
fn a_restart_says_what_its_tool_call_states_and_what_it_does_not() {
    let (program, job) = plate();
    let program = program.replace("N1910 T13 M6", "N1905 G21 G90 G17 G54\nN1910 G21 G90 G54 T13 M6");
    let folder = folder(&program, &job);
    let (_, page) = sheet(folder.path(), &[]);
    let words = words(&page);
    let row = |head: &str| words.lines().find(|line| line.starts_with(head)).unwrap().to_owned();
    assert_eq!(
        row("N1910, T13"),
        "N1910, T13 diamond-coated drill 11.7 | to N1950, Z50 | G21 G90 G54 G43 H13 S4000 M3 F180 G98 | N1905: G17; N10: G94 G40; \
         N30: dust extraction (switch it on) | D1-D4 |"
    );
    // Turns of the helix count in increments, but the tool call is followed by absolute moves.
    assert!(row("N2150, T12").contains("| G43 H12 S6000 M3 F231 | N1910: G21 G90 G54;"), "{}", row("N2150, T12"));
}

/// A program that calls `sub` with its tools inside, on the root plate.
fn called(sub: &str) -> String {
    let program = format!(
        "%\nO20\nN1 G21 G17 G90 G94 G98 G40 G49 G80 G54\nN10 M98 P8001\nN20 G0 Z50.\nN30 M98 P8002\nN40 G0 Z100. M5\nM30\n\
         O8001\nN101 G17 G40\nM99\nO8002\n{sub}M99\n%\n"
    );
    let folder = folder(&program, &plate().1);
    words(&sheet(folder.path(), &[]).1)
}

const FIRST: &str =
    "N201 T11 M6\nN202 S2650 M3\nN203 G43 H11 Z50.\nN204 G0 X390. Y0.\nN205 G1 Z-10. F159.\nN206 G0 Z50.\n";
const SECOND: &str =
    "N211 T13 M6\nN212 S4000 M3\nN213 G43 H13 Z50.\nN214 G0 X0. Y390.\nN215 G1 Z-9. F180.\nN216 G0 Z50.\n";

#[test]
fn a_tool_called_inside_a_subprogram_is_taken_up_at_the_call() {
    let words = called(FIRST);
    let row = words.lines().find(|line| line.starts_with("N30, which leads to N201")).unwrap();
    // Words of the other subprogram were set before the call, wherever they stand in the file.
    assert_eq!(
        row,
        "N30, which leads to N201, T11 carbide drill 12.0 | all of it | G43 H11 S2650 M3 F159 | \
         N1: G21 G90 G94 G54; N101: G17 G40 | #1 |",
        "{words}"
    );
    assert!(!words.contains("No restart of its own"), "{words}");
}

#[test]
fn a_second_tool_of_a_subprogram_is_named_with_the_restart_that_leads_to_it() {
    let words = called(&format!("{FIRST}{SECOND}"));
    let row = words.lines().find(|line| line.starts_with("N30, which leads to N201")).unwrap();
    assert!(row.ends_with("| #1, #2 |"), "all of it makes both again: {row}");
    assert!(words.contains("T13 diamond-coated drill 11.7 at N211: from N30."), "{words}");
    let untooled = FIRST.replace("N201 T11 M6\n", "").replace("H11", "H0");
    let words = called(&format!("{untooled}{SECOND}"));
    assert!(words.contains("No tool call leads to a cut") && words.contains("at N211: from the top."), "{words}");
}

#[test]
fn what_was_measured_and_what_is_not_known_stand_on_the_sheet() {
    let (program, job) = plate();
    let folder = folder(&program, &job.replace("stick_out = 75\n", ""));
    let (code, page) = sheet(folder.path(), &["--measured", "thickness=39.6mm", "--paper", "letter"]);
    let words = words(&page);
    assert_eq!(code, 3, "without the stick-out nobody can tell whether the holder clears the clamp");
    assert!(page.contains("@page { size: letter;") && words.contains("measured 2026-11-29, laid over part.job.toml"));
    assert!(words.contains("yes | H, T11 carbide drill 12.0: 36 holes complete"), "{words}");
    assert!(words.contains("? not checked: see below") && words.contains("tool.11.stick_out"), "{words}");
}

#[test]
fn a_sheet_goes_into_a_file_when_asked_and_a_program_without_a_job_has_one_too() {
    let (program, job) = plate();
    let folder = folder(&program, &job);
    let (code, out) = sheet(folder.path(), &["--out", "sheet.html"]);
    assert_eq!((code, out.as_str()), (0, ""));
    let page = fs::read_to_string(folder.path().join("sheet.html")).unwrap();
    assert!(page.ends_with("</html>\n"), "the page is whole");
    fs::remove_file(folder.path().join("part.job.toml")).unwrap();
    let (code, page) = sheet(folder.path(), &[]);
    assert_ne!(code, 0);
    assert!(words(&page).contains("none: nothing was judged by a laminate"));
}

#[test]
fn five_thousand_moves_stay_below_two_megabytes() {
    let (_, job) = plate();
    let mut program =
        "%\nN1 G21 G17 G90 G94 G98 G40 G49 G80\nN2 G54\nN3 T11 M6\nN4 S2650 M3\nN5 G43 H11 Z50.\n".to_owned();
    for number in 0..1250 {
        let (x, y) = (number % 50 * 15 - 370, number / 50 * 15 - 180);
        writeln!(program, "G0 X{x}. Y{y}.\nG1 Z-33.7 F159.\nZ-43.8 F79.5\nG0 Z3.").unwrap();
    }
    let folder = folder(&(program + "M30\n%\n"), &job);
    let (_, page) = sheet(folder.path(), &[]);
    assert!(page.len() < 2_000_000, "{} bytes", page.len());
}

fn row<'a>(words: &'a str, head: &str) -> &'a str {
    words.lines().find(|line| line.starts_with(head)).unwrap_or_else(|| panic!("no row {head} in {words}"))
}

#[test]
fn a_tool_comes_near_by_its_own_length_offset_and_holes_are_taken_up_behind_it() {
    let (program, job) = plate();
    let words = words(&sheet(folder(&program, &job).path(), &[]).1);
    assert!(words.contains("T13 diamond-coated drill 11.7 | N1910 | N1940 Z50 |"), "{words}");
    assert!(row(&words, "D1 |").starts_with("D1 | N1960, N2080 |"), "{}", row(&words, "D1 |"));
    assert!(row(&words, "H1 |").starts_with("H1 | N100, "), "{}", row(&words, "H1 |"));
    assert!(row(&words, "D2 |").starts_with("D2 | N1970* F180., N2090* F160. |"), "{}", row(&words, "D2 |"));
    assert!(row(&words, "N1910, T13").contains("F180") && row(&words, "N1910, T13").contains("G98"));
}

#[test]
fn an_edge_is_taken_up_at_the_rapid_that_leads_to_it() {
    let read = |ending: &str| fs::read_to_string(root(&format!("programs/hatch/hatch_op40{ending}"))).unwrap();
    let words = words(&sheet(folder(&read(".nc"), &read(".job.toml")).path(), &[]).1);
    assert!(row(&words, "OUT, outline").contains(": line 167"), "{}", row(&words, "OUT, outline"));
    assert!(row(&words, "line 99, T3").ends_with("| S1, S2, other cuts, OUT |"), "{}", row(&words, "line 99, T3"));
}

#[test]
fn what_was_measured_does_not_become_what_is_asked_for() {
    let (program, job) = plate();
    let folder = folder(&program, &job);
    let arguments = ["--measured", "thickness=39.6mm", "--tool", "11:stickout=61mm"];
    let words = words(&sheet(folder.path(), &arguments).1);
    assert!(words.contains("| 75 mm; measured 61 mm |"), "{words}");
    assert!(words.contains("38.3 mm, 36.385 mm to 40.215 mm; measured 39.6 mm"), "{words}");
}

#[test]
fn a_waived_limit_counts_as_far_as_its_waiver_goes() {
    let (program, job) = plate();
    let words = words(&sheet(folder(&program, &job).path(), &[]).1);
    assert!(words.contains("feed override 89 % to 100 % (WV-012)") && words.contains("feed override 100 % only"));
    assert!(!words.contains("no feed override keeps every limit"), "{words}");
    let two_holes = job.replace("holes = [\"D1\", \"D2\", \"D3\", \"D4\"]", "holes = [\"D1\", \"D2\"]");
    let (_, page) = sheet(folder(&program, &two_holes).path(), &[]);
    assert!(page.contains("no feed override keeps every limit"), "a waiver for some holes is none for all of them");
}
