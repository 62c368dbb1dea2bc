//! Our diffs against two public tools that read them: GNU `patch` and `git apply`.
//!
//! Source: POSIX.1-2017, `diff -u` and `patch`. Input: random texts and edits, with CRLF, lone CR, Latin-1, NUL and
//! no final line end. Tolerance: none, every byte must agree. A tool that the machine lacks is passed over.

use lastply::patch::{Edit, Edits, unified};
use lastply::source::Span;
use proptest::prelude::*;
use std::path::Path;
use std::process::{Command, Stdio};

/// Runs a tool in `folder`; `None` when the machine has no such tool.
fn run_tool(folder: &Path, tool: &str, arguments: &[&str]) -> Option<Result<(), String>> {
    let run = Command::new(tool).args(arguments).current_dir(folder).stdin(Stdio::null()).output();
    let output = match run {
        Ok(output) => output,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return None,
        Err(error) => panic!("{tool}: {error}"),
    };
    let said = [output.stdout, output.stderr].concat();
    Some(if output.status.success() { Ok(()) } else { Err(String::from_utf8_lossy(&said).into_owned()) })
}

/// Applies the diff of `edits` with both tools and compares with our own copy.
fn tools_agree(name: &str, old: &[u8], edits: &Edits) {
    let expected = edits.apply(old);
    let diff = unified(name, old, edits);
    if diff.is_empty() {
        assert_eq!(expected, old);
    } else {
        tools_give(name, old, &diff, &expected);
    }
}

/// Both tools take `diff` and make `expected` of `old`.
pub fn tools_give(name: &str, old: &[u8], diff: &[u8], expected: &[u8]) {
    let tools: [(&str, &[&str], &[&str]); 2] = [
        ("patch", &["-p1", "--dry-run", "-F0", "-i", "p.diff"], &["-p1", "-F0", "-i", "p.diff"]),
        ("git", &["apply", "--check", "p.diff"], &["apply", "--whitespace=nowarn", "p.diff"]),
    ];
    for (tool, try_it, do_it) in tools {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join(name), old).unwrap();
        std::fs::write(folder.path().join("p.diff"), diff).unwrap();
        let shown = String::from_utf8_lossy(diff);
        for arguments in [try_it, do_it] {
            let said = run_tool(folder.path(), tool, arguments).unwrap_or(Ok(()));
            assert_eq!(said, Ok(()), "{tool} refuses\n{shown}");
        }
        let applied = std::fs::read(folder.path().join(name)).unwrap();
        assert_eq!(applied, expected, "{tool} applied\n{shown}");
    }
}

fn line() -> impl Strategy<Value = Vec<u8>> {
    let end = prop_oneof![8 => Just(&b"\n"[..]), 4 => Just(&b"\r\n"[..]), 1 => Just(&b"\r"[..])];
    let text = prop_oneof![
        6 => "[GXYZ][0-9.]{1,4}".prop_map(String::into_bytes),
        1 => Just(vec![b'(', 0xdc, 0xe4, b')']),
        1 => Just(Vec::new()),
        1 => Just(b"%".to_vec()),
    ];
    (text, end).prop_map(|(mut text, end)| {
        text.extend_from_slice(end);
        text
    })
}

/// Gap to the edit before, bytes replaced, new text.
type Wanted = (usize, usize, Vec<u8>);

fn text_and_edits() -> impl Strategy<Value = (Vec<u8>, Vec<Wanted>)> {
    let text = (prop::collection::vec(line(), 1..40), any::<bool>()).prop_map(|(lines, ended)| {
        let mut text = lines.concat();
        if !ended {
            text.pop();
        }
        text
    });
    let new = prop_oneof![Just(Vec::new()), Just(b"F80".to_vec()), line(), Just(b"\nG80\nM9".to_vec())];
    (text, prop::collection::vec((0..400_usize, 0..12_usize, new), 1..6))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn random_edits_are_applied_alike((old, wanted) in text_and_edits()) {
        let mut edits: Vec<Edit> = Vec::new();
        let mut at = 0;
        for (gap, length, text) in wanted {
            let start = (at + gap % 60).min(old.len());
            let end = (start + length).min(old.len());
            edits.push(Edit::replace(Span::new(u32::try_from(start).unwrap(), u32::try_from(end).unwrap()), text));
            at = end + 1;
        }
        let Ok(edits) = Edits::new(edits, old.len()) else { return Ok(()) };
        tools_agree("plate 1.nc", &old, &edits);
    }
}

#[test]
fn a_text_may_begin_and_end_empty() {
    let everything = Edits::new(vec![Edit::replace(Span::new(0, 7), "")], 7).unwrap();
    tools_agree("a.nc", b"G1\nM30\n", &everything);
    let from_nothing = Edits::new(vec![Edit::insert(0, "G1\nM30\n")], 0).unwrap();
    assert_eq!(unified("a.nc", b"", &from_nothing), b"--- a/a.nc\n+++ b/a.nc\n@@ -0,0 +1,2 @@\n+G1\n+M30\n");
}

#[test]
fn a_nul_leader_does_not_stop_the_tools() {
    let old = b"\0\0\0%\r\nO1 (PLATE)\r\nG1 X1. F159.\r\nM30\r\n%\r\n";
    let at = 23;
    let edits = Edits::new(vec![Edit::insert(at, " Y2.")], old.len()).unwrap();
    tools_agree("a.nc", old, &edits);
}
