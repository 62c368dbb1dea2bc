//! Laminates, tools and machines from the job file and from the libraries it uses.

use super::at::At;
use super::reader::Reader;
use super::tables::{LibraryTables, Shared, parse};
use super::units_word::UnitsWord;
use super::{JobFiles, laminate, machine, tool};
use crate::job::{Laminate, Machine, Tool};
use crate::source::Span;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What the libraries hold together.
#[derive(Default)]
pub(super) struct Shelf {
    pub machine: Machine,
    /// `None` for a laminate with a fault, which is told already.
    laminates: BTreeMap<String, Option<Laminate>>,
    pub tools: BTreeMap<u32, Tool>,
    /// Things that two libraries hold, with the place the second is used at.
    clashes: Vec<(Thing, Span, String)>,
    seen: BTreeMap<Thing, String>,
}

/// Something a library can hold.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Thing {
    Machine,
    Laminate(String),
    Tool(u32),
}

impl Shelf {
    /// Adds one library.
    pub fn put(&mut self, name: &At<String>, files: &dyn JobFiles, reader: &mut Reader) {
        let source = match files.read(&name.value) {
            Ok(source) => source,
            Err(why) => {
                reader.error(name.span, format!("cannot read `{}`: {why}", name.value), None);
                return;
            }
        };
        let mut own = Reader::new(Arc::new(source));
        if let Some(tables) = parse::<LibraryTables>(&mut own) {
            own.units = tables.units.map(UnitsWord::system);
            let machine = tables.machine.as_ref().map(|machine| &machine.value);
            let shared = Shared { machine, laminates: tables.laminate.as_ref(), tools: tables.tool.as_ref() };
            for thing in things(&shared) {
                if let Some(other) = self.seen.insert(thing.clone(), name.value.clone()) {
                    self.clashes.push((thing, name.span, format!("both `{other}` and `{}`", name.value)));
                }
            }
            self.take(&shared, &mut own);
        }
        reader.errors.append(&mut own.finish());
    }

    /// The shelf with the job file's own tables over it. A clash of libraries that the job file settles is none.
    pub fn under(mut self, main: &Shared<'_>, reader: &mut Reader) -> Self {
        let settled: BTreeSet<Thing> = things(main).collect();
        for (thing, span, holders) in std::mem::take(&mut self.clashes) {
            if settled.contains(&thing) {
                continue;
            }
            let what = match thing {
                Thing::Machine => "[machine]".to_owned(),
                Thing::Laminate(name) => format!("[laminate.{name}]"),
                Thing::Tool(number) => format!("[tool.{number}]"),
            };
            let help = Some("keep one of them, or give it in the job file, which wins".to_owned());
            reader.error(span, format!("{holders} hold {what}"), help);
        }
        self.take(main, reader);
        self
    }

    /// The laminate a file names; `None` for one that is unknown, or known to have a fault.
    pub fn laminate(&self, wanted: &At<String>, reader: &mut Reader) -> Option<Laminate> {
        let found = self.laminates.get(&wanted.value);
        if found.is_none() {
            let known: Vec<&str> = self.laminates.keys().map(String::as_str).collect();
            reader.unknown(wanted.span, format!("unknown laminate `{}`", wanted.value), &wanted.value, &known);
        }
        found.cloned().flatten()
    }

    fn take(&mut self, tables: &Shared<'_>, reader: &mut Reader) {
        if let Some(raw) = tables.machine {
            let over = reader.within("machine", |reader| machine::machine(raw, reader));
            self.machine = machine::merged(over, std::mem::take(&mut self.machine));
        }
        for (name, raw) in tables.laminates.into_iter().flatten() {
            let read =
                reader.within(&format!("laminate.{name}"), |reader| laminate::laminate(name, &raw.value, reader));
            self.laminates.insert(name.clone(), read);
        }
        for (number, raw) in tables.tools.into_iter().flatten() {
            let read = reader.within(&format!("tool.{number}"), |reader| tool::tool(*number, raw, reader));
            self.tools.extend(read.map(|tool| (*number, tool)));
        }
    }
}

fn things(tables: &Shared<'_>) -> impl Iterator<Item = Thing> {
    let machine = tables.machine.map(|_| Thing::Machine);
    let laminates = tables.laminates.into_iter().flatten().map(|(name, _)| Thing::Laminate(name.clone()));
    let tools = tables.tools.into_iter().flatten().map(|(number, _)| Thing::Tool(*number));
    machine.into_iter().chain(laminates).chain(tools)
}
