//! Files beside the job file: libraries of laminates, tools and machines, and positions.

use super::{Given, settings, told};
use lastply::job::Job;
use lastply::source::Source;
use lastply::units::{Millimetres, MmPerMin};

const SHOP: &[(&str, &str)] = &[
    (
        "../shop/metric.toml",
        "units = 'mm'\n[laminate.plate]\nspec = 'S 1'\nlayers = [{ material = 'glass-tape', plies = 4, ply = 0.25 }]\n\
         exit = { feed = 0.03, plies = 2 }\n[tool.6]\nkind = 'router'\ndiameter = 6\n[tool.7]\nkind = 'router'\ndiameter = 7",
    ),
    (
        "../shop/inch.toml",
        "units = 'in'\n[machine]\nname = 'mill'\nmax_feed = 200\nmax_speed = 6000\n[tool.6]\nkind = 'router'\ndiameter = 0.25",
    ),
    ("bare.toml", "[tool.9]\nkind = 'router'\ndiameter = 6"),
    ("typo.toml", "unit = 'mm'"),
    ("good.csv", "x, y, id\n# datum hole first\n10, 0, K1\n0.5 in, 2,\n"),
    ("bad.csv", "id,x,y\nA,1,2\nB,one,2\nC,3\n"),
    ("empty.csv", "id,x,y\n"),
    ("columns.csv", "name,x\nA,1\n"),
];

fn load(text: &str) -> Result<Job, String> {
    Job::load(&Source::new("jobs/a.job.toml", text), &Given(SHOP)).map_err(|errors| told(&errors))
}

#[test]
fn a_library_keeps_its_own_units_and_is_named_as_origin() {
    let job =
        load("use = ['../shop/metric.toml']\n[job]\npart = 'a'\nentry_z = '0 mm'\nunits = 'in'\nlaminate = 'plate'")
            .unwrap();
    assert_eq!(job.tool(6).unwrap().diameter, Millimetres(6.0));
    let exit = job.laminate.unwrap().exit.unwrap();
    assert_eq!(exit.feed.origin, "metric.toml: laminate.plate.exit.feed, S 1");
}

#[test]
fn the_job_file_wins_over_libraries_and_a_machine_key_by_key() {
    let job = load(
        "use = ['../shop/metric.toml', '../shop/inch.toml']\n[job]\npart = 'a'\nentry_z = '0 mm'\nunits = 'mm'\n\
         [machine]\nmax_feed = 1000\n[tool.6]\nkind = 'router'\ndiameter = 8",
    )
    .unwrap();
    assert_eq!(job.tool(6).unwrap().diameter, Millimetres(8.0));
    assert_eq!(job.tool(7).unwrap().diameter, Millimetres(7.0));
    assert_eq!(job.machine.name, "mill");
    assert_eq!(job.machine.max_feed.unwrap().value, MmPerMin(1000.0));
    assert_eq!(job.machine.max_speed.unwrap().origin, "inch.toml: machine.max_speed");
}

#[test]
fn faults_of_libraries_name_the_library() {
    let fault =
        |names: &str| load(&format!("use = [{names}]\n[job]\npart = 'a'\nentry_z = '0 mm'\nunits = 'mm'")).unwrap_err();
    settings().bind(|| {
        insta::assert_snapshot!(
            [
                fault("'../shop/metric.toml', '../shop/inch.toml'"),
                fault("'bare.toml'"),
                fault("'typo.toml', 'none.toml'"),
            ]
            .join("\n")
        )
    });
}

#[test]
fn positions_come_from_a_file() {
    let holes = |file: &str| {
        let text = format!(
            "[job]\npart = 'a'\nentry_z = '0 mm'\nunits = 'mm'\n[[holes]]\nid = 'P'\ndiameter = 6\nthrough = true\nfile = '{file}'"
        );
        load(&text)
    };
    let read = holes("good.csv").unwrap();
    let positions: Vec<_> = read.holes[0].positions.iter().map(|hole| (hole.id.as_str(), hole.x.0, hole.y.0)).collect();
    assert_eq!(positions, [("K1", 10.0, 0.0), ("P2", 12.7, 2.0)]);
    let faults = ["bad.csv", "empty.csv", "columns.csv", "none.csv"].map(|file| holes(file).unwrap_err());
    settings().bind(|| insta::assert_snapshot!(faults.join("\n")));
}
