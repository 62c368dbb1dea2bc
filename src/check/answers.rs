//! Yes or no, with the margin: whether what was measured still gives complete holes and clear holders.

use crate::job::{Job, Laminate, Measured, MeasuredOf, ToolKind};
use crate::operation::{Breakthrough, Clearance, ClearanceGap, HORIZON, Recipe, Stages, Survey, gap_with, point_key};
use crate::process::Gap;
use crate::units::{Millimetres, UnitSystem};
use std::collections::{BTreeMap, BTreeSet};

/// What was measured, and the answers it gives.
#[derive(Clone, Debug, PartialEq)]
pub struct Overlay {
    /// What was measured.
    pub measured: Measured,
    /// One answer for each hole group and tool, then one for each tool measured or in the way.
    pub answers: Vec<Answer>,
}

/// The answer to one question.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// Whether the holes of a group come out complete.
    Holes(HolesAnswer),
    /// Whether a tool and its holder pass everything that stands around the part.
    Clear(ClearAnswer),
    /// It cannot be told.
    NotChecked {
        /// Of what.
        about: String,
        /// What is missing.
        why: String,
        /// The job-file key that would supply it.
        key: Option<String>,
    },
}

/// Holes of one group made by one tool.
#[derive(Clone, Debug, PartialEq)]
pub struct HolesAnswer {
    /// Id of the drawing's group; `None` for holes the drawing does not list.
    pub group: Option<String>,
    /// Tool number.
    pub tool: u32,
    /// How many holes.
    pub holes: u64,
    /// How many of them are not complete.
    pub short: u64,
    /// Tip height of the shallowest, program coordinates.
    pub bottom: Millimetres,
    /// Thickness up to which the shallowest gives full diameter.
    pub full_up_to: Millimetres,
    /// Thickness and overtravel it has to give it to.
    pub needed: Millimetres,
    /// Overtravel in that.
    pub overtravel: Millimetres,
    /// Tip height that gives it, program coordinates.
    pub ask: Millimetres,
}

impl HolesAnswer {
    /// How much is to spare; below zero how much is lacking.
    #[must_use]
    pub fn margin(&self) -> Millimetres {
        self.full_up_to - self.needed
    }
}

/// One tool against clamps, posts, keep-outs, table and backing.
#[derive(Clone, Debug, PartialEq)]
pub struct ClearAnswer {
    /// Tool number.
    pub tool: u32,
    /// The least clearance; `None` beyond the horizon.
    pub now: Option<Clearance>,
    /// What the job file gives for the same part and obstacle in the same block; `None` where that cannot be told.
    pub filed: Option<Millimetres>,
}

/// Rounding of depths, mm.
const HAIR: f64 = 1e-6;

impl Answer {
    /// `Some(true)` for yes, `Some(false)` for no, `None` where it cannot be told.
    #[must_use]
    pub fn is_yes(&self) -> Option<bool> {
        match self {
            Self::Holes(holes) => Some(holes.short == 0),
            Self::Clear(clear) => Some(clear.now.is_none_or(|now| now.gap >= 0.0)),
            Self::NotChecked { .. } => None,
        }
    }
}

/// The answers for a run of `job` with measurements over it.
pub(super) fn answers(survey: &Survey, job: &Job) -> Vec<Answer> {
    let mut found = holes(survey, job);
    found.extend(clearances(survey, job));
    found
}

fn holes(survey: &Survey, job: &Job) -> Vec<Answer> {
    let Some(laminate) = &job.laminate else {
        let why = "no laminate is given".to_owned();
        let key = Some("job.laminate".to_owned());
        return vec![Answer::NotChecked { about: "holes".to_owned(), why, key }];
    };
    let stages = Stages::of(survey, Some(job));
    let ways: Vec<Result<Breakthrough, Option<Gap>>> =
        survey.recipes.iter().map(|recipe| way_out(recipe, laminate, job)).collect();
    let mut groups: BTreeMap<(usize, u32), HolesAnswer> = BTreeMap::new();
    let mut unknown: BTreeMap<u32, &Gap> = BTreeMap::new();
    for (index, hole) in survey.holes.iter().enumerate() {
        let (Some(recipe), Some(way)) = (survey.recipe_of(hole), ways.get(hole.recipe as usize)) else { continue };
        match way {
            Ok(out) if stages.must_be_through(index, out) => {
                let drawn = survey.drawing.of_hole.get(index).copied().flatten().map(|found| found.group);
                let id = drawn.and_then(|group| job.holes.get(group)).map(|group| group.id.clone());
                let answer = one(id, recipe.tool, out, laminate, job);
                let known = groups.entry((drawn.unwrap_or(usize::MAX), recipe.tool));
                known.and_modify(|known| add(known, &answer)).or_insert(answer);
            }
            Err(Some(gap)) => {
                unknown.entry(recipe.tool).or_insert(gap);
            }
            Ok(_) | Err(None) => {}
        }
    }
    let unknown = unknown.into_iter().map(|(tool, gap)| not_checked(format!("holes of T{tool}"), gap.clone()));
    groups.into_values().map(Answer::Holes).chain(unknown).collect()
}

