//! Measurements as people type them at the machine, such as `thickness=39.6mm` and `11:stickout=61mm`.

use super::amount::{Amount, AmountFault, Measure};
use super::error::did_you_mean;
use crate::job::measured::{Measured, MeasuredOf, MeasuredValue, ToolAmount};
use crate::job::{Date, Job, Laminate};
use crate::units::{Millimetres, UnitSystem, trimmed};

/// A measured thickness is believed from this part of the nominal to this many times it: a house value.
const MOST_OFF: f64 = 2.0;

impl Job {
    /// The job with measurements laid over it: `part` holds texts such as `thickness=39.6mm` or
    /// `thickness.NAME=39.6mm`, `tools` texts such as `11:stickout=61mm`. Without either the job stays as it is.
    ///
    /// # Errors
    /// The first measurement that cannot be read or belongs to nothing in the job, in words.
    pub fn measured(mut self, part: &[String], tools: &[String], date: Option<Date>) -> Result<Self, String> {
        if part.is_empty() && tools.is_empty() {
            return Ok(self);
        }
        let as_filed = Box::new(self.clone());
        let mut values: Vec<MeasuredValue> = Vec::new();
        for (text, of_tool) in part.iter().map(|text| (text, false)).chain(tools.iter().map(|text| (text, true))) {
            let value = if of_tool { self.measure_tool(text)? } else { self.measure_part(text)? };
            if values.iter().any(|other| other.of.is_same(&value.of)) {
                return Err(format!("`{text}` is measured twice; give one value"));
            }
            values.push(value);
        }
        self.measured = Some(Measured { date, values, as_filed });
        Ok(self)
    }

    fn measure_part(&mut self, text: &str) -> Result<MeasuredValue, String> {
        let (key, amount) = pair(text, "thickness=39.6mm")?;
        let (key, name) = key.split_once('.').map_or((key, None), |(key, name)| (key, Some(name)));
        if key != "thickness" {
            let help = did_you_mean(key, &["thickness"]).unwrap_or_default();
            return Err(format!("`{key}` cannot be measured of a part; {help}"));
        }
        let name = self.laminate_meant(name)?;
        let thickness = length("thickness", amount, self.head.units)?;
        let mut filed = None;
        for laminate in self.laminates_mut().filter(|laminate| laminate.name == name) {
            believable(laminate, thickness, amount)?;
            filed = Some((laminate.thickness(), laminate.span_of(laminate.layers.len())));
            *laminate = laminate.as_thick_as(thickness);
        }
        let (nominal, span) = filed.unwrap_or_default();
        let of = MeasuredOf::Thickness { laminate: name, span };
        Ok(MeasuredValue { of, value: thickness.0, filed: Some(nominal.0) })
    }

    /// Name of the laminate a thickness is of: the one named, else the only one.
    fn laminate_meant(&mut self, name: Option<&str>) -> Result<String, String> {
        let mut names: Vec<String> = self.laminates_mut().map(|laminate| laminate.name.clone()).collect();
        names.sort();
        names.dedup();
        let job = &self.name;
        match (names.as_slice(), name) {
            ([], _) => Err(format!("{job} names no laminate whose thickness could be measured")),
            (_, Some(name)) if names.iter().any(|known| known == name) => Ok(name.to_owned()),
            (_, Some(name)) => {
                let known: Vec<&str> = names.iter().map(String::as_str).collect();
                let help = did_you_mean(name, &known).unwrap_or_default();
                Err(format!("the part has no laminate `{name}`; {help}"))
            }
            ([only], None) => Ok(only.clone()),
            (_, None) => {
                let keys = names.iter().map(|name| format!("`thickness.{name}=`")).collect::<Vec<_>>().join(", ");
                Err(format!("the part has several laminates; say which was measured: {keys}"))
            }
        }
    }

    fn laminates_mut(&mut self) -> impl Iterator<Item = &mut Laminate> {
        let zones = self.workpiece.iter_mut().flat_map(|workpiece| &mut workpiece.zones);
        self.laminate.iter_mut().chain(zones.map(|zone| &mut zone.laminate))
    }

    fn measure_tool(&mut self, text: &str) -> Result<MeasuredValue, String> {
        let example = "11:stickout=61mm";
        let Some((number, rest)) = text.split_once(':') else {
            return Err(format!("`{text}` names no tool; write it like `{example}`"));
        };
        let number = number.trim().trim_start_matches(['T', 't']);
        let number: u32 =
            number.parse().map_err(|_| format!("`{number}` is no tool number; write it like `{example}`"))?;
        let (key, amount) = pair(rest, example)?;
        // At a machine nobody minds how the word is joined.
        let plain = |key: &str| key.replace(['_', '-'], "").to_ascii_lowercase();
        let found = ToolAmount::ALL.into_iter().find(|known| plain(known.key()) == plain(key)).ok_or_else(|| {
            let help = did_you_mean(key, &ToolAmount::ALL.map(ToolAmount::key)).unwrap_or_default();
            format!("`{key}` cannot be measured of a tool; {help}")
        })?;
        let value = match found {
            ToolAmount::Used => count(amount)?,
            ToolAmount::StickOut | ToolAmount::Length | ToolAmount::Diameter => {
                length(found.key(), amount, self.head.units)?.0
            }
        };
        let known: Vec<String> = self.tools.keys().map(|number| format!("T{number}")).collect();
        let Some(tool) = self.tools.get_mut(&number) else {
            return Err(format!("T{number} is not in {}; it lists {}", self.name, known.join(", ")));
        };
        let filed = found.put(tool, value);
        Ok(MeasuredValue { of: MeasuredOf::Tool { number, key: found }, value, filed })
    }
}

