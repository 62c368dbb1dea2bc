//! `lastply rules`: the list of rules, or the manual of one.

use super::args::RulesArgs;
use super::failure::Failure;
use super::streams::Streams;
use crate::render;
use crate::rules;

/// Prints it.
pub fn run(args: &RulesArgs, streams: &mut Streams) -> Result<u8, Failure> {
    let text = match &args.name {
        None => render::rule_list(rules::ALL, &streams.look),
        Some(name) => {
            let entry = rules::ALL.iter().find(|entry| entry.rule.name == name.as_str());
            let entry = entry.ok_or_else(|| Failure::Unusable(unknown(name)))?;
            render::rule_page(entry, &streams.look)
        }
    };
    streams.write(&text);
    Ok(0)
}

/// What to say of a name that no rule has: the nearest one, if any is near.
fn unknown(name: &str) -> String {
    let near = rules::ALL.iter().map(|entry| (strsim::jaro_winkler(name, entry.rule.name), entry.rule.name));
    let near = near.filter(|(likeness, _)| *likeness > 0.8).max_by(|one, other| one.0.total_cmp(&other.0));
    match near {
        Some((_, near)) => format!("there is no rule `{name}`; did you mean `{near}`?"),
        None => format!("there is no rule `{name}`; `lastply rules` lists them all"),
    }
}
