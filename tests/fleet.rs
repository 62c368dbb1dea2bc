//! Whole folders: walks, the table, the baseline, JSON Lines, and what a tightened limit does to a fleet.

use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use tempfile::TempDir;

/// Holes of the plate at these places, with a feed and a depth.
fn drilling(number: u32, holes: &[(f64, f64)], depth: &str, feed: &str) -> String {
    let mut text = format!(
        "%\nO{number:04}\nN10 G21 G90 G94 G17 G40 G49 G80\nN20 T6 M6\nN30 S3183 M3 M7\nN40 G54 G0 X0 Y0\nN50 G43 H6 Z50.\n\
         N55 G4 P2\nG99 G81 X{} Y{} Z{depth} R2. F{feed}\n",
        holes[0].0, holes[0].1
    );
    for (x, y) in &holes[1..] {
        text.push_str(&format!("X{x} Y{y}\n"));
    }
    text.push_str("G80\nG0 Z100.\nM9\nM5\nM30\n%\n");
    text
}

/// A row of holes.
fn row(count: usize) -> Vec<(f64, f64)> {
    (0..count).map(|index| (10.0 + 8.0 * (index % 20) as f64, 10.0 + 8.0 * (index / 20) as f64)).collect()
}

/// Shallow holes, which nothing is wrong with.
fn clean(number: u32) -> String {
    drilling(number, &row(3), "-3.", "159.")
}

/// A folder with programs and the plate's job for all of them.
fn folder(programs: &[(&str, String)]) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let job = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/jobs/plate.toml");
    fs::copy(job, folder.path().join("job.toml")).unwrap();
    for (name, text) in programs {
        let path = folder.path().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
    folder
}

fn run(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lastply"));
    let output = command.args(arguments).current_dir(folder).env_clear().stdin(Stdio::null()).output().unwrap();
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    (output.status.code().unwrap_or(-1), text(&output.stdout), text(&output.stderr))
}

/// The sentence in one line, however it was wrapped.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_folder_is_a_table_with_totals_in_80_columns() {
    let folder = folder(&[
        ("a.nc", clean(1)),
        ("sub/b.nc", drilling(2, &row(2), "-8.4", "159.")),
        ("sub/c.nc", drilling(3, &row(2), "-3.", "159.").replace("G80\n", "G80\nM98 P8001\n")),
        ("sub/notes.txt", "not a program".to_owned()),
        ("other.job.toml", String::new()),
    ]);
    let (code, out, err) = run(folder.path(), &["check", ".", "--date", "2026-11-02"]);
    assert_eq!((code, err.as_str()), (1, ""), "a finding outranks what could not be concluded: {out}");
    assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");
    insta::assert_snapshot!("fleet_table", out);
    assert_eq!(run(folder.path(), &["check", "a.nc", "sub/c.nc"]).0, 3);
    assert_eq!(run(folder.path(), &["check", "a.nc", "sub/c.nc", "missing.nc"]).0, 2);
    assert_eq!(run(folder.path(), &["check", ".", "--endings", "txt"]).0, 1, "a text that is no program is no pass");
}

#[test]
fn a_link_in_a_ring_loses_nothing() {
    let folder = folder(&[("in/a.nc", clean(1)), ("in/b.nc", clean(2))]);
    #[cfg(unix)]
    std::os::unix::fs::symlink(folder.path().join("in"), folder.path().join("in/ring")).unwrap();
    let (code, out, err) = run(folder.path(), &["check", "in", "--fail-on", "error"]);
    assert_eq!(code, 0, "{out}{err}");
    assert!(flat(&out).contains("2 programs: 2 clean"), "{out}");
    #[cfg(unix)]
    assert!(err.contains("in/ring` leads back to"), "{err}");
}

#[test]
fn two_files_of_one_number_are_named() {
    let folder = folder(&[("a.nc", clean(7)), ("b/c.nc", clean(7))]);
    let (_, out, _) = run(folder.path(), &["check", "."]);
    assert!(flat(&out).contains("program number 7 stands in 2 files: a.nc, b/c.nc"), "{out}");
    let caller = clean(1).replace("G80\n", "G80\nM98 P8001\n");
    let doubtful = self::folder(&[("m.nc", caller), ("o8001.nc", "O8001\nM99\n".into()), ("8001.tap", "M99\n".into())]);
    let (code, out, err) = run(doubtful.path(), &["check", "m.nc"]);
    assert_eq!(code, 3, "which of them the control holds is not known: {out}");
    assert!(
        flat(&err).contains("program number 8001 stands in `8001.tap` and `o8001.nc`; none of them is read"),
        "{err}"
    );
}

