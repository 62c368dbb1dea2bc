//! What an operator measures before the first article: yes or no, with the margin, and the job file left alone.

use std::fs;
use std::path::Path;
use std::process::Command;
use tempfile::TempDir;

const NAME: &str = "root_plate_op20";

/// The root plate with its holes 1 mm shallower than posted.
fn shallow() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("programs/root_plate");
    let program = fs::read_to_string(from.join(format!("{NAME}.nc"))).unwrap();
    fs::write(folder.path().join(format!("{NAME}.nc")), program.replace("Z-43.8", "Z-42.8")).unwrap();
    let job = format!("{NAME}.job.toml");
    fs::copy(from.join(&job), folder.path().join(&job)).unwrap();
    folder
}

fn check(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lastply"));
    let program = format!("{NAME}.nc");
    command.args(["check", &program, "--date", "2026-11-29"]).args(arguments).current_dir(folder).env_clear();
    let output = command.output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

#[test]
fn a_plate_that_measures_thick_is_answered_hole_group_by_hole_group() {
    let folder = shallow();
    let job = folder.path().join(format!("{NAME}.job.toml"));
    let before = fs::read(&job).unwrap();
    let (code, out, _) = check(folder.path(), &["--measured", "thickness=39.6mm"]);
    // Point of the drill 6 / tan 60 deg = 3.464 mm: 42.8 - 3.464 = 39.336, and 39.6 + 0.1 + 3.464 = 43.164.
    let section = out.split("\nmeasured 2026-11-29").nth(1).unwrap().split("\n\n").next().unwrap();
    insta::assert_snapshot!(section);
    assert_eq!(code, 1);
    assert_eq!(fs::read(&job).unwrap(), before);
    let (code, out, _) = check(folder.path(), &["--measured", "thickness=38.3mm"]);
    assert!(code == 0 && !out.contains("\n  no "), "{out}");
}

#[test]
fn a_short_tool_is_held_against_what_stands_around_the_part() {
    let folder = shallow();
    let (code, out, _) = check(folder.path(), &["--tool", "11:stickout=61mm", "--format", "json"]);
    let document: serde_json::Value = serde_json::from_str(&out).unwrap();
    let measured = &document["programs"][0]["measured"];
    let answers = measured["answers"].as_array().unwrap();
    let clamp = answers.iter().find(|one| one["text"].as_str().unwrap().contains("from C4")).unwrap();
    // Holder at -42.8 + 61 = 18.2, clamp up to 22 and placed to 1 mm: 4.8 mm too deep; 14 mm more stand-out clears it
    // by 9.2 mm, and then the drill's own way past the clamp is the nearest.
    assert_eq!((clamp["answer"].as_str(), clamp["margin"]["value"].as_f64()), (Some("no"), Some(-4.8)));
    assert_eq!((code, measured["date"].as_str()), (1, Some("2026-11-29")));
    let (_, out, _) = check(folder.path(), &["--tool", "11:stickout=80mm"]);
    assert!(out.contains("  yes    T11") && !out.contains("  no     T11"), "{out}");
}

#[test]
fn what_cannot_be_measured_is_exit_code_2() {
    let folder = shallow();
    for (arguments, words) in [
        (["--measured", "thicknes=39.6mm"], "did you mean `thickness`?"),
        (["--measured", "thickness=39.6kg"], "units: mm, in, um, m"),
        (["--tool", "15:stickout=61mm"], "T15 is not in root_plate_op20.job.toml; it lists T11, T12, T13, T14"),
        (["--tool", "11:stikout=61mm"], "did you mean `stick_out`?"),
    ] {
        let (code, out, err) = check(folder.path(), &arguments);
        assert!(code == 2 && out.is_empty() && err.contains(words), "{arguments:?}: {err}");
    }
    fs::remove_file(folder.path().join(format!("{NAME}.job.toml"))).unwrap();
    let (code, _, err) = check(folder.path(), &["--measured", "thickness=39.6mm"]);
    assert!(code == 2 && err.contains("lies over a job file"), "{err}");
}

/// A sample of `programs` with its job file.
fn sample(folder: &str, name: &str) -> TempDir {
    let copy = tempfile::tempdir().unwrap();
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("programs").join(folder);
    for ending in ["nc", "job.toml"] {
        let file = format!("{name}.{ending}");
        fs::copy(from.join(&file), copy.path().join(&file)).unwrap();
    }
    copy
}

/// A report without its line breaks.
fn plain(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn plate() -> TempDir {
    sample("root_plate", NAME)
}

#[test]
fn a_holder_that_goes_into_the_part_is_a_finding_and_a_no() {
    let (code, out, _) = check(plate().path(), &["--tool", "14:stickout=10mm"]);
    assert_eq!(code, 1, "{out}");
    let words = plain(&out);
    assert!(words.contains("clearance-short: holder of T14 goes 33 mm below the entry face"), "{words}");
    assert!(words.contains("no T14 reamer 12.0 H8: holder -33 mm from the part, line 214 N2080; 37 mm by"), "{words}");
    // The reamer goes to Z-43: a stick-out of 43 mm brings the holder to the face and not below it.
    let (code, out, _) = check(plate().path(), &["--tool", "14:stickout=43.1mm"]);
    assert!(code == 0 && !out.contains("below the entry face"), "{out}");
}

#[test]
fn the_filed_clearance_is_that_of_the_same_holder_at_the_same_block() {
    let (_, out, _) = check(plate().path(), &["--tool", "11:stickout=61mm"]);
    // 14 mm less stick-out lowers the holder by 14 mm: -5.8 mm now was 8.2 mm.
    assert!(plain(&out).contains("holder -5.8 mm from C4, mostly in Z, line 56 N520; 8.2 mm by the job file"), "{out}");
}

#[test]
fn slow_feed_posted_for_the_whole_tolerance_stands_on_a_part_that_measures_thick() {
    let (code, out, _) = check(plate().path(), &["--measured", "thickness=39.6mm"]);
    assert!(code == 0 && !out.contains("chip-load-below-floor"), "{out}");
}

#[test]
fn no_feed_is_advised_beyond_the_limit_of_the_same_stroke() {
    let folder = plate();
    let program = folder.path().join(format!("{NAME}.nc"));
    let text = fs::read_to_string(&program).unwrap();
    // The slow feed begins far above the exit and runs on through it.
    fs::write(&program, text.replace("G1 Z-33.7 F159.", "G1 Z-20. F159.")).unwrap();
    let (_, out, _) = check(folder.path(), &[]);
    let finding = out.split("chip-load-below-floor").nth(1).unwrap().split("\n\n").next().unwrap();
    let words = plain(finding);
    assert!(words.contains("start the slow feed of 79.5 mm/min or less at Z-33.77"), "{words}");
    let (_, out, _) = check(folder.path(), &["--format", "json"]);
    let document: serde_json::Value = serde_json::from_str(&out).unwrap();
    let findings = document["programs"][0]["findings"].as_array().unwrap();
    let slow = findings.iter().find(|one| one["rule"] == "chip-load-below-floor").unwrap();
    assert!(slow["remedy"].is_null(), "no patch and no editor may offer it: {slow}");
    let (_, out, _) = check(folder.path(), &["--measured", "thickness=39.6mm"]);
    let words = plain(&out);
    assert!(words.contains("start the slow feed of 79.5 mm/min or less at Z-36.99"), "{words}");
}

#[test]
fn a_measured_laminate_has_no_range_in_the_arithmetic() {
    let folder = plate();
    let program = folder.path().join(format!("{NAME}.nc"));
    let text = fs::read_to_string(&program).unwrap().replace("Z-43.8 F79.5", "Z-43.8 F159.");
    fs::write(&program, text).unwrap();
    let (_, out, _) = check(folder.path(), &["--measured", "thickness=39.6mm"]);
    let words = plain(&out);
    assert!(words.contains("laminate 39.6 mm as measured, from 2.61 mm above its exit"), "{words}");
    assert!(!words.contains("39.6 mm to 39.6 mm"), "{words}");
}

#[test]
fn a_part_outside_its_tolerance_is_a_warning_and_a_slip_of_the_pen_is_refused() {
    let folder = sample("battery_lid", "battery_lid_op10");
    let lid = |amount: &str, more: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_lastply"));
        command.args(["check", "battery_lid_op10.nc", "--date", "2026-11-29", "--measured", amount]);
        let output = command.args(more).current_dir(folder.path()).env_clear().output().unwrap();
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
    };
    let (code, out, _) = lid("thickness=.41in", &["--fail-on", "warning"]);
    assert!(code == 1 && out.contains("part-outside-tolerance: carbon-aluminium measures 0.41 in"), "{out}");
    assert!(out.contains("1 warning"), "{out}");
    let (code, out, err) = lid("thickness=.41mm", &[]);
    assert!(code == 2 && out.is_empty() && err.contains("is the unit right?"), "{err}");
}

#[test]
fn one_measured_part_is_not_laid_over_a_folder_of_programs() {
    let folder = plate();
    let program = folder.path().join(format!("{NAME}.nc"));
    fs::copy(&program, folder.path().join("other.nc")).unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_lastply"));
    let output = command.args(["check", ".", "--measured", "thickness=39.6mm"]).current_dir(folder.path()).env_clear();
    let output = output.output().unwrap();
    let err = String::from_utf8(output.stderr).unwrap();
    assert!(
        output.status.code() == Some(2) && plain(&err).contains("name one program to check with it, not 2"),
        "{err}"
    );
}
