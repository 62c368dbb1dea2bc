//! Where the time goes, tool by tool, and what that rests on.

use super::book::Book;
use super::look::Look;
use crate::check::Report;
use crate::job::Machine;
use crate::motion::Limits;
use crate::units::{UnitSystem, trimmed};

/// Total time by what it goes into, each tool's share, and the machine it is planned for; empty when nothing moves.
#[must_use]
pub fn times(report: &Report, machine: Option<&Machine>, look: &Look) -> String {
    let times = &report.survey.times;
    let kinds = [
        ("feeding", times.cutting),
        ("rapids", times.rapid),
        ("dwells", times.dwell),
        ("tool changes", times.tool_change),
        ("waiting for the spindle", times.spin_up),
    ];
    let total = times.total();
    if total <= 0.0 {
        return String::new();
    }
    let bound = if times.planned { "" } else { "at least " };
    let mut text = look.led("time", &format!("{bound}{}: {}", duration(total), listed(&kinds)));
    let tools = by_tool(report);
    for (tool, cutting, rapid) in tools.iter().filter(|_| tools.len() > 1) {
        let share = listed(&[("feeding", *cutting), ("rapids", *rapid)]);
        text.push_str(&look.led("", &format!("{}: {share}", Book::new(report).tool(*tool))));
    }
    text + &look.led("", &basis(times.planned, machine, report.units))
}

/// Tools in order of first use, with the time they feed and travel in all, s.
pub(super) fn by_tool(report: &Report) -> Vec<(u32, f64, f64)> {
    let mut tools: Vec<(u32, f64, f64)> = Vec::new();
    for used in report.survey.tools.iter().filter(|used| used.cutting + used.rapid > 0.0) {
        match tools.iter_mut().find(|(tool, ..)| *tool == used.tool) {
            Some((_, cutting, rapid)) => (*cutting, *rapid) = (*cutting + used.cutting, *rapid + used.rapid),
            None => tools.push((used.tool, used.cutting, used.rapid)),
        }
    }
    tools
}

/// What the times rest on, or what they lack.
fn basis(planned: bool, machine: Option<&Machine>, units: UnitSystem) -> String {
    let limits = machine.and_then(Limits::of);
    let rates = machine.is_some_and(|machine| machine.rapid.iter().all(Option::is_some));
    match limits {
        Some(limits) if planned => format!("planned with {}", limits.words(units)),
        Some(_) if rates => "lower bound: some moves have no feed, or a time that nobody states".to_owned(),
        Some(_) => "lower bound, without some rapids: give `machine.rapid` in the job file".to_owned(),
        None if rates => "commanded-feed time, lower bound: give `machine.acceleration` in the job file".to_owned(),
        None => {
            "commanded-feed time, lower bound: give `machine.acceleration` and `machine.rapid` in the job file".into()
        }
    }
}

/// Those that take any time.
fn listed(kinds: &[(&str, f64)]) -> String {
    let taken = kinds.iter().filter(|(_, seconds)| *seconds > 0.0);
    taken.map(|(name, seconds)| format!("{name} {}", duration(*seconds))).collect::<Vec<_>>().join(", ")
}

/// Seconds as `4.2 s`, `12 min 30 s` or `2 h 5 min`.
pub(super) fn duration(seconds: f64) -> String {
    let (whole, minutes) = (libm::round(seconds), libm::round(seconds / 60.0));
    if libm::round(seconds * 10.0) < 600.0 {
        format!("{} s", trimmed(seconds, 1))
    } else if whole < 3600.0 {
        format!("{:.0} min {:.0} s", libm::floor(whole / 60.0), whole % 60.0)
    } else {
        format!("{:.0} h {:.0} min", libm::floor(minutes / 60.0), minutes % 60.0)
    }
}

#[cfg(test)]
mod tests {
    use super::super::sample;
    use super::*;
    use crate::motion::Times;
    use crate::operation::ToolUse;
    use crate::units::MmPerMin;

    fn used(tool: u32, cutting: f64, rapid: f64) -> ToolUse {
        ToolUse { tool, cutting, rapid, ..ToolUse::default() }
    }

    fn report(planned: bool) -> Report {
        let mut report = sample::report();
        report.survey.times =
            Times { cutting: 95.0, rapid: 30.04, dwell: 0.0, tool_change: 16.0, spin_up: 2.5, planned };
        report.survey.tools = vec![used(11, 60.0, 10.0), used(3, 30.0, 15.0), used(11, 5.0, 5.04)];
        report
    }

    fn machine() -> Machine {
        Machine { acceleration: [Some(2.0); 3], rapid: [Some(MmPerMin(9000.0)); 3], ..Machine::default() }
    }

    #[test]
    fn planned_times_name_the_machine() {
        let text = times(&report(true), Some(&machine()), &Look { width: 200, ..Look::default() });
        let lines: Vec<&str> = text.lines().map(str::trim).collect();
        assert_eq!(
            lines,
            [
                "time   2 min 24 s: feeding 1 min 35 s, rapids 30 s, tool changes 16 s, waiting for the spindle 2.5 s",
                "T11 carbide drill 12.0: feeding 1 min 5 s, rapids 15 s",
                "T3: feeding 30 s, rapids 15 s",
                "planned with acceleration X 2 Y 2 Z 2 m/s2, corners within 0.01 mm (house value), \
                 100 blocks looked ahead (house value)",
            ]
        );
    }

    #[test]
    fn without_data_a_lower_bound_names_what_is_missing() {
        let told = |machine: Option<&Machine>| times(&report(false), machine, &Look { width: 200, ..Look::default() });
        let no_rates = Machine { rapid: [None; 3], ..machine() };
        let no_acceleration = Machine { acceleration: [None; 3], ..machine() };
        for (machine, words) in [
            (None, "commanded-feed time, lower bound: give `machine.acceleration` and `machine.rapid`"),
            (Some(&no_acceleration), "commanded-feed time, lower bound: give `machine.acceleration` in"),
            (Some(&no_rates), "without some rapids: give `machine.rapid`"),
            (Some(&machine()), "some moves have no feed"),
        ] {
            let text = told(machine);
            assert!(text.contains("at least 2 min 24 s") && text.contains(words), "{text}");
        }
    }

    #[test]
    fn durations_read_as_people_say_them() {
        let said = [0.04, 59.94, 59.96, 3599.4, 3599.6, 7500.0].map(duration);
        assert_eq!(said, ["0 s", "59.9 s", "1 min 0 s", "59 min 59 s", "1 h 0 min", "2 h 5 min"]);
        assert_eq!(times(&sample::report(), None, &Look::default()), "");
    }
}
