//! Holds a parsed file against the schema: names every key and value that does not belong, and takes it out.
//!
//! What is left can be read into the raw types without a fault, so that one slip hides no other.

use super::at::span_of;
use super::error::did_you_mean;
use crate::source::Span;
use serde_json::Value;
use toml::Spanned;
use toml::de::{DeArray, DeTable, DeValue};

/// One fault of shape.
pub(super) struct Misfit {
    pub span: Span,
    pub message: String,
    pub help: Option<String>,
}

/// Takes out of `table` what `schema` does not allow, and says what.
pub(super) fn fit(table: &mut DeTable<'_>, span: Span, schema: &Value) -> Vec<Misfit> {
    let mut walk = Walk { root: schema, misfits: Vec::new() };
    walk.table(table, span, schema, "");
    walk.misfits
}

struct Walk<'s> {
    root: &'s Value,
    misfits: Vec<Misfit>,
}

impl<'s> Walk<'s> {
    fn misfit(&mut self, span: Span, message: String, help: Option<String>) {
        self.misfits.push(Misfit { span, message, help });
    }

    fn table(&mut self, table: &mut DeTable<'_>, span: Span, schema: &'s Value, path: &str) {
        self.required(table, span, schema, path);
        for (key, mut value) in std::mem::take(table) {
            let full = join(path, key.get_ref());
            match self.member(schema, key.get_ref()) {
                Ok(member) => {
                    if self.value(&mut value, member, &full) {
                        table.insert(key, value);
                    }
                }
                Err(help) => {
                    let place = if path.is_empty() { String::new() } else { format!(" in `{path}`") };
                    self.misfit(span_of(&key.span()), format!("unknown key `{}`{place}", key.get_ref()), help);
                }
            }
        }
    }

    fn required(&mut self, table: &DeTable<'_>, span: Span, schema: &Value, path: &str) {
        for name in schema.get("required").and_then(Value::as_array).into_iter().flatten().filter_map(Value::as_str) {
            if !table.contains_key(name) {
                let meaning = schema.pointer(&format!("/properties/{name}/description")).and_then(Value::as_str);
                let help = meaning.map(as_help);
                self.misfit(span, format!("`{}` is missing", join(path, name)), help);
            }
        }
    }

