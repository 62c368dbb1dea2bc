//! Any bytes are checked as a program, with and without a job file: every finding points into the text, and the same
//! input gives the same report.
#![no_main]

use std::sync::LazyLock;

use lastply::check::{Options, check};
use lastply::job::{Job, NoFiles};
use lastply::source::{NoLibrary, Source};
use libfuzzer_sys::fuzz_target;

static JOB: LazyLock<Option<Job>> = LazyLock::new(|| {
    Job::load(&Source::new("plate.toml", include_str!("../../tests/jobs/plate.toml")), &NoFiles).ok()
});

fuzz_target!(|bytes: &[u8]| {
    for job in [None, JOB.as_ref()] {
        let options = Options::of_job(job).expect("the dialect is known");
        let run = || check(Source::new("fuzz.nc", bytes), job, &NoLibrary, &options);
        let report = run();
        for place in report.findings.iter().flat_map(|finding| &finding.places) {
            assert!(place.span.start <= place.span.end && place.span.end as usize <= bytes.len());
        }
        assert_eq!(report.findings, run().findings);
    }
});
