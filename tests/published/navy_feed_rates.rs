//! NAVEDTRA 14315, chapter 5: graphite/epoxy is drilled at 2000 to 5000 rev/min, best in 10 to 15 s for an inch, and
//! never slower than 30 s for an inch.

use super::agrees;
use lastply::process::speed::inch_time;
use lastply::units::{MmPerMin, RevPerMin};

#[test]
fn feeds_are_so_many_seconds_an_inch() {
    // s/in; mm/min, mm/rev at 2000 and at 5000 rev/min
    let table = [(10.0, 152.4, 0.0762, 0.0305), (15.0, 101.6, 0.0508, 0.0203), (30.0, 50.8, 0.0254, 0.0102)];
    for (time, feed, slow_turning, fast_turning) in table {
        let feed = MmPerMin(feed);
        agrees(inch_time(feed).0, time, 9);
        agrees((feed / RevPerMin(2000.0)).0, slow_turning, 4);
        agrees((feed / RevPerMin(5000.0)).0, fast_turning, 4);
    }
}