fn not_checked(about: String, Gap { why, key }: Gap) -> Answer {
    Answer::NotChecked { about, why, key }
}

/// How a recipe breaks through; else why that cannot be told, or nothing for a countersink, which never does.
fn way_out(recipe: &Recipe, laminate: &Laminate, job: &Job) -> Result<Breakthrough, Option<Gap>> {
    let unknown = |why: &str, key: Option<String>| Some(Gap { why: why.to_owned(), key });
    let Some(tool) = job.tool(recipe.tool) else {
        return Err(unknown("the tool is not in the job file", Some(format!("tool.{}", recipe.tool))));
    };
    if matches!(tool.kind, ToolKind::Countersink { .. }) {
        return Err(None);
    }
    if !recipe.heights_known {
        return Err(unknown("the height of the tool tip is not known", None));
    }
    let bottom = Millimetres(job.head.entry_z.0 - recipe.bottom);
    let key = Some(format!("tool.{}.{}", tool.number, point_key(&tool.kind)));
    Breakthrough::of(laminate, tool, bottom).ok_or_else(|| unknown("the point of the tool is not given", key))
}

fn one(group: Option<String>, tool: u32, out: &Breakthrough, laminate: &Laminate, job: &Job) -> HolesAnswer {
    let [.., thick] = out.tip_out;
    let need = out.needed(laminate);
    let entry = job.head.entry_z;
    HolesAnswer {
        group,
        tool,
        holes: 1,
        short: u64::from(out.bottom.0 < need.0 - HAIR),
        bottom: entry - out.bottom,
        full_up_to: out.full_up_to,
        needed: need - out.point,
        overtravel: need - out.point - thick,
        ask: entry - need,
    }
}

fn add(known: &mut HolesAnswer, other: &HolesAnswer) {
    let (holes, short) = (known.holes + other.holes, known.short + other.short);
    if other.margin() < known.margin() {
        *known = other.clone();
    }
    (known.holes, known.short) = (holes, short);
}

/// Tools that were measured, and tools that run into something.
fn clearances(survey: &Survey, job: &Job) -> Vec<Answer> {
    let values = job.measured.iter().flat_map(|measured| &measured.values);
    let measured = values.filter_map(|value| match value.of {
        MeasuredOf::Tool { number, .. } => Some(number),
        MeasuredOf::Thickness { .. } => None,
    });
    let hits = survey.clearances.hits.iter().map(|hit| hit.worst.tool);
    let tools: BTreeSet<u32> = measured.chain(hits).collect();
    let used = |number: &u32| survey.tools.iter().any(|used| used.tool == *number);
    tools.into_iter().filter(used).map(|number| clear(number, survey, job)).collect()
}

fn clear(number: u32, survey: &Survey, job: &Job) -> Answer {
    let lacking = survey.clearances.gaps.iter().find_map(|gap| match *gap {
        ClearanceGap::Holder { tool, key } | ClearanceGap::Depth { tool, key } if tool == number => {
            Some(("its shape is not given", Some(format!("tool.{number}.{key}"))))
        }
        ClearanceGap::RapidStyle { tool, .. } if tool == number => {
            Some(("how rapids run is not given", Some("machine.rapid_style".to_owned())))
        }
        ClearanceGap::Place { tool } if tool == number => Some(("the place of a feed move is not known", None)),
        _ => None,
    });
    let now = least(number, survey);
    match lacking.filter(|_| now.is_none_or(|now| now.gap >= 0.0)) {
        Some((why, key)) => Answer::NotChecked { about: format!("clearance of T{number}"), why: why.to_owned(), key },
        None => {
            let filed = job.measured.as_ref().and_then(|measured| measured.as_filed.tool(number));
            let both = job.tool(number).zip(filed);
            let gap = now.zip(both).and_then(|(now, (tool, filed))| gap_with(&now, tool, filed, job));
            Answer::Clear(ClearAnswer { tool: number, now, filed: gap.map(Millimetres) })
        }
    }
}

/// The least clearance of a tool, hits on table and backing among them.
fn least(number: u32, survey: &Survey) -> Option<Clearance> {
    let hits = survey.clearances.hits.iter().map(|hit| hit.worst);
    let all = survey.clearances.least.iter().copied().chain(hits);
    all.filter(|one| one.tool == number).min_by(|one, other| one.gap.total_cmp(&other.gap))
}

/// A height rounded away from the entry face to what a program would say: 0.01 mm or 0.001 in.
#[must_use]
pub fn rounded_down(z: Millimetres, units: UnitSystem) -> Millimetres {
    let step = match units {
        UnitSystem::Metric => 0.01,
        UnitSystem::Inch => 0.001 * units.mm(),
    };
    Millimetres(libm::floor(z.0 / step + HAIR) * step)
}

/// Clearances beyond this are not told.
pub const TOLD: Millimetres = Millimetres(HORIZON);
