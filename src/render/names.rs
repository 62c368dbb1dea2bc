//! Lists of hole names as short as people write them: `H19-H36, D1`.

/// Runs shown before the rest is only counted.
const RUNS_SHOWN: usize = 6;

/// A name taken apart: what stands before its last digits, and the digits.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Name<'a> {
    stem: &'a str,
    number: Option<u64>,
    whole: &'a str,
}

impl<'a> Name<'a> {
    fn new(whole: &'a str) -> Self {
        let stem = whole.trim_end_matches(|letter: char| letter.is_ascii_digit());
        let digits = whole.strip_prefix(stem).unwrap_or_default();
        Self { stem, number: digits.parse().ok(), whole }
    }

    fn follows(&self, before: &Self) -> bool {
        self.stem == before.stem && self.number.is_some() && self.number == before.number.and_then(|n| n.checked_add(1))
    }
}

/// The names in order, with neighbours drawn together and at most a few runs shown.
pub(crate) fn compressed(names: &[String]) -> String {
    let mut parts: Vec<Name<'_>> = names.iter().map(|name| Name::new(name)).collect();
    parts.sort();
    parts.dedup();
    let runs: Vec<&[Name<'_>]> = parts.chunk_by(|before, after| after.follows(before)).collect();
    let shown: Vec<String> = runs.iter().take(RUNS_SHOWN).map(|run| words(run)).collect();
    let rest: usize = runs.iter().skip(RUNS_SHOWN).map(|run| run.len()).sum();
    let mut text = shown.join(", ");
    if rest > 0 {
        text.push_str(&format!(" and {rest} more"));
    }
    text
}

fn words(run: &[Name<'_>]) -> String {
    match run {
        [] => String::new(),
        [one] => one.whole.to_owned(),
        [first, second] => format!("{}, {}", first.whole, second.whole),
        [first, .., last] => format!("{}-{}", first.whole, last.whole),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn short(names: &[&str]) -> String {
        compressed(&names.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>())
    }

    #[test]
    fn neighbours_are_drawn_together_in_order_of_number() {
        assert_eq!(short(&["H10", "H9", "H11", "D1"]), "D1, H9-H11");
        assert_eq!(short(&["H1", "H2"]), "H1, H2");
        assert_eq!(short(&["H1", "H1"]), "H1");
        assert_eq!(short(&["A", "B"]), "A, B");
        assert_eq!(short(&["#3", "#4", "#5"]), "#3-#5");
    }

    #[test]
    fn a_scattered_list_ends_in_a_count() {
        assert_eq!(short(&["A1", "A3", "A5", "A7", "A9", "A11", "A13", "A14"]), "A1, A3, A5, A7, A9, A11 and 2 more");
    }
}
