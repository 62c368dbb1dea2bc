//! NAVEDTRA 14315, chapter 5: graphite/epoxy is drilled at 2000 to 5000 rev/min, best in 10 to 15 s for an inch, and
//! never slower than 30 s for an inch.

use super::agrees;
use lastply::process::speed::{feed_of_inch_time, inch_time};
use lastply::units::{MmPerMin, RevPerMin, Seconds};

#[test]
fn seconds_an_inch_become_a_feed() {
    // s/in; mm/min, mm/rev at 2000 and at 5000 rev/min
    let table = [(10.0, 152.4, 0.0762, 0.0305), (15.0, 101.6, 0.0508, 0.0203), (30.0, 50.8, 0.0254, 0.0102)];
    for (time, feed, slow_turning, fast_turning) in table {
        let result = feed_of_inch_time(Seconds(time));
        agrees(result.0, feed, 9);
        agrees((result / RevPerMin(2000.0)).0, slow_turning, 4);
        agrees((result / RevPerMin(5000.0)).0, fast_turning, 4);
        agrees(inch_time(MmPerMin(feed)).0, time, 9);
    }
}
