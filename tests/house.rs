//! The house keeps its own rules: module order, file sizes, complete rules, nothing left open.

use std::fs;
use std::path::{Path, PathBuf};

/// What tells a rule's file from those that all rules share.
const RULE: &str = "\npub static RULE: Rule";

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn files(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.to_string_lossy().ends_with(ending) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

fn relative(path: &Path) -> String {
    path.strip_prefix(root()).unwrap().to_string_lossy().replace('\\', "/")
}

/// Modules in reading order, as `src/lib.rs` lists them.
fn order() -> Vec<String> {
    let text = fs::read_to_string(root().join("src/lib.rs")).unwrap();
    text.lines()
        .filter_map(|line| line.strip_prefix("pub mod "))
        .map(|name| name.trim_end_matches(';').to_owned())
        .collect()
}

#[test]
fn a_module_uses_only_modules_above_it() {
    let order = order();
    let rank = |name: &str| order.iter().position(|module| module == name);
    let mut broken = Vec::new();
    for path in files(&root().join("src"), ".rs") {
        let name = relative(&path);
        let module = name.trim_start_matches("src/").split(['/', '.']).next().unwrap_or_default();
        let Some(own) = rank(module) else { continue };
        let text = fs::read_to_string(&path).unwrap();
        let code = text.split("#[cfg(test)]").next().unwrap_or_default();
        for used in code.split("crate::").skip(1) {
            let used: String = used.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
            if rank(&used).is_some_and(|other| other > own) {
                broken.push(format!("{name} uses crate::{used}"));
            }
        }
    }
    assert!(broken.is_empty(), "against the module order {order:?}:\n{}", broken.join("\n"));
}

#[test]
fn folders_are_two_deep_and_files_short() {
    let mut long = Vec::new();
    for path in files(&root().join("src"), ".rs") {
        let name = relative(&path);
        assert!(name.matches('/').count() <= 3, "{name} lies deeper than two folders under src");
        let text = fs::read_to_string(&path).unwrap();
        let bound = if text.contains(RULE) { 250 } else { 500 };
        let lines = text.lines().count();
        if lines > bound {
            long.push(format!("{name}: {lines} lines, at most {bound}"));
        }
    }
    assert!(long.is_empty(), "{}", long.join("\n"));
}

#[test]
fn every_file_opens_with_a_sentence() {
    for folder in ["src", "tests", "benches", "grammar"] {
        for path in files(&root().join(folder), ".rs") {
            let text = fs::read_to_string(&path).unwrap();
            assert!(text.starts_with("//! "), "{} opens without a `//!` sentence", relative(&path));
        }
    }
}

#[test]
fn every_rule_is_listed_and_complete() {
    use lastply::rules::ALL;
    let mut names: Vec<String> = files(&root().join("src/rules"), ".rs")
        .iter()
        .filter(|path| fs::read_to_string(path).unwrap().contains(RULE))
        .filter_map(|path| Some(path.file_stem()?.to_string_lossy().replace('_', "-")))
        .collect();
    names.sort();
    let mut listed: Vec<String> = ALL.iter().map(|entry| entry.rule.name.to_owned()).collect();
    listed.sort();
    assert_eq!(names, listed, "files in src/rules and the list in mod.rs differ");
    for entry in ALL {
        let manual = entry.manual();
        let name = entry.rule.name;
        let examples = manual.examples();
        assert!(examples.iter().any(|example| example.fires), "{name} has no example that fires");
        assert!(examples.iter().any(|example| !example.fires), "{name} has no quiet example");
        assert!(manual.text.contains("## Why it matters"), "{name} does not say why it matters");
        assert!(!entry.rule.summary.is_empty() && !entry.rule.summary.ends_with('.'), "{name}: summary");
    }
}

#[test]
fn nothing_is_left_open() {
    let words = ["todo!", "unimplemented!", "FIXME", "XXX", "#[ignore", "dbg!("];
    for folder in ["src", "tests", "benches", "grammar"] {
        for path in files(&root().join(folder), ".rs") {
            if path.ends_with("tests/house.rs") {
                continue;
            }
            let text = fs::read_to_string(&path).unwrap();
            for word in words {
                assert!(!text.contains(word), "{} holds `{word}`", relative(&path));
            }
        }
    }
}

#[test]
fn the_page_for_contributors_names_what_is_there() {
    let page = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let order = order().join(" ");
    assert!(page.contains(&format!("`{order}`")), "DEVELOPERS.md does not list the modules in order: {order}");
    let quoted = page.split('`').skip(1).step_by(2);
    let folders = ["src/", "tests/", "benches/", "grammar/", "programs/", "fuzz/", ".ci/"];
    let named =
        quoted.filter(|word| folders.iter().any(|folder| word.starts_with(folder)) && !word.contains(['<', ' ']));
    let gone: Vec<&str> = named.filter(|path| !root().join(path).exists()).collect();
    assert!(gone.is_empty(), "DEVELOPERS.md names what is not there: {gone:?}");
}