    /// Schema of the member `name`, or help for a name that is none.
    fn member(&self, schema: &'s Value, name: &str) -> Result<&'s Value, Option<String>> {
        let known = schema.get("properties").and_then(Value::as_object);
        if let Some(member) = known.and_then(|known| known.get(name)) {
            return Ok(member);
        }
        if let Some(member) = schema.get("patternProperties").and_then(|patterns| patterns.as_object()?.values().next())
        {
            let digits = !name.is_empty() && name.len() < 10 && name.bytes().all(|byte| byte.is_ascii_digit());
            return digits.then_some(member).ok_or_else(|| Some("a whole number should stand here".to_owned()));
        }
        match schema.get("additionalProperties") {
            Some(member @ Value::Object(_)) => Ok(member),
            _ => Err(did_you_mean(name, &keys(schema))),
        }
    }

    /// Whether the value may stay.
    fn value(&mut self, value: &mut Spanned<DeValue<'_>>, schema: &'s Value, path: &str) -> bool {
        let span = span_of(&value.span());
        if let DeValue::Datetime(date) = value.get_ref() {
            *value.get_mut() = DeValue::String(date.to_string().into());
        }
        let mut options = Vec::new();
        self.options(schema, &mut options);
        let fitting = options.iter().copied().filter(|option| takes(option, value.get_ref())).collect::<Vec<_>>();
        let Some(first) = fitting.first().copied() else {
            let (message, help) = refusal(&options, value.get_ref(), path);
            self.misfit(span, message, help);
            return false;
        };
        match value.get_mut() {
            // One way of several is good whole or not at all; a table of its own goes on without the bad keys.
            DeValue::Table(table) => {
                let before = self.misfits.len();
                match chosen(table, &fitting) {
                    Some(option) => self.table(table, span, option, path),
                    None => {
                        let names: Vec<&str> = fitting.iter().flat_map(|option| keys(option)).collect();
                        let word = table.keys().next().map_or("", |key| key.get_ref().as_ref());
                        self.misfit(span, format!("unknown key `{word}` in `{path}`"), did_you_mean(word, &names));
                    }
                }
                options.len() == 1 || self.misfits.len() == before
            }
            DeValue::Array(array) => self.array(array, first, path),
            _ => true,
        }
    }

    /// Whether the list may stay: one goes on without a bad item, but a pair with one half taken out is no pair.
    fn array(&mut self, array: &mut DeArray<'_>, schema: &'s Value, path: &str) -> bool {
        let Some(items) = schema.get("items") else { return true };
        let mut whole = true;
        for (index, mut item) in std::mem::replace(array, DeArray::new()).into_iter().enumerate() {
            if self.value(&mut item, items, &format!("{path}.{}", index + 1)) {
                array.push(item);
            } else {
                whole = false;
            }
        }
        whole || schema.get("minItems").is_none()
    }

    /// The alternatives of a schema, references followed.
    fn options(&self, schema: &'s Value, out: &mut Vec<&'s Value>) {
        if let Some(path) = schema.get("$ref").and_then(Value::as_str) {
            if let Some(target) = path.strip_prefix('#').and_then(|pointer| self.root.pointer(pointer)) {
                self.options(target, out);
            }
            return;
        }
        let choices = ["anyOf", "oneOf"].into_iter().filter_map(|key| schema.get(key)?.as_array()).flatten();
        let before = out.len();
        for choice in choices {
            self.options(choice, out);
        }
        if out.len() == before && schema.get("type").and_then(Value::as_str) != Some("null") {
            out.push(schema);
        }
    }
}

/// What a key means, from its description, in the wording of help: lower case, no full stop.
fn as_help(description: &str) -> String {
    let mut letters = description.trim_end_matches('.').chars();
    letters.next().into_iter().flat_map(char::to_lowercase).chain(letters).collect()
}

fn join(path: &str, name: &str) -> String {
    if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") }
}

/// The alternative whose keys the table uses; the only one where there is no choice.
fn chosen<'s>(table: &DeTable<'_>, options: &[&'s Value]) -> Option<&'s Value> {
    if let [only] = options {
        return Some(only);
    }
    let used = |option: &&&Value| {
        let known = keys(option);
        table.keys().any(|key| known.contains(&key.get_ref().as_ref()))
    };
    options.iter().find(used).copied()
}

/// The keys a table may have.
fn keys(option: &Value) -> Vec<&str> {
    let known = option.get("properties").and_then(Value::as_object);
    known.into_iter().flatten().map(|(name, _)| name.as_str()).collect()
}

/// The words an alternative allows; empty when it allows any.
fn words(option: &Value) -> Vec<&str> {
    let list = option.get("enum").and_then(Value::as_array).into_iter().flatten();
    list.chain(option.get("const")).filter_map(Value::as_str).collect()
}

fn types(option: &Value) -> Vec<&str> {
    match option.get("type") {
        Some(Value::Array(types)) => types.iter().filter_map(Value::as_str).collect(),
        Some(Value::String(one)) => vec![one.as_str()],
        _ => Vec::new(),
    }
}

fn takes(option: &Value, value: &DeValue<'_>) -> bool {
    let types = types(option);
    let has = |name: &str| types.contains(&name);
    match value {
        DeValue::String(text) => {
            let words = words(option);
            has("string") && (words.is_empty() || words.contains(&text.as_ref()))
        }
        DeValue::Integer(number) => has("number") || has("integer") && !number.as_str().starts_with('-'),
        DeValue::Float(_) => has("number"),
        DeValue::Boolean(_) => has("boolean"),
        DeValue::Datetime(_) => false,
        DeValue::Array(array) => {
            let bound = |key: &str| option.get(key).and_then(Value::as_u64);
            let count = array.len() as u64;
            has("array")
                && bound("minItems").is_none_or(|least| count >= least)
                && bound("maxItems").is_none_or(|most| count <= most)
        }
        DeValue::Table(_) => has("object"),
    }
}

/// Why no alternative takes the value.
fn refusal(options: &[&Value], value: &DeValue<'_>, path: &str) -> (String, Option<String>) {
    let allowed: Vec<&str> = options.iter().flat_map(|option| words(option)).collect();
    if let (DeValue::String(text), false) = (value, allowed.is_empty()) {
        return (format!("`{path}` does not know the word `{text}`"), did_you_mean(text, &allowed));
    }
    let mut wanted: Vec<String> = Vec::new();
    for option in options {
        for name in types(option).into_iter().filter(|name| *name != "null") {
            let phrase = match name {
                "string" if !allowed.is_empty() => format!("one of {}", allowed.join(", ")),
                "string" => "text".to_owned(),
                "integer" => "a whole number from 0".to_owned(),
                "number" => "a number".to_owned(),
                "boolean" => "true or false".to_owned(),
                "array" => match option.get("minItems").and_then(Value::as_u64) {
                    Some(count) => format!("a list of {count}"),
                    None => "a list".to_owned(),
                },
                _ => "a table".to_owned(),
            };
            if !wanted.contains(&phrase) {
                wanted.push(phrase);
            }
        }
    }
    (format!("`{path}` must be {}, not {}", wanted.join(" or "), describe(value)), None)
}

fn describe(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => format!("the text \"{text}\""),
        DeValue::Integer(number) => number.to_string(),
        DeValue::Float(number) => number.to_string(),
        DeValue::Boolean(flag) => flag.to_string(),
        DeValue::Datetime(date) => date.to_string(),
        DeValue::Array(array) => format!("a list of {}", array.len()),
        DeValue::Table(_) => "a table".to_owned(),
    }
}
