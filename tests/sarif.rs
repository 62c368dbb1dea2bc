//! SARIF output held against the schema that OASIS publishes for SARIF 2.1.0 (`tests/published/data`, "Static Analysis
//! Results Format (SARIF) Version 2.1.0 JSON Schema", as packed in the crate `serde-sarif` 0.8.0), and against what readers of such files rely on.

use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::LazyLock;

/// One pattern of the published text, that of languages, closes a bracket it never opened.
static SCHEMA: LazyLock<jsonschema::Validator> = LazyLock::new(|| {
    let text = include_str!("published/data/sarif-schema-2.1.0.json").replace("{2}]?$", "{2}$");
    let schema = serde_json::from_str(&text).unwrap();
    jsonschema::validator_for(&schema).unwrap()
});

/// Exit code and document of `check --format sarif`, once the schema has taken the document.
fn sarif(folder: &Path, arguments: &[&str]) -> (i32, Value) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lastply"));
    command.args(["check", "--format", "sarif", "--date", "2026-11-02"]).args(arguments);
    let output = command.current_dir(folder).env_clear().stdin(Stdio::null()).output().unwrap();
    let document: Value = serde_json::from_slice(&output.stdout).unwrap();
    let faults: Vec<String> = SCHEMA.iter_errors(&document).map(|fault| fault.to_string()).collect();
    assert!(faults.is_empty(), "{arguments:?}: {}", faults.join("\n"));
    (output.status.code().unwrap(), document)
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn list<'a>(value: &'a Value, key: &str) -> &'a [Value] {
    value[key].as_array().map_or(&[], Vec::as_slice)
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap()
}

#[test]
fn the_schema_refuses_what_is_no_sarif() {
    let (_, mut document) = sarif(root(), &["programs/battery_lid/battery_lid_op10.nc"]);
    document["runs"][0]["results"] = serde_json::json!([{ "level": "grave" }]);
    assert!(!SCHEMA.is_valid(&document));
}

#[test]
fn every_sample_is_taken_and_its_results_stand_alone() {
    for program in [
        "battery_lid/battery_lid_op10",
        "battery_lid/battery_lid_op10_faulty",
        "foil_flange/foil_flange_op30_faulty",
        "hatch/hatch_op40_faulty",
        "root_plate/root_plate_op20_faulty",
    ] {
        let path = format!("programs/{program}.nc");
        let (code, document) = sarif(root(), &[&path]);
        let run = &document["runs"][0];
        let invocation = &run["invocations"][0];
        assert_eq!((invocation["exitCode"].as_i64(), code), (Some(i64::from(code)), code));
        let rules = list(&run["tool"]["driver"], "rules");
        assert_eq!(rules.len(), lastply::rules::ALL.len(), "silent rules are declared too");
        let bytes = fs::read(root().join(&path)).unwrap();
        let mut fingerprints = BTreeSet::new();
        for result in list(run, "results") {
            let index = result["ruleIndex"].as_u64().unwrap() as usize;
            assert_eq!(rules[index]["id"], result["ruleId"]);
            assert!(text(&result["message"]["text"]).ends_with('.'), "{result}");
            assert!(fingerprints.insert(result["partialFingerprints"].to_string()), "{result}");
            for location in list(result, "locations") {
                let place = &location["physicalLocation"];
                let uri = text(&place["artifactLocation"]["uri"]);
                assert!(uri == path || uri.ends_with(".job.toml"), "{uri} is relative");
                let region = &place["region"];
                let Some(start) = region["byteOffset"].as_u64() else { continue };
                let end = start + region["byteLength"].as_u64().unwrap();
                assert_eq!(text(&region["snippet"]["text"]).as_bytes(), &bytes[start as usize..end as usize]);
            }
        }
    }
}

/// Replacements applied from the back, by the columns and lines that a viewer would use.
fn applied(program: &str, fix: &Value) -> String {
    let mut lines: Vec<String> = program.split_inclusive('\n').map(str::to_owned).collect();
    let change = &list(fix, "artifactChanges")[0];
    for replacement in list(change, "replacements").iter().rev() {
        let region = &replacement["deletedRegion"];
        let number = |key: &str| region[key].as_u64().unwrap() as usize - 1;
        let (first, last) = (number("startLine"), number("endLine"));
        let head = lines.get(first).map_or("", String::as_str)[..number("startColumn")].to_owned();
        let tail = lines.get(last).map_or("", String::as_str)[number("endColumn")..].to_owned();
        let new = head + text(&replacement["insertedContent"]["text"]) + &tail;
        lines.splice(first..=last.min(lines.len() - 1), [new]);
    }
    lines.concat()
}

