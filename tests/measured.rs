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