#[test]
fn only_new_findings_fail_and_moved_lines_stay_matched() {
    let bad = drilling(2, &row(3), "-8.4", "159.");
    let folder = folder(&[("a.nc", clean(1)), ("b.nc", bad.clone())]);
    let path = folder.path();
    let check = ["check", ".", "--baseline", "known.toml", "--rule", "not-through", "--rule", "exit-feed-high"];
    let accept = [&check[..], &["--accept-new"]].concat();
    let (code, _, err) = run(path, &check);
    assert_eq!(code, 2, "a baseline that is not there is no baseline: {err}");
    let (code, out, err) = run(path, &accept);
    assert_eq!(code, 0, "{out}{err}");
    let first = fs::read_to_string(path.join("known.toml")).unwrap();
    assert_eq!(run(path, &check).0, 0);

    let moved =
        bad.replace("N10 ", "(NEW LINE)\n(ANOTHER)\nN10 ").replace("N40", "N4000").replace("X18 Y10", "N9 X18. Y10.");
    fs::write(path.join("b.nc"), moved).unwrap();
    let (code, out, _) = run(path, &check);
    assert_eq!(code, 0, "{out}");
    assert!(!out.contains("stale"), "{out}");
    let (here, known) = (path.to_str().unwrap(), path.join("known.toml"));
    let far = [&["check", here, "--baseline", known.to_str().unwrap()], &check[4..]].concat();
    let (code, out, _) = run(path.parent().unwrap(), &far);
    assert_eq!(code, 0, "the same baseline from another folder: {out}");

    fs::write(path.join("b.nc"), bad.replace("Z-8.4", "Z-8.2")).unwrap();
    assert_eq!(run(path, &check).0, 1, "as many findings, each by another amount");
    assert_eq!(fs::read_to_string(path.join("known.toml")).unwrap(), first, "only --accept-new writes");
}

#[test]
fn a_new_finding_never_hides_behind_one_that_went_away() {
    let three = [(10.0, 10.0), (18.0, 10.0), (26.0, 10.0)];
    let folder = folder(&[("a.nc", drilling(1, &three, "-8.4", "159."))]);
    let path = folder.path();
    let check = ["check", ".", "--baseline", "known.toml", "--rule", "not-through"];
    run(path, &[&check[..], &["--accept-new"]].concat());
    let swapped = [(10.0, 10.0), (18.0, 10.0), (90.0, 10.0)];
    fs::write(path.join("a.nc"), drilling(1, &swapped, "-8.4", "159.")).unwrap();
    let (code, out, _) = run(path, &check);
    assert_eq!(code, 1, "{out}");
    let told = flat(&out);
    assert!(told.contains("(line 9, hole at X90 Y10)") && told.contains("1 of the baseline stale"), "{out}");
    assert!(told.contains("a.nc: not-through, T6, hole at X26 Y10 mm, 6.59742 mm"), "{out}");
    let (code, out, err) = run(path, &[&check[..], &["--accept-new", "--drop-stale"]].concat());
    assert_eq!(code, 0, "{out}");
    assert!(err.contains("took in 1 new") && err.contains("let go of 1 stale"), "{err}");
    assert_eq!(run(path, &check).0, 0);
    fs::write(path.join("a.nc"), drilling(1, &three, "-8.4", "159.")).unwrap();
    assert_eq!(run(path, &check).0, 1, "what was let go of is new when it comes back");
    fs::rename(path.join("a.nc"), path.join("b.nc")).unwrap();
    let (code, out, _) = run(path, &check);
    assert!(code == 1 && flat(&out).contains("stale"), "a program by another name is another program: {out}");
}

#[test]
fn two_entries_of_a_kind_cover_two_findings_and_no_third() {
    let odd = |times: usize| clean(1).replace("G80\n", &format!("{}G80\n", "G80 J7\n".repeat(times)));
    let folder = folder(&[("a.nc", odd(2))]);
    let path = folder.path();
    let check = ["check", ".", "--baseline", "known.toml", "--fail-on", "note"];
    run(path, &[&check[..], &["--accept-new"]].concat());
    let (_, out, _) = run(path, &check);
    assert!(flat(&out).contains("0 errors, 0 warnings, 0 notes"), "{out}");
    fs::write(path.join("a.nc"), odd(3)).unwrap();
    let (code, out, _) = run(path, &check);
    assert_eq!(code, 1, "{out}");
}

#[test]
fn a_baseline_that_cannot_be_read_ends_the_run() {
    let folder = folder(&[("a.nc", clean(1))]);
    let path = folder.path();
    for text in ["version = 9\n", "nonsense", "version = 1\n[[known]]\ncount = 1\n", "\u{fffd}"] {
        fs::write(path.join("known.toml"), text).unwrap();
        for more in [&[][..], &["--accept-new"], &["--drop-stale"]] {
            let arguments = [&["check", ".", "--baseline", "known.toml"], more].concat();
            let (code, out, err) = run(path, &arguments);
            assert_eq!((code, out.as_str()), (2, ""), "{text}: {err}");
            assert!(err.contains("cannot use the baseline `known.toml`"), "{err}");
        }
        assert_eq!(fs::read_to_string(path.join("known.toml")).unwrap(), text, "it is left as it was");
    }
    assert_eq!(run(path, &["check", ".", "--accept-new"]).0, 2, "there is nothing to grow");
}