#[test]
fn a_fix_applied_by_its_lines_and_columns_cures_its_result() {
    let folder = tempfile::tempdir().unwrap();
    let from = root().join("programs/root_plate");
    let job = "root_plate_op20.job.toml";
    fs::copy(from.join(job), folder.path().join(job)).unwrap();
    let faulty = fs::read_to_string(from.join("root_plate_op20_faulty.nc")).unwrap();
    fs::write(folder.path().join("plate.nc"), &faulty).unwrap();
    let (_, document) = sarif(folder.path(), &["plate.nc", "--job", job]);
    let mut tried = 0;
    for result in list(&document["runs"][0], "results") {
        let Some(fix) = list(result, "fixes").first() else { continue };
        fs::write(folder.path().join("plate.nc"), applied(&faulty, fix)).unwrap();
        let (_, after) = sarif(folder.path(), &["plate.nc", "--job", job]);
        let rest = list(&after["runs"][0], "results");
        let fingerprint = &result["partialFingerprints"];
        assert!(!rest.iter().any(|other| other["partialFingerprints"] == *fingerprint), "{}", result["message"]);
        tried += 1;
    }
    assert!(tried >= 4, "{tried}");
}

#[test]
fn waived_results_are_suppressed_from_outside_with_their_terms() {
    let (_, document) = sarif(root(), &["programs/root_plate/root_plate_op20_faulty.nc"]);
    let results = list(&document["runs"][0], "results");
    let waived: Vec<&Value> = results.iter().filter(|result| !list(result, "suppressions").is_empty()).collect();
    assert_eq!(waived.len(), 1);
    let suppression = &waived[0]["suppressions"][0];
    assert_eq!((text(&suppression["kind"]), text(&suppression["status"])), ("external", "accepted"));
    assert_eq!(text(&suppression["properties"]["expires"]), "2027-03-31");
    assert_eq!(text(&suppression["properties"]["bound"]), "0.045 mm/rev");
}

#[test]
fn what_was_not_checked_or_read_is_told_and_never_looks_like_a_pass() {
    let folder = tempfile::tempdir().unwrap();
    let program = root().join("programs/root_plate/root_plate_op20.nc");
    let known = fs::read_to_string(program).unwrap().replace("M51", "M7").replace("M59", "M9");
    fs::write(folder.path().join("plate.nc"), known).unwrap();
    let (code, document) = sarif(folder.path(), &["plate.nc"]);
    let invocation = &document["runs"][0]["invocations"][0];
    assert_eq!((code, invocation["exitCode"].as_i64()), (3, Some(3)));
    let told = list(invocation, "toolExecutionNotifications");
    let needed = |one: &&Value| one["properties"]["needed"] == true;
    assert!(told.iter().filter(needed).all(|one| one["level"] == "warning" && one["associatedRule"]["id"].is_string()));
    assert!(told.iter().any(|one| text(&one["message"]["text"]).contains("`job.laminate`")), "{told:?}");

    let (code, document) = sarif(folder.path(), &["plate.nc", "gone.nc"]);
    let invocation = &document["runs"][0]["invocations"][0];
    assert_eq!((code, &invocation["executionSuccessful"]), (2, &Value::Bool(false)));
    assert!(text(&invocation["toolExecutionNotifications"][0]["message"]["text"]).contains("gone.nc"));
}

#[test]
fn a_finding_with_a_million_places_lists_a_hundred_and_counts_the_rest() {
    let folder = tempfile::tempdir().unwrap();
    let mut program = "%\nO1\nG21 G90 G94 G17 G40 G49 G80\nT6 M6\nS3183 M3\nG54 G0 X0 Y0\nG43 H6 Z50.\n".to_owned();
    for hole in 0..250 {
        program.push_str(&format!("G99 G81 X{}. Y0 Z-8.4 R2. F159.\nG80\n", hole * 20));
    }
    program.push_str("G0 Z100.\nM5\nM30\n%\n");
    fs::write(folder.path().join("row.nc"), program).unwrap();
    fs::copy(root().join("tests/jobs/plate.toml"), folder.path().join("job.toml")).unwrap();
    let (_, document) = sarif(folder.path(), &["row.nc"]);
    let results = list(&document["runs"][0], "results");
    let many = results.iter().find(|result| result["properties"]["places"].as_u64() >= Some(250)).unwrap();
    assert_eq!(list(many, "locations").len(), 100);
    assert!(many["properties"]["locationsNotListed"].as_u64() >= Some(150), "{}", many["properties"]);
}
