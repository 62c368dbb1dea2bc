//! The command as a person meets it: exit codes, streams, bad input, colour and width.

use std::fs::{self, File};
use std::path::Path;
use std::process::{Command, Output, Stdio};
use tempfile::TempDir;

/// A plate with two holes that fall a little short of being through, and feed too fast at the exit.
const PROGRAM: &str = "%\nO0010 (PLATE)\nN10 G21 G90 G94 G17 G40 G49 G80\nN20 T6 M6\nN30 S3183 M3 M7\n\
    N40 G54 G0 X20. Y20.\nN50 G43 H6 Z50.\nN60 G99 G81 X20. Y20. Z-8.4 R2. F159.\nN70 X40.\nN80 G80\n\
    N90 G0 Z100.\nN100 M9\nN110 M5\nN120 M30\n%\n";

/// A folder with the program and its job.
fn folder() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let job = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/jobs/plate.toml");
    fs::write(folder.path().join("plate.nc"), PROGRAM).unwrap();
    fs::copy(job, folder.path().join("plate.job.toml")).unwrap();
    folder
}

/// The command with an environment of its own, so that the tester's colours and width do not matter.
fn lastply(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lastply"));
    command.args(arguments).current_dir(folder).env_clear().stdin(Stdio::null());
    command
}

/// Runs it.
fn run(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    told(&lastply(folder, arguments).output().unwrap())
}

fn told(output: &Output) -> (i32, String, String) {
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    (output.status.code().unwrap_or(-1), text(&output.stdout), text(&output.stderr))
}

#[test]
fn help_names_every_command_and_fits_80_columns() {
    let folder = folder();
    let (code, out, err) = run(folder.path(), &["--help"]);
    assert_eq!((code, err.as_str()), (0, ""));
    insta::assert_snapshot!("help", out);
    for command in ["check", "moves", "holes", "patch", "tune", "fit", "start", "rules", "schema", "editor"] {
        let (code, out, _) = run(folder.path(), &[command, "--help"]);
        assert_eq!(code, 0, "{command}");
        assert!(out.contains("Usage: lastply"), "{command}: {out}");
    }
}

#[test]
fn bad_arguments_are_exit_code_2_on_standard_error() {
    let folder = folder();
    for arguments in [&["--colour"][..], &["chek"], &["check"], &["check", "plate.nc", "--date", "2026-02-30"], &[]] {
        let (code, out, err) = run(folder.path(), arguments);
        assert_eq!((code, out.as_str()), (2, ""), "{arguments:?}");
        assert!(!err.is_empty(), "{arguments:?}");
    }
}

/// The trim job's panel of 7.874 x 3.937 in: its upper edge, then a slot entered down a ramp.
const INCH: &str = "G20 G90 G94 G17 G40 G49 G80 G54\nT2 M6\nS15000 M3 M7\nG0 G43 H2 X-.8 Y4.134 Z.2\nG0 Z-.27\n\
    G1 X8.66 F39.\nG0 Z.2\nG0 X3.032 Y1.89\nG0 Z.04\nG1 X4.842 Z-.08\nX3.032 Z-.2\nX4.842 Z-.27\nX3.032\nX4.842\n\
    G3 Y2.047 J.0787\nG1 X3.032\nG0 Z.2\nM30\n";

#[test]
fn edges_and_times_read_well_in_80_columns_in_mm_and_inch() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let (_, metric, _) = run(root, &["edges", "programs/hatch/hatch_op40_faulty.nc"]);
    for row in [
        "  line                53          180     2400      1      0.1     949  stop\n",
        "  line                20          180     2400      1      0.1    1342  stop\n",
        "  inside R5         15.7     138..179     2400    2.2     0.22    2400  -\n",
    ] {
        assert!(metric.contains(row), "{metric}");
    }
    let folder = folder();
    let job = fs::read_to_string(root.join("tests/jobs/trim.toml")).unwrap();
    fs::write(folder.path().join("trim.job.toml"), job).unwrap();
    fs::write(folder.path().join("trim.nc"), INCH).unwrap();
    let (_, inch, _) = run(folder.path(), &["edges", "trim.nc"]);
    assert!(metric.lines().chain(inch.lines()).all(|line| line.chars().count() <= 80), "{metric}{inch}");
    insta::assert_snapshot!("edges_inch", inch);
}

#[test]
fn a_whole_report_reads_well_in_80_columns() {
    let folder = folder();
    let (_, out, err) = run(folder.path(), &["check", "plate.nc", "--date", "2026-11-02"]);
    assert_eq!(err, "");
    assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");
    assert!(out.is_ascii());
    insta::assert_snapshot!("check", out);
}

