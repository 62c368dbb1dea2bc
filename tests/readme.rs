//! Every command that README.md shows runs, and prints what README.md says it prints.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

/// One command of a ```` ```console ```` block with the lines under it; a line `...` stands for any lines.
#[derive(Debug, PartialEq, Eq)]
struct Shown {
    command: String,
    lines: Vec<String>,
}

fn shown(text: &str) -> Vec<Shown> {
    let mut found: Vec<Shown> = Vec::new();
    let mut inside = false;
    for line in text.lines() {
        if line.starts_with("```") {
            inside = line == "```console";
        } else if let Some(command) = line.strip_prefix("$ ").filter(|_| inside) {
            found.push(Shown { command: command.to_owned(), lines: Vec::new() });
        } else if let Some(last) = found.last_mut().filter(|_| inside) {
            last.lines.push(line.to_owned());
        }
    }
    found
}

/// Whether `printed` is what `shown` says.
fn agrees(shown: &[String], printed: &[&str]) -> bool {
    match (shown.split_first(), printed.split_first()) {
        (None, None) => true,
        (Some((first, rest)), _) if first == "..." => (0..=printed.len()).any(|skip| agrees(rest, &printed[skip..])),
        (Some((first, rest)), Some((line, more))) => first == line && agrees(rest, more),
        _ => false,
    }
}

/// Copies the sample programs, so that commands that write change nothing here.
fn samples(to: &Path) {
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("programs");
    for folder in fs::read_dir(from).unwrap().map(|entry| entry.unwrap().path()).filter(|path| path.is_dir()) {
        let copy = to.join("programs").join(folder.file_name().unwrap());
        fs::create_dir_all(&copy).unwrap();
        for file in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).filter(|path| path.is_file()) {
            fs::copy(&file, copy.join(file.file_name().unwrap())).unwrap();
        }
    }
}

#[test]
fn every_command_of_the_readme_prints_what_it_says() {
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    samples(folder.path());
    let commands: Vec<Shown> = shown(&text).into_iter().filter(|one| one.command.starts_with("lastply ")).collect();
    assert!(!commands.is_empty(), "README.md shows no command");
    for Shown { command, lines } in commands {
        let binary = Path::new(env!("CARGO_BIN_EXE_lastply")).parent().unwrap();
        let output = Command::new("sh")
            .args(["-c", &command])
            .current_dir(folder.path())
            .env_clear()
            .env("PATH", format!("{}:/usr/bin:/bin", binary.display()))
            .stdin(Stdio::null())
            .output()
            .unwrap();
        let printed = String::from_utf8_lossy(&output.stdout);
        let printed: Vec<&str> = printed.lines().collect();
        let lines = lines.iter().rev().skip_while(|line| line.is_empty()).cloned().collect::<Vec<_>>();
        let lines: Vec<String> = lines.into_iter().rev().collect();
        let end = printed.iter().rposition(|line| !line.is_empty()).map_or(0, |last| last + 1);
        assert!(agrees(&lines, &printed[..end]), "$ {command}\nprints\n{}", printed.join("\n"));
    }
}

#[test]
fn blocks_are_read_and_compared() {
    let text = "```console\n$ lastply a\none\n...\nlast\n```\n$ no\n```toml\n$ no\n```\n";
    let found = shown(text);
    assert_eq!(found.len(), 1);
    assert!(agrees(&found[0].lines, &["one", "two", "three", "last"]) && agrees(&found[0].lines, &["one", "last"]));
    assert!(!agrees(&found[0].lines, &["one", "two"]) && !agrees(&found[0].lines, &["two", "last"]));
}