#[test]
fn json_lines_are_parsed_back() {
    let folder = folder(&[("a.nc", clean(1)), ("b.nc", drilling(2, &row(2), "-8.4", "159."))]);
    let (code, out, _) = run(folder.path(), &["check", ".", "gone.nc", "--format", "jsonl"]);
    assert_eq!(code, 2);
    let lines: Vec<Value> = out.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let of = |kind: &str| lines.iter().filter(|line| line["kind"] == kind).collect::<Vec<_>>();
    assert_eq!(lines.len(), of("program").len() + of("finding").len() + 1);
    assert_eq!(
        of("program").iter().map(|line| line["program"].as_str().unwrap()).collect::<Vec<_>>(),
        ["a.nc", "b.nc"]
    );
    let (_, whole, _) = run(folder.path(), &["check", ".", "--format", "json"]);
    let whole: Value = serde_json::from_str(&whole).unwrap();
    let findings: Vec<&Value> =
        whole["programs"].as_array().unwrap().iter().flat_map(|one| one["findings"].as_array().unwrap()).collect();
    assert_eq!(of("finding").len(), findings.len());
    for (line, finding) in of("finding").iter().zip(findings) {
        assert_eq!(
            (&line["rule"], &line["places"], &line["program"]),
            (&finding["rule"], &finding["places"], &"b.nc".into())
        );
    }
    let last = lines.last().unwrap();
    assert_eq!((&last["kind"], &last["exit"]["failed"]), (&"run".into(), &true.into()));
    assert!(last["unread"][0].as_str().unwrap().contains("gone.nc"), "{last}");
}

/// Drill life goes from 100 to 40 holes: which of fourteen released programs exceed it, by how much, with which tool.
#[test]
fn a_tightened_limit_is_answered_for_a_fleet() {
    let mut programs: Vec<(String, String)> = Vec::new();
    for index in 0..14 {
        let holes = if index < 3 { 43 + index } else { 30 };
        let text = drilling(100 + index as u32, &row(holes), "-3.", "159.");
        let text = if index >= 12 { text.replace("G80\n", "G80\nM98 P8001\n") } else { text };
        programs.push((format!("p{index:02}.nc"), text));
    }
    let programs: Vec<(&str, String)> = programs.iter().map(|(name, text)| (name.as_str(), text.clone())).collect();
    let folder = folder(&programs);
    let path = folder.path();
    let check = ["check", ".", "--rule", "tool-life-exceeded", "--fail-on", "warning"];
    assert_eq!(run(path, &check).0, 3, "nothing exceeds the old life, and two cannot be told");
    let job = fs::read_to_string(path.join("job.toml")).unwrap();
    fs::write(path.join("job.toml"), job.replacen("life = { holes = 100 }", "life = { holes = 40 }", 1)).unwrap();
    let (code, out, _) = run(path, &check);
    let told = flat(&out);
    assert_eq!(code, 1, "{out}");
    assert!(
        told.contains("14 programs: 0 clean, 0 with minor findings, 3 with findings, 2 not concluded, 9 none found"),
        "{out}"
    );
    assert!(told.contains("tool-life-exceeded: in 3 of 14"), "{out}");
    assert!(told.contains("W tool-life-exceeded, T6: tool 6 makes 45 holes, its life is 40"), "{out}");
    assert!(told.contains(", 5 holes over"), "{out}");
    assert!(told.contains("? program 8001 is neither in this file nor beside it"), "{out}");
}

#[test]
fn a_table_is_asked_for_before_the_work_and_never_half_written() {
    let folder = folder(&[("a.nc", clean(1))]);
    let (code, out, err) = run(folder.path(), &["check", ".", "--table", "no/such/folder/out.parquet"]);
    assert_eq!((code, out.as_str()), (2, ""), "{err}");
    let (code, out, err) = run(folder.path(), &["check", ".", "--table", "out.parquet"]);
    if cfg!(feature = "parquet") {
        assert_eq!(code, 0, "{out}{err}");
        let bytes = fs::read(folder.path().join("out.parquet")).unwrap();
        assert!(bytes.starts_with(b"PAR1") && bytes.ends_with(b"PAR1"));
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 3, "nothing else is left");
    } else {
        assert_eq!((code, out.as_str()), (2, ""));
        assert!(flat(&err).contains("--features parquet"), "{err}");
    }
}

#[test]
fn shells_and_man_get_what_they_read() {
    let folder = tempfile::tempdir().unwrap();
    for (shell, mark) in [("bash", "_lastply()"), ("zsh", "#compdef lastply"), ("fish", "complete -c lastply")] {
        let (code, out, err) = run(folder.path(), &["completions", shell]);
        assert_eq!((code, err.as_str()), (0, ""));
        assert!(out.contains(mark) && out.contains("accept-new"), "{shell}");
    }
    let (_, page, _) = run(folder.path(), &["man"]);
    assert!(page.contains(".TH lastply 1") && page.contains("check"), "{page}");
    let (code, page, _) = run(folder.path(), &["man", "check"]);
    assert_eq!(code, 0);
    assert!(page.contains(".TH lastply\\-check 1") || page.contains(".TH lastply-check 1"), "{page}");
    assert!(page.contains("accept"), "{page}");
    assert_eq!(run(folder.path(), &["man", "nothing"]).0, 2);
}