#[test]
fn exit_codes_tell_findings_from_what_could_not_be_concluded() {
    let folder = folder();
    let path = folder.path();
    let (without_job, _, err) = run(path, &["check", "plate.nc", "--tools", "plate.job.toml"]);
    assert_eq!(without_job, 2, "a job file is no tool table: {err}");
    assert_eq!(run(path, &["check", "plate.nc"]).0, 1, "the hole is not through");
    assert_eq!(run(path, &["check", "plate.nc", "--exit-zero"]).0, 0);
    fs::write(path.join("shallow.nc"), PROGRAM.replace("Z-8.4", "Z-3.")).unwrap();
    let shallow = ["check", "shallow.nc", "--job", "plate.job.toml"];
    assert_eq!(run(path, &shallow).0, 0, "{}", run(path, &shallow).1);
    assert_eq!(run(path, &[&shallow[..], &["--fail-on", "warning"]].concat()).0, 1);
    fs::write(path.join("lone.nc"), PROGRAM).unwrap();
    let (code, out, err) = run(path, &["check", "lone.nc", "--fail-on", "error"]);
    assert_eq!(code, 3, "{out}");
    assert!(err.contains("no job file for `lone.nc`; `lastply start lone.nc` drafts one"), "{err}");
    assert!(out.replace("\n  ", " ").contains("checks not run") && out.contains("`job.laminate`"), "{out}");
}

