//! Draws sentences from the written grammar; the reader must take every one, word for word.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use lastply::syntax::{Block, Blocks, Lexis};
use proptest::prelude::*;

const TEXT: &str = include_str!("../grammar/word-address.abnf");

static GRAMMAR: LazyLock<Grammar> = LazyLock::new(Grammar::new);

/// Repetitions drawn where the grammar sets no bound.
const MOST_REPEATS: usize = 6;

/// What an RFC 5234 rule is made of.
#[derive(Debug)]
enum Element {
    OneOf(Vec<Element>),
    All(Vec<Element>),
    Repeat(usize, usize, Box<Element>),
    Rule(String),
    Text(String),
    Bytes(u8, u8),
}

/// Reader of the notation.
struct Notation<'a> {
    tokens: std::iter::Peekable<std::vec::IntoIter<&'a str>>,
}

/// Rule name and its right side, comments gone and continued lines joined.
fn definitions(text: &str) -> Vec<(String, String)> {
    let mut rules: Vec<(String, String)> = Vec::new();
    for line in text.lines() {
        let mut quoted = false;
        let end = line.find(|at: char| {
            quoted ^= at == '"';
            at == ';' && !quoted
        });
        let line = &line[..end.unwrap_or(line.len())];
        if line.trim().is_empty() {
            continue;
        }
        if line.starts_with(' ') {
            rules.last_mut().unwrap().1.push_str(line);
        } else {
            let (name, body) = line.split_once(" = ").unwrap();
            rules.push((name.trim().to_owned(), body.to_owned()));
        }
    }
    rules
}

fn tokens(body: &str) -> Vec<&str> {
    let mut rest = body.trim_start();
    let mut found = Vec::new();
    while let Some(first) = rest.chars().next() {
        let length = match first {
            '"' => rest[1..].find('"').unwrap() + 2,
            '(' | ')' | '[' | ']' | '/' | '*' => 1,
            '0'..='9' => rest.find(|at: char| !at.is_ascii_digit()).unwrap(),
            _ => rest.find([' ', '(', ')', '[', ']', '/', '*']).unwrap_or(rest.len()),
        };
        found.push(&rest[..length]);
        rest = rest[length..].trim_start();
    }
    found
}

impl Notation<'_> {
    fn alternation(&mut self) -> Element {
        let mut choices = vec![self.concatenation()];
        while self.tokens.next_if_eq(&"/").is_some() {
            choices.push(self.concatenation());
        }
        Element::OneOf(choices)
    }

    fn concatenation(&mut self) -> Element {
        let mut parts = Vec::new();
        while self.tokens.peek().is_some_and(|next| !["/", ")", "]"].contains(next)) {
            parts.push(self.repetition());
        }
        Element::All(parts)
    }

    fn repetition(&mut self) -> Element {
        let is_count = |token: &&str| token.bytes().all(|byte| byte.is_ascii_digit());
        let least = self.tokens.next_if(is_count).map(|count| count.parse().unwrap());
        if self.tokens.next_if_eq(&"*").is_none() {
            assert!(least.is_none(), "exact counts are not used");
            return self.element();
        }
        let most = self.tokens.next_if(is_count).map(|count| count.parse().unwrap());
        let least = least.unwrap_or(0);
        Element::Repeat(least, most.unwrap_or(least + MOST_REPEATS), Box::new(self.element()))
    }

    fn element(&mut self) -> Element {
        let token = self.tokens.next().unwrap();
        let inner = match token {
            "(" => self.alternation(),
            "[" => Element::Repeat(0, 1, Box::new(self.alternation())),
            _ if token.starts_with('"') => return Element::Text(token.trim_matches('"').to_owned()),
            _ if token.starts_with("%x") => {
                let (low, high) = token[2..].split_once('-').unwrap_or((&token[2..], &token[2..]));
                let byte = |digits| u8::from_str_radix(digits, 16).unwrap();
                return Element::Bytes(byte(low), byte(high));
            }
            _ => return Element::Rule(token.to_owned()),
        };
        assert!(self.tokens.next_if(|close| [")", "]"].contains(close)).is_some());
        inner
    }
}

/// The grammar with the shortest derivation of each rule, so that drawing can come to an end.
struct Grammar {
    rules: BTreeMap<String, Element>,
    depth: BTreeMap<String, usize>,
}

impl Grammar {
    fn new() -> Self {
        let mut rules = BTreeMap::new();
        for (name, body) in definitions(TEXT) {
            let mut notation = Notation { tokens: tokens(&body).into_iter().peekable() };
            let element = notation.alternation();
            assert!(notation.tokens.next().is_none(), "{name} reads to its end");
            assert!(rules.insert(name.clone(), element).is_none(), "{name} is defined once");
        }
        let mut grammar = Self { rules, depth: BTreeMap::new() };
        while let Some(found) = grammar.rules.iter().find_map(|(name, element)| {
            let depth = grammar.shortest(element)?;
            (!grammar.depth.contains_key(name)).then(|| (name.clone(), depth + 1))
        }) {
            grammar.depth.insert(found.0, found.1);
        }
        grammar
    }

