//! G52 and G92 move the origin under a program: the same ways of the tool give the same findings all the same.

use crate::rules::job;
use lastply::check::{Options, check};
use lastply::diagnostic::Place;
use lastply::source::{LineIndex, NoLibrary, Source};
use proptest::prelude::*;

/// What a program does next, at places of the job's frame.
#[derive(Clone, Debug)]
enum Act {
    /// A hole of a row by cycle.
    Row([i32; 2]),
    /// A rapid to some height.
    Rapid([i32; 2], i32),
    /// A hole by hand.
    Hand([i32; 2]),
    /// The origin goes there.
    Shift([i32; 2]),
}

/// How a program moves its origin.
#[derive(Clone, Copy, Debug, PartialEq)]
enum By {
    Nothing,
    G52,
    G92,
}

fn act() -> impl Strategy<Value = Act> {
    let place = || [-20..180_i32, -30..120_i32];
    prop_oneof![
        8 => place().prop_map(Act::Row),
        2 => (place(), prop::sample::select(vec![5, 30])).prop_map(|(at, z)| Act::Rapid(at, z)),
        2 => place().prop_map(Act::Hand),
        2 => [-300..300_i32, -300..300_i32].prop_map(Act::Shift),
    ]
}

/// The program; where the origin stays, a note stands in the place of each shift.
fn program(acts: &[Act], by: By) -> String {
    let mut text =
        "G21 G90 G94 G17 G40 G49 G80 G98\nG54\nT6 M6\nS6366 M3 M7\nG0 G43 H6 X0 Y-100 Z50\nG4 P2\n".to_owned();
    let (mut origin, mut last, mut in_row) = ([0, 0], [0, -100], false);
    for act in acts {
        let from = |[left, low]: [i32; 2], [x, y]: [i32; 2]| format!("X{} Y{}", x - left, y - low);
        text += &match act {
            Act::Row(at) if in_row => from(origin, *at),
            Act::Row(at) => format!("G99 G81 {} Z-8.5 R2 F159", from(origin, *at)),
            Act::Rapid(at, z) => format!("G0 {} Z{z}", from(origin, *at)),
            Act::Hand(at) => format!("G0 {}\nG1 Z-8.5 F159\nG0 Z30", from(origin, *at)),
            Act::Shift([x, y]) if by == By::G52 => format!("G52 X{x} Y{y}"),
            Act::Shift(to) if by == By::G92 => format!("G92 {}", from(*to, last)),
            Act::Shift(_) => "(the origin stays)".to_owned(),
        };
        text.push('\n');
        match act {
            Act::Row(at) => (last, in_row) = (*at, true),
            Act::Rapid(at, _) | Act::Hand(at) => (last, in_row) = (*at, false),
            Act::Shift(to) if by != By::Nothing => origin = *to,
            Act::Shift(_) => {}
        }
    }
    text + "G80\nG0 Z50\nM5\nM30\n"
}

/// Rule, message and lines of every finding.
fn findings(text: &str) -> Vec<(&'static str, String, Vec<u32>)> {
    let job = job("plate");
    let lines = LineIndex::new(text.as_bytes());
    let report = check(Source::new("p.nc", text), Some(&job), &NoLibrary, &Options::of_job(Some(&job)).unwrap());
    let line = |place: &Place| lines.position(place.span.start).line;
    let told = report.findings.into_iter();
    told.map(|finding| (finding.rule, finding.message, finding.places.iter().map(line).collect())).collect()
}

proptest! {
    #[test]
    fn a_moved_origin_changes_no_finding(acts in prop::collection::vec(act(), 1..40)) {
        let stays = findings(&program(&acts, By::Nothing));
        for by in [By::G52, By::G92] {
            let moved = program(&acts, by);
            prop_assert_eq!(&findings(&moved), &stays, "{:?}\n{}", by, moved);
        }
    }
}

#[test]
fn a_row_over_a_clamp_is_seen_wherever_its_origin_lies() {
    let row = [Act::Shift([0, -300]), Act::Row([20, 0]), Act::Row([80, 0]), Act::Row([90, 0])];
    for by in [By::Nothing, By::G52, By::G92] {
        let found = findings(&program(&row, by));
        let over: Vec<_> = found.iter().filter(|(rule, ..)| *rule == "hop-over-clamp").map(|(.., at)| at).collect();
        assert_eq!(over, [&vec![9]], "{by:?}: {found:?}");
    }
}

/// The origin may be moved before the program has been anywhere.
#[test]
fn a_row_over_a_clamp_is_seen_when_g52_comes_first() {
    let row = |shift: &str, y: i32| {
        let head = "G21 G90 G94 G17 G40 G49 G80 G98\nG54\n";
        let row = format!("G99 G81 X20 Y{y} Z-8.5 R2 F159\nX80 Y{y}\nG80\nG0 Z50\nM5\nM30\n");
        findings(&format!("{head}{shift}\nT6 M6\nS6366 M3 M7\nG0 G43 H6 X0 Y{y} Z50\nG4 P2\n{row}"))
    };
    let plain = row("(the origin stays)", 0);
    assert!(plain.iter().any(|(rule, ..)| *rule == "hop-over-clamp"), "{plain:?}");
    assert_eq!(row("G52 X0 Y-300", 300), plain);
}
