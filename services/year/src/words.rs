//! The year in words and tables, for a terminal.
//!
//! Belongs here: lines of text. Does not belong here: numbers, and the picture.

use std::fmt::Write as _;

use crate::late::{AHEAD_HOURS, RUNS};
use crate::tally::{Report, Waits};

/// "2 h 05", "40 min".
fn length(minutes: i64) -> String {
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, minutes) => format!("{hours} h {minutes:02}"),
    }
}

/// "3.1 % (1.9 to 5.0)".
fn percent([share, low, high]: [f64; 3]) -> String {
    format!("{:.1} % ({:.1} to {:.1})", 100.0 * share, 100.0 * low, 100.0 * high)
}

/// Everything.
#[must_use]
pub fn says(report: &Report) -> String {
    let mut text = String::new();
    // Writing to a String cannot fail.
    let _ = write(report, &mut text);
    text
}

fn write(report: &Report, text: &mut String) -> std::fmt::Result {
    writeln!(
        text,
        "{} weekends ({} of them long), seed {}: {} calls where {:.0} were expected.\nThe same calls, weather, sickness and tempers for each way of working.",
        report.weekends, report.long, report.seed, report.calls, report.expected
    )?;
    for tally in &report.ways {
        writeln!(text, "\n== {} ==", tally.way.words())?;
        writeln!(
            text,
            "{:<32} {:>5} {:>8} {:>5} {:>9} {:>9} {:>9} {:>9}  over the limit",
            "class (may wait)", "calls", "put off", "left", "median", "9 of 10", "longest", "over"
        )?;
        for waits in tally.waits.iter().chain([&tally.urgent]) {
            row(waits, text)?;
        }
        let reads = &tally.reads;
        writeln!(
            text,
            "Second reads: {} asked for; median answer {}, 9 of 10 within {}; {} not answered before the technician left.",
            reads.asked,
            length(reads.median_min),
            length(reads.p90_min),
            reads.unanswered
        )?;
        let approvals = &tally.approvals;
        writeln!(
            text,
            "Approvals: {} asked for; median answer {}, 9 of 10 within {}; {} while the technician was still there; by a manager {}, the owner {}, a delegate {}; {} not before the shop opened.",
            approvals.asked,
            length(approvals.median_min),
            length(approvals.p90_min),
            approvals.in_visit,
            approvals.by[0],
            approvals.by[1],
            approvals.by[2],
            approvals.unanswered
        )?;
        if tally.worse > 0 || tally.neighbour > 0 {
            writeln!(
                text,
                "Put off and got worse: {}. Taken by the neighbouring crew: {}.",
                tally.worse, tally.neighbour
            )?;
        }
        let people: Vec<String> = tally
            .people
            .iter()
            .map(|one| {
                format!(
                    "{} {} ({} at night), {:.0} h",
                    one.name, one.call_outs, one.at_night, one.hours
                )
            })
            .collect();
        writeln!(text, "Call-outs and hours: {}.", people.join("; "))?;
    }
    writeln!(text, "\n== rules ==")?;
    for rule in &report.rules {
        let alarms = match rule.false_alarms {
            Some(alarms) => format!("{alarms} with nothing late within 6 h had the rules been off"),
            None => "about reads or approvals".to_owned(),
        };
        writeln!(text, "{:>4} times: {} ({alarms})", rule.fired, rule.name)?;
    }
    writeln!(
        text,
        "\nNot simulated: readers who disagree, managers who decline, parts, traffic. The chance of being late that rules look at is the service's own outlook, played {RUNS} times from how things stand, {AHEAD_HOURS} hours ahead, once for moments alike to a quarter of an hour; the service plays more, to the next morning. How people answer, what a part costs and how often a call gets worse is common practice, no source."
    )
}

fn row(waits: &Waits, text: &mut String) -> std::fmt::Result {
    let class = if waits.limit_min > 0.0 {
        format!("{} ({})", waits.class, length(waits.limit_min as i64))
    } else {
        waits.class.to_owned()
    };
    writeln!(
        text,
        "{class:<32} {:>5} {:>8} {:>5} {:>9} {:>9} {:>9} {:>9}  {}",
        waits.calls,
        waits.put_off,
        waits.left,
        length(waits.median_min),
        length(waits.p90_min),
        length(waits.longest_min),
        waits.late,
        percent(waits.late_share)
    )
}
