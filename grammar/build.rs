//! Reads `codes.toml` and `dialects/*.toml` into tables the crate compiles in, and lists the rules.

use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::{env, fs};
use toml::{Spanned, Table, Value};

/// `codes.toml` as written.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Codes {
    sources: BTreeMap<String, String>,
    table: CodeTable,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CodeTable {
    codes: Vec<Spanned<Row>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    code: String,
    group: String,
    action: String,
    value: Option<String>,
    dialects: Vec<String>,
    source: String,
    meaning: String,
}

/// Numbers of a letter's index table: G and M codes times ten.
const NUMBERS: usize = 10_000;

fn main() {
    println!("cargo::rerun-if-changed=grammar/codes.toml");
    println!("cargo::rerun-if-changed=grammar/dialects");
    println!("cargo::rerun-if-changed=src/rules");
    if let Err(message) = build() {
        println!("cargo::error={message}");
    }
}

fn build() -> Result<(), String> {
    let house = PathBuf::from(env::var("CARGO_MANIFEST_DIR").map_err(|error| error.to_string())?);
    let root = house.join("grammar");
    let out = PathBuf::from(env::var("OUT_DIR").map_err(|error| error.to_string())?);
    let dialects = dialect_files(&root.join("dialects"))?;
    let names: Vec<&str> = dialects.iter().map(|(name, _)| name.as_str()).collect();
    let codes = code_table(&root.join("codes.toml"), &names)?;
    let mut text = String::new();
    for (bit, (name, table)) in dialects.iter().enumerate() {
        dialect(&mut text, name, bit, table)?;
    }
    let list = names.iter().map(|name| constant(name)).collect::<Vec<_>>().join(", ");
    writeln!(text, "/// All dialects.\npub(super) static DIALECTS: [Dialect; {}] = [{list}];", names.len())
        .map_err(|error| error.to_string())?;
    fs::write(out.join("rules.rs"), rule_list(&house.join("src/rules"))?).map_err(|error| error.to_string())?;
    fs::write(out.join("codes.rs"), codes).map_err(|error| error.to_string())?;
    fs::write(out.join("dialects.rs"), text).map_err(|error| error.to_string())
}

/// The rules: modules named in `mod.rs` whose file has a `RULE`, in the order they are named.
fn rule_list(folder: &Path) -> Result<String, String> {
    let read = |name: &str| {
        let path = folder.join(format!("{name}.rs"));
        fs::read_to_string(&path).map_err(|error| format!("{}: {error}", path.display()))
    };
    let modules = read("mod")?;
    let mut list = String::new();
    for name in modules.lines().filter_map(|line| line.strip_prefix("mod ")?.strip_suffix(';')) {
        if read(name)?.contains("\npub static RULE: Rule") {
            let file = format!("concat!(env!(\"CARGO_MANIFEST_DIR\"), \"/src/rules/{name}.rs\")");
            writeln!(list, "    Entry {{ rule: &{name}::RULE, text: include_str!({file}) }},")
                .map_err(|error| error.to_string())?;
        }
    }
    Ok(format!("/// Every rule, in the order reports list them.\npub static ALL: &[Entry] = &[\n{list}];\n"))
}

fn read<T: serde::de::DeserializeOwned>(path: &Path) -> Result<(String, T), String> {
    let text = fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))?;
    let value = toml::from_str(&text).map_err(|error| {
        let line = error.span().map_or(1, |span| line_of(&text, span.start));
        format!("{}:{line}: {}", path.display(), error.message())
    })?;
    Ok((text, value))
}

fn line_of(text: &str, at: usize) -> usize {
    text.bytes().take(at).filter(|byte| *byte == b'\n').count() + 1
}

/// `rs274-ngc` as the name of a constant: `RS274_NGC`.
fn constant(name: &str) -> String {
    name.to_uppercase().replace('-', "_")
}

/// `feed-mode` as the name of a type or variant: `FeedMode`.
fn camel(name: &str) -> String {
    name.split(['-', '_'])
        .map(|part| part.get(..1).unwrap_or_default().to_uppercase() + part.get(1..).unwrap_or_default())
        .collect()
}

