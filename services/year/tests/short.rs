//! A short run: the same every time, and sound.
//!
//! Belongs here: what any run must keep, and the numbers of one. Does not belong here: whether
//! rules are good.

use year::tally::Report;
use year::{Way, simulate};

fn short() -> Report {
    simulate(1, 3)
}

#[test]
fn a_seed_gives_the_same_year_each_time_and_another_seed_another() {
    let report = short();
    assert_eq!(report, short());
    assert_ne!(report.calls, 0);
    assert_ne!(report.by_weekend, simulate(2, 3).by_weekend);
}

#[test]
fn every_way_of_working_meets_the_same_calls() {
    let report = short();
    assert_eq!(report.ways.len(), Way::ALL.len());
    for tally in &report.ways {
        let calls: u32 = tally.waits.iter().map(|waits| waits.calls).sum();
        assert_eq!(calls as usize, report.calls + tally.worse as usize, "{:?}", tally.way);
        for waits in &tally.waits {
            assert_eq!(waits.begun + waits.put_off + waits.left, waits.calls);
            assert!(waits.median_min <= waits.p90_min && waits.p90_min <= waits.longest_min);
            let [share, low, high] = waits.late_share;
            assert!(low <= share + 1e-12 && share <= high + 1e-12);
        }
    }
    let off = [Way::Telephone, Way::Ladders].map(|way| report.of(way).expect("played"));
    assert!(off.iter().all(|tally| tally.waits.iter().all(|waits| waits.put_off == 0)));
}

#[test]
fn the_words_and_the_picture_say_what_the_numbers_are() {
    let report = short();
    let on = report.of(Way::Rules).expect("played");
    let text = year::words::says(&report);
    assert!(text.contains(&format!("Second reads: {} asked for", on.reads.asked)), "{text}");
    let svg = year::picture::svg(&report);
    assert!(svg.starts_with("<svg") && svg.trim_end().ends_with("</svg>"));
    assert!(svg.contains(&format!("{} wait too long with the rules on", on.urgent.late)));
}

#[test]
fn a_short_year_says_what_it_said() {
    // Some weekends in winter, so that rules have something to do. To the minute: what changes here
    // changes what the page and the README say.
    insta::assert_snapshot!(year::words::says(&simulate(3, 4)));
}

#[test]
fn approvals_follow_answered_reads_and_only_rules_name_a_delegate() {
    let report = simulate(1, 12);
    for tally in &report.ways {
        let (reads, approvals) = (&tally.reads, &tally.approvals);
        assert_eq!(approvals.asked, reads.asked - reads.unanswered, "{:?}", tally.way);
        assert!(approvals.asked > 0);
        let answered: u32 = approvals.by.iter().sum();
        assert_eq!(answered + approvals.unanswered, approvals.asked);
        assert!(approvals.in_visit <= answered);
        assert!(approvals.median_min <= approvals.p90_min);
    }
    let by_delegate = |way| report.of(way).expect("played").approvals.by[2];
    assert_eq!([Way::Telephone, Way::Ladders].map(by_delegate), [0, 0]);
    assert!(by_delegate(Way::Rules) > 0);
    let rule = report.rules.iter().find(|rule| rule.name.contains("approval")).expect("it ships");
    assert!(rule.fired > 0 && rule.false_alarms.is_none());
}
