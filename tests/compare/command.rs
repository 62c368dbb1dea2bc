//! `lastply compare` as a reviewer meets it: whole outputs, exit codes, JSON against its schema.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use tempfile::TempDir;

/// A folder with the sample programs and their jobs.
fn folder() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("programs");
    for part in ["root_plate", "hatch", "battery_lid", "foil_flange"] {
        for file in fs::read_dir(from.join(part)).unwrap().map(|entry| entry.unwrap().path()) {
            fs::copy(&file, folder.path().join(file.file_name().unwrap())).unwrap();
        }
    }
    folder
}

fn run(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lastply"));
    let output = command.args(arguments).current_dir(folder).env_clear().stdin(Stdio::null()).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap_or(-1), text(output.stdout), text(output.stderr))
}

#[test]
fn whole_comparisons_of_the_samples() {
    let folder = folder();
    for stem in ["root_plate_op20", "hatch_op40", "battery_lid_op10", "foil_flange_op30"] {
        let (old, new) = (format!("{stem}_faulty.nc"), format!("{stem}.nc"));
        let (code, out, err) = run(folder.path(), &["compare", &old, &new, "--date", "2026-11-02"]);
        assert_eq!((code, err.as_str()), (1, ""));
        assert!(out.is_ascii() && out.lines().all(|line| line.len() <= 80), "{out}");
        insta::assert_snapshot!(format!("compare_{stem}"), out);
    }
}

#[test]
fn a_copy_from_the_control_shows_its_edits_and_nothing_else() {
    let folder = folder();
    let path = folder.path();
    let released = fs::read_to_string(path.join("root_plate_op20.nc")).unwrap();
    let lines: Vec<String> = released
        .lines()
        .map(|line| match line.split('(').next().unwrap_or_default().trim() {
            "N1870 Z-43.8 F79.5" => "N1870 Z-43.500 F60.000\r\nN1871 M0".to_owned(),
            words => words.replace(". ", ".000 "),
        })
        .collect();
    fs::create_dir(path.join("control")).unwrap();
    fs::write(path.join("control/2010.nc"), lines.join("\r\n")).unwrap();
    let (code, out, err) = run(path, &["compare", "root_plate_op20.nc", "control/2010.nc"]);
    assert_eq!(code, 1);
    assert_eq!(err, "note: no job file for `control/2010.nc`; it is read by root_plate_op20.job.toml\n");
    insta::assert_snapshot!("compare_from_the_control", out);
}

#[test]
fn exit_codes_tell_identical_changed_and_not_concluded() {
    let folder = folder();
    let path = folder.path();
    let released = fs::read_to_string(path.join("hatch_op40.nc")).unwrap();
    let numbered: String = released
        .lines()
        .enumerate()
        .map(|(at, line)| match line {
            "%" => "%\n".to_owned(),
            line => format!("N{at} {line}\n"),
        })
        .collect();
    fs::write(path.join("hatch_op40_b.nc"), &numbered).unwrap();
    fs::write(path.join("hatch_op40_c.nc"), released.replace("(TABS)", "GOTO 10")).unwrap();
    let (code, out, _) = run(path, &["compare", "hatch_op40.nc", "hatch_op40_b.nc"]);
    assert_eq!(code, 0);
    assert!(out.starts_with("identical in motion: 208 of 208 moves the same; in the text 2"), "{out}");
    assert_eq!(run(path, &["compare", "hatch_op40_c.nc", "hatch_op40_c.nc"]).0, 3);
    assert_eq!(run(path, &["compare", "hatch_op40.nc", "missing.nc"]).0, 2);
    assert_eq!(run(path, &["compare", "hatch_op40.nc"]).0, 2);
    let (_, out, _) = run(path, &["compare", "hatch_op40.nc", "hatch_op40_c.nc"]);
    assert!(out.contains("not concluded: 1 block of NEW not understood"), "{out}");
}