#[test]
fn unusable_input_is_said_plainly() {
    let folder = folder();
    let path = folder.path();
    fs::create_dir(path.join("empty")).unwrap();
    fs::write(path.join("broken.job.toml"), "[job]\npart = \"A\"\nlaminat = \"x\"\n").unwrap();
    let rules = "[job]\npart = \"A\"\nentry_z = \"0 mm\"\n[rules]\nexit-fed-high = \"allow\"\nxyz = \"note\"\n";
    fs::write(path.join("rules.job.toml"), rules).unwrap();
    fs::write(path.join("picture.nc"), b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR\0\0\x01\0\0\0\x01\0\x08\x06").unwrap();
    let mut said = String::new();
    for arguments in [
        &["check", "missing.nc"][..],
        &["check", "picture.nc"],
        &["check", "plate.nc", "--job", "picture.nc"],
        &["check", "empty"],
        &["holes", "empty"],
        &["check", "plate.nc", "--job", "missing.toml"],
        &["check", "plate.nc", "--job", "broken.job.toml"],
        &["check", "plate.nc", "--job", "rules.job.toml"],
        &["check", "plate.nc", "--dialect", "martian"],
        &["rules", "exit-fed-high"],
        &["rules", "xyz"],
    ] {
        let (code, out, err) = run(path, arguments);
        assert_eq!((code, out.as_str()), (2, ""), "{arguments:?}");
        said.push_str(&format!("$ lastply {}\n{err}\n", arguments.join(" ")));
    }
    insta::assert_snapshot!("unusable", said);
}

#[test]
fn odd_files_are_read_to_their_end() {
    let folder = folder();
    let path = folder.path();
    let odd: [(&str, &[u8]); 4] = [
        ("empty.nc", b""),
        ("zeros.nc", &[0; 4096]),
        ("escape.nc", &[b"(\xff\xfe \0 Fl\xe4che \x1b[31m)\n".as_slice(), &b"G1 X1 F100\n".repeat(9)].concat()),
        ("cr.nc", b"G0 X1\rG1 Y2\r"),
    ];
    for (name, bytes) in odd {
        fs::write(path.join(name), bytes).unwrap();
        let (code, out, err) = run(path, &["check", name, "--job", "plate.job.toml"]);
        assert!([0, 1, 3].contains(&code), "{name}: {code} {err}");
        assert!(out.contains("understood") && !out.contains('\u{1b}'), "{name}: {out}");
    }
}

#[test]
fn one_unreadable_program_does_not_hide_the_others() {
    let folder = folder();
    let (code, out, err) = run(folder.path(), &["check", "missing.nc", "plate.nc"]);
    assert_eq!(code, 2);
    assert!(out.contains("plate.nc, judged by plate.job.toml"), "{out}");
    assert!(err.contains("cannot read `missing.nc`: there is no such file"), "{err}");
    assert!(!err.contains("programs checked"), "progress is for terminals: {err}");
}

#[test]
fn colour_is_used_only_when_asked_for_outside_a_terminal() {
    let folder = folder();
    let path = folder.path();
    let check = ["check", "plate.nc"];
    assert!(!run(path, &check).1.contains('\u{1b}'));
    let always = [&check[..], &["--color", "always"]].concat();
    assert!(run(path, &always).1.contains("\u{1b}[38;5;208"));
    let output = lastply(path, &always).env("NO_COLOR", "1").output().unwrap();
    assert!(told(&output).1.contains('\u{1b}'), "an explicit --color outranks NO_COLOR");
    let plain = run(path, &[&check[..], &["--color", "never"]].concat()).1;
    let coloured = run(path, &always).1;
    let words: String =
        coloured.split('\u{1b}').map(|part| part.split_once('m').map_or(part, |(_, rest)| rest)).collect();
    assert_eq!(words.len(), plain.len(), "colour carries nothing that words do not");
}

#[test]
fn json_keeps_its_schema_and_tells_both_answers() {
    let folder = folder();
    let path = folder.path();
    let (_, schema, _) = run(path, &["schema", "--output"]);
    let schema = serde_json::from_str(&schema).unwrap();
    let (code, out, _) = run(path, &["check", "plate.nc", "--format", "json"]);
    let document: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert!(jsonschema::is_valid(&schema, &document), "{out}");
    assert_eq!(document["exit"]["code"], code);
    assert_eq!(document["programs"][0]["program"], "plate.nc");
    assert_eq!(run(path, &["check", "plate.nc", "--format", "json"]).1, out, "two runs, one text");
}

#[test]
fn the_job_file_schema_takes_the_sample_job() {
    let folder = folder();
    let (code, out, _) = run(folder.path(), &["schema"]);
    assert_eq!(code, 0);
    let schema: serde_json::Value = serde_json::from_str(&out).unwrap();
    let job: toml::Value = toml::from_str(&fs::read_to_string(folder.path().join("plate.job.toml")).unwrap()).unwrap();
    assert!(jsonschema::is_valid(&schema, &serde_json::to_value(job).unwrap()));
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let folder = folder();
    let mut child = lastply(folder.path(), &["schema"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(told(&output), (0, String::new(), String::new()));
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_under_standard_output_is_told() {
    let folder = folder();
    let full = File::options().write(true).open("/dev/full").unwrap();
    let output = lastply(folder.path(), &["schema"]).stdout(full).stderr(Stdio::piped()).output().unwrap();
    let (code, _, err) = told(&output);
    assert_eq!((code, err.trim()), (2, "cannot write standard output: the disk is full"));
}

#[test]
fn a_patch_is_a_diff_and_files_change_only_when_asked() {
    let folder = folder();
    let path = folder.path();
    let names = |path: &Path| fs::read_dir(path).unwrap().count();
    let (code, diff, err) = run(path, &["patch", "plate.nc"]);
    assert_eq!(code, 0, "{err}");
    assert!(diff.starts_with("--- a/plate.nc\n+++ b/plate.nc\n@@ "), "{diff}");
    assert!(err.contains("cured  not-through:") && err.contains("A patch is a proposal."), "{err}");
    assert_eq!((fs::read_to_string(path.join("plate.nc")).unwrap().as_str(), names(path)), (PROGRAM, 2));

    assert_eq!(run(path, &["patch", "plate.nc", "--write", "new.nc"]).1, diff);
    let new = fs::read_to_string(path.join("new.nc")).unwrap();
    let (_, out, err) = run(path, &["patch", "plate.nc", "--in-place", "--format", "json"]);
    assert!(err.contains("wrote `plate.nc`; as it was: `plate.nc.bak`"), "{err}");
    assert_eq!(fs::read_to_string(path.join("plate.nc")).unwrap(), new);
    assert_eq!((fs::read_to_string(path.join("plate.nc.bak")).unwrap().as_str(), names(path)), (PROGRAM, 4));
    let document: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!((document["diff"].as_str(), document["program"].as_str()), (Some(diff.as_str()), Some("plate.nc")));
    assert_eq!(run(path, &["patch", "plate.nc"]).1, "", "nothing is left to cure");
}

#[test]
fn moves_come_as_table_csv_and_json() {
    let folder = folder();
    let path = folder.path();
    let (code, table, err) = run(path, &["moves", "plate.nc"]);
    assert_eq!((code, err.as_str()), (0, ""));
    insta::assert_snapshot!("moves", table);
    let plate = Path::new(env!("CARGO_MANIFEST_DIR")).join("programs/root_plate/root_plate_op20.nc");
    let (_, table, _) = run(path, &["moves", &plate.to_string_lossy()]);
    assert!(table.lines().nth(1) == Some("units: mm, degrees, mm/min, rev/min"), "{table}");
    assert!(table.lines().all(|line| line.chars().count() <= 80), "{table}");
    let (_, csv, _) = run(path, &["moves", "plate.nc", "--format", "csv"]);
    assert!(csv.starts_with("line,n,kind,x,y,z,a,b,c,i,j,k,feed,rpm,sense,tool,step\n"), "{csv}");
    let (_, json, _) = run(path, &["moves", "plate.nc", "--format", "json"]);
    let document: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(document["moves"].as_array().unwrap().len(), csv.lines().count() - 1);
    fs::write(path.join("odd.nc"), "G21 G90\nG0 X1 Y1 Z1\nG2 X5 F100\nM30\n").unwrap();
    let (code, out, err) = run(path, &["moves", "odd.nc"]);
    let err = err.replace("\n ", "");
    assert!(
        code == 3 && out.contains("rapid") && err.contains("`lastply check odd.nc` names them"),
        "{code} {out} {err}"
    );
}

#[test]
fn a_tool_table_gives_the_diameter_that_g41_keeps_off() {
    let folder = folder();
    let path = folder.path();
    fs::write(path.join("tools.toml"), "[tool.6]\nlength = 120.0\ndiameter = 6.0\n").unwrap();
    let text = "G21 G90 G94 G17\nT6 M6\nG0 X0 Y0 Z0\nG41 D6\nG1 Y50. F100.\nG1 X50.\nM30\n";
    fs::write(path.join("side.nc"), text).unwrap();
    let side = ["moves", "side.nc", "--format", "csv"];
    let (code, with, err) = run(path, &[&side[..], &["--tools", "tools.toml"]].concat());
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(with.contains(",line,50,53,"), "{with}");
    let (code, without, _) = run(path, &side);
    assert!(code == 3 && !without.contains(",line,50,53,"), "{without}");
}

#[test]
fn a_drafted_job_is_a_job() {
    let folder = folder();
    let path = folder.path();
    let (code, draft, err) = run(path, &["start", "plate.nc"]);
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(draft.contains("#[tool.6]") && draft.contains("2 holes, G81, S3183, 159 mm/min, down to Z-8.4"), "{draft}");
    fs::write(path.join("plate.job.toml"), draft).unwrap();
    let (_, out, err) = run(path, &["check", "plate.nc"]);
    assert!(out.contains("plate.nc, judged by plate.job.toml") && out.contains("`tool.6`"), "{out}{err}");
    assert!(!out.contains("tool-unknown:"), "a tool not described yet is no error: {out}");
    let cover = Path::new(env!("CARGO_MANIFEST_DIR")).join("programs/access_cover/access_cover_op50.nc");
    let (_, draft, _) = run(path, &["start", &cover.to_string_lossy()]);
    assert!(draft.contains("#tools = [4, 5]") && draft.matches("#[[holes]]").count() == 2, "{draft}");
    assert!(draft.contains("#known_codes = { 51 = \"EXTRACTION ON\", 59 = \"EXTRACTION OFF\" }"), "{draft}");
    assert!(draft.lines().all(|line| line.starts_with('#') || line.chars().count() <= 80), "{draft}");
}

#[test]
fn subprograms_are_found_beside_the_program() {
    let folder = folder();
    let path = folder.path();
    let text = "%\nO0001\nG21 G90 G94 G17\nT6 M6\nS3183 M3\nG54 G0 X0 Y0\nG43 H6 Z50.\nM98 P8001\nM30\n%\n";
    fs::write(path.join("main.nc"), text).unwrap();
    let (_, out, _) = run(path, &["check", "main.nc"]);
    assert!(out.contains("subprogram-missing"), "{out}");
    fs::write(path.join("o8001.nc"), "O8001\nG1 Z10. F100.\nM99\n").unwrap();
    let (_, out, _) = run(path, &["check", "main.nc"]);
    assert!(!out.contains("subprogram-missing"), "{out}");
    assert!(run(path, &["moves", "main.nc"]).1.contains("-- in o8001.nc"));
}

#[test]
fn trials_become_a_law_and_a_picture() {
    let folder = folder();
    let path = folder.path();
    let trials = "feed_mm_rev,diameter_mm,thrust_N\n0.02,6,60\n0.04,6,85\n0.08,6,119\n";
    fs::write(path.join("trials.csv"), trials).unwrap();
    let (code, out, err) = run(path, &["fit", "trials.csv", "--tool", "6", "--plot", "law.svg"]);
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(out.contains("[tool.6.thrust]") && out.parse::<toml::Table>().is_ok(), "{out}");
    assert!(fs::read_to_string(path.join("law.svg")).unwrap().contains("<polyline"));
    fs::write(path.join("two.csv"), "feed_mm_rev,diameter_mm,thrust_N\n0.02,6,60\n0.08,6,120\n").unwrap();
    let (code, out, err) = run(path, &["fit", "two.csv"]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(err.contains("`two.csv`: 2 trials give no law"), "{err}");
    fs::write(path.join("bad.csv"), "feed_mm_rev,diameter_mm,thrust_N\n0.02,6,abc\n").unwrap();
    let (code, _, err) = run(path, &["fit", "bad.csv"]);
    assert_eq!(code, 2);
    assert!(err.contains("row 2, column `thrust_N`: `abc` is no number") && err.contains("bad.csv:2"), "{err}");
}