fn dialect_files(folder: &Path) -> Result<Vec<(String, Table)>, String> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder).map_err(|error| error.to_string())? {
        let path = entry.map_err(|error| error.to_string())?.path();
        let name = path.file_stem().and_then(|stem| stem.to_str()).unwrap_or_default().to_owned();
        found.insert(name, read::<Table>(&path)?.1);
    }
    Ok(found.into_iter().collect())
}

/// One dialect as a constant. A text value `some-word` of key `some_key` is `SomeKey::SomeWord`, so that the compiler
/// refuses a key or word no type has.
fn dialect(text: &mut String, name: &str, bit: usize, table: &Table) -> Result<(), String> {
    let mut body = format!("name: \"{name}\", bit: {}, ", 1_u8 << bit);
    for (key, value) in table {
        match value {
            Value::Table(declared) => {
                let inner: Result<String, String> = declared
                    .iter()
                    .map(|(key, value)| Ok(format!("it.{key} = Some({}); ", literal(key, value)?)))
                    .collect();
                body += &format!("{key}: {{ let mut it = {}::NOTHING; {}it }}, ", camel(key), inner?);
            }
            plain => body += &format!("{key}: {}, ", literal(key, plain)?),
        }
    }
    writeln!(text, "/// `{name}`.\nconst {}: Dialect = Dialect {{ {body} }};", constant(name))
        .map_err(|error| error.to_string())
}

fn literal(key: &str, value: &Value) -> Result<String, String> {
    match value {
        Value::String(word) => Ok(format!("{}::{}", camel(key), camel(word))),
        Value::Boolean(flag) => Ok(flag.to_string()),
        Value::Integer(number) => Ok(number.to_string()),
        Value::Float(number) => Ok(format!("{number:?}")),
        other => Err(format!("`{key}` may not be {}", other.type_str())),
    }
}

fn code_table(path: &Path, dialects: &[&str]) -> Result<String, String> {
    let (text, codes): (String, Codes) = read(path)?;
    let mut rows = String::new();
    let mut index = BTreeMap::from([('G', vec![u8::MAX; NUMBERS]), ('M', vec![u8::MAX; NUMBERS])]);
    for (at, spanned) in codes.table.codes.iter().enumerate() {
        let row = spanned.get_ref();
        let place = format!("{}:{}", path.display(), line_of(&text, spanned.span().start));
        let source = codes.sources.get(&row.source).ok_or(format!("{place}: no source `{}`", row.source))?;
        let mut bits = 0_u8;
        for name in &row.dialects {
            bits |=
                1 << dialects.iter().position(|known| known == name).ok_or(format!("{place}: no dialect `{name}`"))?;
        }
        let slot = (row.code.chars().next())
            .zip(row.code.get(1..).and_then(|digits| digits.parse::<f64>().ok()))
            .and_then(|(letter, number)| index.get_mut(&letter)?.get_mut((number * 10.0).round() as usize))
            .ok_or(format!("{place}: `{}` is not a G or M code", row.code))?;
        if *slot != u8::MAX {
            return Err(format!("{place}: `{}` has two rows", row.code));
        }
        *slot = u8::try_from(at).map_err(|_| format!("{place}: too many codes"))?;
        let value = row.value.as_ref().map(|value| format!("({value})")).unwrap_or_default();
        rows += &format!(
            "    Code {{ name: \"{}\", group: Group::{}, action: Action::{}{value}, dialects: {bits}, source: \"{source}\", \
             meaning: \"{}\" }},\n",
            row.code,
            camel(&row.group),
            camel(&row.action),
            row.meaning
        );
    }
    let mut out = format!("/// Rows of `grammar/codes.toml`.\npub(super) static CODES: &[Code] = &[\n{rows}];\n");
    for (letter, slots) in index {
        out += &format!(
            "/// Row of each {letter} code times ten.\npub(super) static {letter}_INDEX: [u8; {NUMBERS}] = {slots:?};\n"
        );
    }
    Ok(out)
}