#[test]
fn a_place_is_told_by_the_axes_of_its_plane() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path();
    let program = |plane: &str, hole: &str| {
        format!("%\nN1 G21 G90 G94 {plane} G40 G49 G80 G54\nN2 T6 M6\nN3 S3000 M3\n{hole}M30\n%\n")
    };
    let side = |x: &str| format!("N4 G0 X{x} Y9. Z5.\nN5 Y2.\nN6 G1 Y-8. F159.\nN7 G0 Y9.\n");
    fs::write(path.join("old.nc"), program("G18", &side("20."))).unwrap();
    fs::write(path.join("new.nc"), program("G18", &side("21."))).unwrap();
    let top = "N4 G0 X20. Y5. Z9.\nN5 Z2.\nN6 G1 Z-8. F159.\nN7 G0 Z9.\n";
    fs::write(path.join("top.nc"), program("G17", top)).unwrap();
    let changes = |new: &str| {
        let (_, out, _) = run(path, &["compare", "old.nc", new, "--format", "json"]);
        let document: serde_json::Value = serde_json::from_str(&out).unwrap();
        document["changes"].as_array().unwrap().clone()
    };
    let axes = |point: &serde_json::Value| -> String {
        let each = point["coordinates"].as_array().unwrap().iter();
        each.map(|one| format!("{}{} ", one["axis"].as_str().unwrap(), one["value"].as_f64().unwrap())).collect()
    };
    let moved = &changes("new.nc")[0];
    assert_eq!((moved["aspect"].as_str(), axes(&moved["new"]).as_str()), (Some("place"), "Z0 X1 "));
    assert_eq!(axes(&moved["features"][0]["old_place"]), "Z5 X20 ");
    let (_, text, _) = run(path, &["compare", "old.nc", "new.nc"]);
    assert!(text.contains("from   Z5 X20 to Z5 X21"), "{text}");
    let turned = changes("top.nc");
    let hole = turned.iter().find(|change| change["features"][0]["kind"] == "hole").unwrap();
    assert!(
        hole["new"].is_null() && hole["note"] == "from another direction",
        "planes have no shift between them: {hole}"
    );
    assert_eq!(axes(&hole["features"][0]["new_place"]), "X20 Y5 ");
    assert_eq!(turned.iter().filter(|change| change["aspect"] == "place").count(), 2, "the hole and what lies between");
}

#[test]
fn json_keeps_its_schema_and_colour_only_adds_to_words() {
    let folder = folder();
    let path = folder.path();
    let pair = ["compare", "battery_lid_op10_faulty.nc", "battery_lid_op10.nc"];
    let (code, out, _) = run(path, &[&pair[..], &["--format", "json"]].concat());
    let document: serde_json::Value = serde_json::from_str(&out).unwrap();
    let (_, schema, _) = run(path, &["schema", "--output", "compare"]);
    let schema: serde_json::Value = serde_json::from_str(&schema).unwrap();
    assert!(jsonschema::is_valid(&schema, &document));
    assert_eq!(document["exit"]["code"], code);
    let depth = document["changes"].as_array().unwrap().iter().find(|change| change["aspect"] == "depth").unwrap();
    assert_eq!((&depth["class"], &depth["new"]["unit"]), (&"geometry".into(), &"in".into()));
    let mut broken = document.clone();
    broken["changes"][0]["count"] = "four".into();
    assert!(!jsonschema::is_valid(&schema, &broken));
    let (_, plain, _) = run(path, &pair);
    let (_, colour, _) = run(path, &[&pair[..], &["--color", "always"]].concat());
    assert!(colour.contains("\u{1b}[") && !plain.contains('\u{1b}'));
    let mut parts = colour.split('\u{1b}');
    let first = parts.next().unwrap_or_default().to_owned();
    let bare = first + &parts.filter_map(|part| Some(part.split_once('m')?.1)).collect::<String>();
    assert_eq!(bare, plain);
}