    /// Depth of the shortest derivation, as far as known.
    fn shortest(&self, element: &Element) -> Option<usize> {
        match element {
            Element::OneOf(choices) => choices.iter().filter_map(|choice| self.shortest(choice)).min(),
            Element::All(parts) => {
                parts.iter().map(|part| self.shortest(part)).try_fold(0, |most, part| Some(most.max(part?)))
            }
            Element::Repeat(0, _, _) | Element::Text(_) | Element::Bytes(..) => Some(0),
            Element::Repeat(_, _, inner) => self.shortest(inner),
            Element::Rule(name) => self.depth.get(name).copied(),
        }
    }
}

/// A sentence being drawn: every choice is taken from `choices`, and the shortest way out once they are used up.
struct Draw<'a> {
    grammar: &'a Grammar,
    choices: std::slice::Iter<'a, u8>,
    text: Vec<u8>,
    /// How often each rule was used outside statements and marks whose text is not read.
    used: BTreeMap<&'a str, usize>,
}

impl<'a> Draw<'a> {
    fn rule(&mut self, name: &'a str) {
        *self.used.entry(name).or_default() += 1;
        self.element(&self.grammar.rules[name]);
    }

    fn element(&mut self, element: &'a Element) {
        match element {
            Element::Rule(name) => self.rule(name),
            Element::All(parts) => parts.iter().for_each(|part| self.element(part)),
            Element::OneOf(choices) => {
                let chosen = match self.choices.next() {
                    Some(choice) => &choices[usize::from(*choice) % choices.len()],
                    None => choices.iter().min_by_key(|choice| self.grammar.shortest(choice)).unwrap(),
                };
                self.element(chosen);
            }
            Element::Repeat(least, most, inner) => {
                let spread = most - least + 1;
                let more = self.choices.next().map_or(0, |choice| usize::from(*choice) % spread);
                (0..least + more).for_each(|_| self.element(inner));
            }
            Element::Text(text) => {
                let lower = self.choices.next().is_some_and(|choice| choice % 2 == 1);
                let cased = if lower { text.to_ascii_lowercase() } else { text.clone() };
                self.text.extend(cased.bytes());
            }
            Element::Bytes(low, high) => {
                let choice = self.choices.next().copied().unwrap_or(0);
                self.text.push(low + (u16::from(choice) % (u16::from(high - low) + 1)) as u8);
            }
        }
    }
}

#[test]
fn every_rule_is_defined_used_and_finite() {
    let grammar = &*GRAMMAR;
    for (name, body) in definitions(TEXT) {
        assert!(grammar.depth.contains_key(&name), "{name} has a finite sentence");
        for token in tokens(&body).iter().filter(|token| token.starts_with(|at: char| at.is_ascii_alphabetic())) {
            assert!(grammar.rules.contains_key(*token), "{token} in {name} is defined");
        }
    }
    let bodies: Vec<_> = definitions(TEXT).into_iter().map(|(_, body)| body).collect();
    for name in grammar.rules.keys().filter(|name| *name != "program") {
        assert!(bodies.iter().any(|body| tokens(body).contains(&name.as_str())), "{name} is used");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(2000) })]

    #[test]
    fn the_reader_takes_every_sentence(choices in proptest::collection::vec(any::<u8>(), 0..1200)) {
        let mut draw = Draw { grammar: &GRAMMAR, choices: choices.iter(), text: Vec::new(), used: BTreeMap::new() };
        draw.rule("program");
        let (mut blocks, mut block) = (Blocks::new(&draw.text, 0, Lexis::default()), Block::default());
        let mut read: BTreeMap<&str, usize> = BTreeMap::new();
        let mut add = |name, count| *read.entry(name).or_default() += count;
        while blocks.next(&mut block) {
            prop_assert!(block.faults.is_empty(), "{:?} in {}", block.faults, block.span.of(&draw.text).escape_ascii());
            add("word", block.words.len());
            add("setting", block.assignments.len());
            add("comment", block.comments.len());
            add("statement", usize::from(block.control.is_some()));
            add("line-number", usize::from(block.n.is_some()));
            add("delete", usize::from(block.delete.is_some()));
            add("program-name", usize::from(block.program.is_some()));
            add("tape-line", usize::from(block.percent.is_some()));
        }
        let drawn = |names: &[&str]| names.iter().filter_map(|name| draw.used.get(name)).sum::<usize>();
        let readings: [(&str, &[&str]); 8] = [
            ("word", &["word"]), ("setting", &["setting"]), ("comment", &["comment", "remark"]),
            ("statement", &["statement", "o-statement", "foreign"]), ("line-number", &["line-number"]),
            ("delete", &["delete"]), ("program-name", &["program-name"]), ("tape-line", &["tape-line"]),
        ];
        for (reading, rules) in readings {
            let count = read.get(reading).copied().unwrap_or(0);
            prop_assert_eq!(count, drawn(rules), "{} of {}", reading, draw.text.escape_ascii());
        }
    }
}
