//! Every job-file key that a rule, a reading or a manual names is a key of the schema.

use super::root;
use lastply::job::schema;
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

/// Tables of a job file; a dotted text that begins with one and a dot is taken for a key.
const TABLES: [&str; 10] =
    ["job", "machine", "laminate", "tool", "fixture", "workpiece", "edges", "holes", "tune", "rules"];

/// Texts between quotes or backticks in every source file of a folder, with the file's name.
fn texts(folder: &Path, found: &mut Vec<(String, String)>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            texts(&path, found);
            continue;
        }
        if path.extension() != Some("rs".as_ref()) {
            continue;
        }
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let text = fs::read_to_string(&path).unwrap();
        let code = text.split("#[cfg(test)]").next().unwrap_or_default();
        for line in code.lines() {
            found.extend(line.split(['"', '`']).map(|piece| (name.clone(), piece.to_owned())));
        }
    }
}

/// The dotted path of a text that names a key: `laminate.{}.trim.overhang`, or `job file: machine.travel.{}`.
fn path_of(text: &str) -> Option<Vec<&str>> {
    let key = text.strip_prefix("job file: ").unwrap_or(text);
    let shaped = key.bytes().all(|byte| byte.is_ascii_alphanumeric() || b"_.{}()".contains(&byte));
    let mut parts = key.split('.');
    let table = parts.next().filter(|table| shaped && TABLES.contains(table))?;
    let rest: Vec<&str> = parts.collect();
    // A call such as `tool.diameter()`, a sentence's end or a file name is no key.
    let whole =
        !rest.is_empty() && rest.iter().all(|part| !part.is_empty() && (part.starts_with('{') || !part.contains('(')));
    (whole && rest != ["toml"]).then(|| [table].into_iter().chain(rest).collect())
}

/// Schemas that a part of a path leads to.
fn step<'s>(schema: &'s Value, root: &'s Value, part: &str, out: &mut Vec<&'s Value>) {
    if let Some(target) = schema.get("$ref").and_then(Value::as_str) {
        step(root.pointer(target.trim_start_matches('#')).unwrap(), root, part, out);
    }
    for choice in ["anyOf", "oneOf"].iter().filter_map(|key| schema.get(key)?.as_array()).flatten() {
        step(choice, root, part, out);
    }
    if let Some(member) = schema.get("properties").and_then(|known| known.get(part)) {
        out.push(member);
    }
    let stands_for_any =
        part.starts_with('{') || part.bytes().all(|byte| byte.is_ascii_uppercase() || byte.is_ascii_digit());
    out.extend(schema.get("additionalProperties").filter(|any| any.is_object()));
    if stands_for_any {
        out.extend(schema.get("patternProperties").and_then(|any| any.as_object()?.values().next()));
        out.extend(schema.get("items"));
        out.extend(schema.get("properties").and_then(Value::as_object).into_iter().flat_map(|known| known.values()));
    } else if let Some(items) = schema.get("items") {
        step(items, root, part, out);
    }
}

fn exists(path: &[&str], root: &Value) -> bool {
    let mut here = vec![root];
    for part in path {
        let mut next = Vec::new();
        here.iter().for_each(|schema| step(schema, root, part, &mut next));
        here = next;
    }
    !here.is_empty()
}

#[test]
fn every_key_that_is_named_exists() {
    let schema = schema(&[]);
    let mut found = Vec::new();
    for module in ["motion", "operation", "process", "rules", "patch", "tune", "render", "cli"] {
        texts(&root().join("src").join(module), &mut found);
    }
    let mut keys = BTreeSet::new();
    let mut unknown = Vec::new();
    for (file, text) in &found {
        let Some(path) = path_of(text) else { continue };
        keys.insert(path.join("."));
        if !exists(&path, &schema) {
            unknown.push(format!("{file}: {text}"));
        }
    }
    assert!(keys.len() > 10, "found only {keys:?}");
    assert!(unknown.is_empty(), "no such key of the job file:\n{}", unknown.join("\n"));
}

#[test]
fn a_key_is_told_from_what_looks_like_one() {
    let schema = schema(&[]);
    let known = |text: &str| path_of(text).is_some_and(|path| exists(&path, &schema));
    for key in
        ["machine.acceleration", "tool.{number}.holder", "laminate.NAME.trim.ramp", "workpiece.outline", "edges.tabs"]
    {
        assert!(known(key), "{key}");
    }
    for other in
        ["machine.accel", "tool.{number}.haft", "laminate.{}.trim.slope", "machine", "tool.diameter()", "edges."]
    {
        assert!(!known(other), "{other}");
    }
}