/// A part that measures more than twice or less than half of what it should is a slip of the pen.
fn believable(laminate: &Laminate, thickness: Millimetres, text: &str) -> Result<(), String> {
    let share = thickness / laminate.thickness();
    if (1.0 / MOST_OFF..=MOST_OFF).contains(&share) {
        return Ok(());
    }
    let (name, share) = (&laminate.name, trimmed(share, 3));
    Err(format!("`thickness={text}` is {share} times what {name} measures by the job file; is the unit right?"))
}

fn pair<'a>(text: &'a str, example: &str) -> Result<(&'a str, &'a str), String> {
    let (key, amount) =
        text.split_once('=').ok_or_else(|| format!("`{text}` has no `=`; write it like `{example}`"))?;
    Ok((key.trim(), amount.trim()))
}

fn length(key: &str, text: &str, units: Option<UnitSystem>) -> Result<Millimetres, String> {
    let symbols = || Millimetres::UNITS.iter().map(|(symbol, _)| *symbol).collect::<Vec<_>>().join(", ");
    match Amount::Text(text.to_owned()).read::<Millimetres>(units) {
        Ok(length) if length.0 > 0.0 => Ok(length),
        Ok(_) => Err(format!("`{key}` must be more than 0, not {text}")),
        Err(AmountFault::NotANumber) => Err(format!("`{key}` must be a length, such as `{key}=6.0mm`, not `{text}`")),
        Err(AmountFault::NoUnits) => {
            Err(format!("`{key}` has no unit, and the job file sets none; write it like `{key}={text}mm`"))
        }
        Err(AmountFault::Unit(unit)) => {
            Err(format!("`{key}` is a length, and `{unit}` is no unit of it; units: {}", symbols()))
        }
    }
}

fn count(text: &str) -> Result<f64, String> {
    let value = text.parse::<f64>().ok().filter(|value| value.is_finite() && (0.0..1e12).contains(value));
    value.ok_or_else(|| format!("`used` must be a number from 0, in the unit of the tool's life, not `{text}`"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::NoFiles;
    use crate::source::Source;

    fn job(units: &str) -> Job {
        let text = format!(
            "[job]\npart = \"P\"\nentry_z = \"0 mm\"\n{units}\nlaminate = \"root\"\n[laminate.root]\ntolerance = \"5 %\"\n\
             layers = [{{ material = \"glass-fabric\", plies = 10, ply = \"1 mm\" }}]\n\
             [tool.11]\nkind = \"twist-drill\"\ndiameter = \"12 mm\"\nstick_out = \"75 mm\"\n"
        );
        Job::load(&Source::new("plate.job.toml", text), &NoFiles).unwrap()
    }

    fn laid(units: &str, part: &[&str], tools: &[&str]) -> Result<Job, String> {
        let own = |texts: &[&str]| texts.iter().map(|text| (*text).to_owned()).collect::<Vec<_>>();
        job(units).measured(&own(part), &own(tools), None)
    }

    #[test]
    fn measurements_lie_over_the_job_and_keep_what_it_said() {
        let part = ["thickness=10.4"];
        let tools = ["T11:StickOut=2.5in", "11:used=7"];
        let job = laid("units = \"mm\"", &part, &tools).unwrap();
        assert_eq!(job.laminate.as_ref().unwrap().thickness(), Millimetres(10.4));
        let tool = job.tool(11).unwrap();
        assert_eq!((tool.stick_out, tool.used), (Some(Millimetres(63.5)), 7.0));
        let measured = job.measured.unwrap();
        assert_eq!(measured.as_filed.tool(11).unwrap().stick_out, Some(Millimetres(75.0)));
        let texts: Vec<String> = measured.values.iter().map(|value| value.text(UnitSystem::Metric)).collect();
        assert_eq!(
            texts,
            [
                "thickness of root: 10.4 mm; job file 10 mm, inside its 9.5 mm to 10.5 mm",
                "T11 stands out: 63.5 mm; job file 75 mm",
                "T11 used before: 7; job file 0",
            ]
        );
    }

    #[test]
    fn what_cannot_be_laid_over_says_why() {
        for (part, tool, words) in [
            ("thicknes=10mm", "", "did you mean `thickness`?"),
            ("thickness.rot=10mm", "", "did you mean `root`?"),
            ("thickness=10", "", "`thickness` has no unit"),
            ("thickness=10kg", "", "`kg` is no unit"),
            ("thickness=-1mm", "", "more than 0"),
            ("thickness", "", "has no `=`"),
            ("", "12:stickout=61mm", "T12 is not in plate.job.toml; it lists T11"),
            ("", "11:stikout=61mm", "did you mean `stick_out`?"),
            ("", "stickout=61mm", "names no tool"),
            ("", "x:stickout=61mm", "`x` is no tool number"),
            ("thickness=10mm", "11:used=-2", "`used` must be a number from 0"),
        ] {
            let given = |text: &'static str| if text.is_empty() { vec![] } else { vec![text] };
            let said = laid("", &given(part), &given(tool)).unwrap_err();
            assert!(said.contains(words), "{said}");
        }
        let twice = laid("", &[], &["11:length=90mm", "11:length=91mm"]).unwrap_err();
        assert!(twice.contains("measured twice"), "{twice}");
    }
}
