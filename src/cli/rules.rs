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
            let entry = entry
                .ok_or_else(|| Failure::Unusable(format!("there is no rule `{name}`; {}", rules::suggestion(name))))?;
            render::rule_page(entry, &streams.look)
        }
    };
    streams.write(&text);
    Ok(0)
}
