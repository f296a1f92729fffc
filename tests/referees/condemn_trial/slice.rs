//! A small slice of the condemnation trial, as an ordinary test.
//!
//! Belongs here: what must hold of any run, however small. Does not belong here: rates, which
//! only the full run can tell (`cargo run --release -p countersign-tests --bin condemn_trial`).

use blackbox::condemn_trial::{Arm, Half, Plan, Report, Set, run};

fn slice(threads: usize) -> Report {
    let plan = Plan {
        units: 2,
        others: 2,
        confirmed: 20,
        seed: 20,
        half: None,
        names: vec!["control-24v".into(), "trial-ignition".into()],
        arms: Arm::ALL.to_vec(),
        threads,
    };
    run(&plan, &|_, _, _| {}).expect("no arm fails")
}

#[test]
fn a_slice_is_the_same_twice_and_the_tool_condemns_no_costly_good_part() {
    let (report, again) = (slice(2), slice(1));

    assert_eq!(report.json(), again.json(), "same seed, same figures, whatever the threads");
    let mut wrong = 0;
    for level in 0..3 {
        for (half, set) in [(Half::Tune, Set::Powered), (Half::Report, Set::Bench)] {
            for arm in Arm::ALL {
                let score = report.score(half, set, level, arm);
                assert_eq!(score.jobs, 2, "{arm:?} did every job");
                assert!(score.wrong <= score.condemned && score.caught <= score.faulty);
                wrong += if arm == Arm::Tool { score.major.1 } else { 0 };
            }
        }
    }
    // Cheap parts need no gate and are left to the full run.
    assert_eq!(wrong, 0, "wrong condemnations of costly parts by the tool");
    assert!(report.table().contains("| ×2 | oracle |"), "{}", report.table());
    assert!(report.by_topology().contains("| control-24v | under power too | ×1 | 2 |"));
    assert!(report.picture().starts_with("<svg"));
}
