//! A verdict as text for people.
//!
//! Belongs here: layout, within [`COLUMNS`]. Does not belong here: wording, which is the
//! engine's; this only puts it in order.

use engine::case::Case;
use engine::problem::Problems;
use engine::verdict::plan::{PlanBranch, PlanEnd, TestPlan};
use engine::verdict::{Check, CheckResult, NextTest, Outcome, Verdict};

/// No line is longer, so that a terminal, a mail and a printed sheet all hold it.
const COLUMNS: usize = 80;
/// Characters of a bar that stands for 100 %.
const BAR: usize = 20;
/// Shares below this are left out of the lists; the JSON has them all.
const SHARE_MIN: f64 = 0.005;
/// Most faults listed.
const FAULTS_MAX: usize = 10;

/// Text that grows line by line.
#[derive(Default)]
struct Sheet(String);

impl Sheet {
    /// Words wrapped at [`COLUMNS`]: `first` begins the first line, spaces as wide the others.
    fn put(&mut self, first: &str, words: &str) {
        let indent = first.chars().count();
        let mut line = first.to_owned();
        let mut empty = true;
        for word in words.split_whitespace() {
            let width = line.chars().count() + word.chars().count() + usize::from(!empty);
            if !empty && width > COLUMNS {
                self.line(&line);
                line = " ".repeat(indent);
                empty = true;
            }
            if !empty {
                line.push(' ');
            }
            line.push_str(word);
            empty = false;
        }
        self.line(&line);
    }

    fn line(&mut self, line: &str) {
        self.0.push_str(line.trim_end());
        self.0.push('\n');
    }

    fn head(&mut self, head: &str) {
        self.line("");
        self.line(head);
    }

    fn bar(&mut self, share: f64, label: &str) {
        let full = (share * BAR as f64).round().clamp(0.0, BAR as f64) as usize;
        let bar = "█".repeat(full) + &"░".repeat(BAR - full);
        self.put(&format!("  {bar} {:>4} % ", percent(share)), label);
    }
}

/// Whole percent; the ends are never rounded away.
fn percent(share: f64) -> String {
    match 100.0 * share {
        hundred if hundred > 99.0 && share < 1.0 => ">99".to_owned(),
        hundred if hundred < 1.0 && share > 0.0 => "<1".to_owned(),
        hundred => format!("{hundred:.0}"),
    }
}

/// The verdict on a sheet.
pub(crate) fn verdict(case: &Case, verdict: &Verdict) -> String {
    let mut sheet = Sheet::default();
    sheet.put("", case.title.as_deref().unwrap_or(&verdict.circuit.title));
    if case.title.is_some() {
        sheet.put("", &verdict.circuit.title);
    }
    sheet.head(outcome(verdict.outcome));
    sheet.put("  ", &verdict.sentence);
    if !verdict.because.is_empty() {
        sheet.head("Why");
        verdict.because.iter().for_each(|because| sheet.put("  - ", because));
    }
    readings(&mut sheet, verdict);
    shares(&mut sheet, verdict);
    if !verdict.checks.is_empty() {
        sheet.head("Checks");
        verdict.checks.iter().for_each(|check| one_check(&mut sheet, check));
    }
    for (head, lines) in [
        ("Still needed", verdict.owed.iter().map(|owed| &owed.says).collect::<Vec<_>>()),
        ("To be read again", verdict.retake.iter().map(|retake| &retake.says).collect()),
    ] {
        if !lines.is_empty() {
            sheet.head(head);
            lines.into_iter().for_each(|says| sheet.put("  - ", says));
        }
    }
    if !verdict.next_tests.is_empty() {
        sheet.head("Next tests, the best first");
        for (index, test) in verdict.next_tests.iter().enumerate() {
            next_test(&mut sheet, index + 1, test);
        }
    }
    if verdict.nothing_left {
        sheet.head("Nothing that this circuit allows would change the answer.");
    }
    let considered = &verdict.considered;
    sheet.head("Behind it");
    sheet.put(
        "  ",
        &format!(
            "{} explanations weighed: {} single faults, {} double faults, nothing wrong, and one unknown fault.",
            considered.hypotheses, considered.singles, considered.doubles
        ),
    );
    sheet.put("  ", &format!("Circuit {}, engine {}.", verdict.circuit.name, verdict.engine));
    sheet.put("  evidence ", &verdict.evidence_digest);
    sheet.0
}

/// The plan of tests on a sheet.
pub(crate) fn plan(plan: &TestPlan) -> String {
    let mut sheet = Sheet::default();
    sheet.put("", &plan.circuit);
    sheet.head(outcome(plan.outcome));
    sheet.put("  ", &plan.sentence);
    if plan.steps.is_empty() {
        sheet.head("No test is left that would change the answer.");
        return sheet.0;
    }
    let order = if plan.exact { "no other order is quicker" } else { "a good order" };
    sheet.head(&format!(
        "Plan: {:.0} min to be expected, {:.0} at most; {order}",
        plan.expected_min, plan.longest_min
    ));
    for step in &plan.steps {
        sheet.line("");
        sheet.put(
            &format!("{:>3}. ", step.number),
            &format!("{} ({:.0} min)", step.test.title, step.test.minutes),
        );
        for caution in &step.test.cautions {
            sheet.put("     ! ", &caution.says);
        }
        for line in &step.test.steps {
            sheet.put("     - ", line);
        }
        for branch in &step.branches {
            sheet.put(
                &format!("     {:>3} % ", percent(branch.chance)),
                &format!("{}: {}", branch.shows, follows(branch)),
            );
        }
    }
    sheet.0
}

fn follows(branch: &PlanBranch) -> String {
    let leads = format!("{} {} %", branch.leads_to, percent(branch.share));
    match (branch.then, branch.ends) {
        (Some(step), _) => format!("go to {step} ({leads})"),
        (None, Some(PlanEnd::Settled)) => format!("settled, {leads}"),
        (None, Some(PlanEnd::NothingToReplace)) => "nothing to replace".to_owned(),
        (None, Some(PlanEnd::NothingLeft)) => format!("no further test tells more ({leads})"),
        (None, Some(PlanEnd::PlanAgain) | None) => "plan again".to_owned(),
    }
}

fn outcome(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Isolated => "ISOLATED",
        Outcome::NotIsolated => "NOT ISOLATED",
        Outcome::Contradicted => "CONTRADICTED",
        Outcome::Inconsistent => "INCONSISTENT",
        Outcome::Incomplete => "INCOMPLETE",
    }
}

fn readings(sheet: &mut Sheet, verdict: &Verdict) {
    if verdict.readings.is_empty() {
        return;
    }
    sheet.head("Readings");
    for reading in &verdict.readings {
        sheet.put(&format!("  {:<4}", reading.reading), &reading.label);
        if !reading.used {
            sheet.put("      ", "not predicted by this circuit; only the checks use it");
            continue;
        }
        let doubt = if reading.mistaken_share > 0.5 { "; probably read wrongly" } else { "" };
        sheet.put("      ", &format!("a sound circuit shows {}{doubt}", reading.expected_sound));
    }
}

fn shares(sheet: &mut Sheet, verdict: &Verdict) {
    sheet.head("Share of each component");
    for share in verdict.components.iter().filter(|share| share.share >= SHARE_MIN) {
        let claimed = if share.claimed { " (condemned in this case)" } else { "" };
        sheet.bar(share.share, &format!("{}{claimed}", share.label));
    }
    let faults: Vec<_> =
        verdict.suspects.iter().filter(|suspect| suspect.share >= SHARE_MIN).collect();
    if !faults.is_empty() {
        sheet.head("Faults that still explain the readings");
        for suspect in faults.iter().take(FAULTS_MAX) {
            sheet.bar(suspect.share, &suspect.label);
        }
        if faults.len() > FAULTS_MAX {
            sheet.put("  ", &format!("and {} less likely ones", faults.len() - FAULTS_MAX));
        }
    }
    excluded(sheet, verdict);
}

/// Names of readings longer than this stand on a line of their own, characters.
const BY_MAX: usize = 40;

/// The excluded faults, gathered by what excluded them.
fn excluded(sheet: &mut Sheet, verdict: &Verdict) {
    let mut gathered: Vec<(String, Vec<&str>)> = Vec::new();
    for fault in &verdict.excluded {
        let by = fault.by.join(" and ");
        match gathered.iter_mut().find(|(known, _)| *known == by) {
            Some((_, labels)) => labels.push(&fault.label),
            None => gathered.push((by, vec![&fault.label])),
        }
    }
    if !gathered.is_empty() {
        sheet.head("Excluded, by reading");
        for (by, labels) in gathered {
            // By many readings the names of those do not fit before what they exclude.
            if by.len() > BY_MAX {
                sheet.put("  ", &format!("{by}:"));
                sheet.put("    ", &labels.join(", "));
            } else {
                sheet.put(&format!("  {by}: "), &labels.join(", "));
            }
        }
    }
}

fn one_check(sheet: &mut Sheet, check: &Check) {
    let result = match check.result {
        CheckResult::Pass => "pass",
        CheckResult::Fail => "FAIL",
        CheckResult::Asks => "ASKS",
        CheckResult::Waiting => "waiting",
    };
    sheet.put(&format!("  {result:<8}"), &check.title);
    sheet.put("          ", &check.says);
    sheet.put("          Source: ", &check.source);
}

fn next_test(sheet: &mut Sheet, number: usize, test: &NextTest) {
    sheet.put(&format!("  {number}. "), &format!("{} ({:.0} min)", test.title, test.minutes));
    for caution in &test.cautions {
        sheet.put("     ! ", &caution.says);
    }
    for step in &test.steps {
        sheet.put("     - ", step);
    }
    for answer in &test.answers {
        sheet.put(
            &format!("     {:>3} % ", percent(answer.chance)),
            &format!("{}  →  {}", answer.shows, answer.means),
        );
    }
}

/// What is wrong with an input, one place after the other.
pub(crate) fn problems(input: &str, problems: &Problems) -> String {
    let mut sheet = Sheet::default();
    sheet.put("", &format!("{input} cannot be judged:"));
    for problem in &problems.problems {
        let place = if problem.at.is_empty() { String::new() } else { format!("{}: ", problem.at) };
        sheet.put("  - ", &format!("{place}{}", problem.says));
    }
    sheet.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_wrap_under_their_own_first_line() {
        let mut sheet = Sheet::default();
        sheet.put("  - ", &"eleven chars ".repeat(12));
        assert!(sheet.0.lines().all(|line| line.chars().count() <= COLUMNS));
        let indent = |line: &str| line.chars().take_while(|letter| *letter == ' ').count();
        assert!(sheet.0.lines().skip(1).all(|line| indent(line) == 4), "{}", sheet.0);
    }

    #[test]
    fn a_word_longer_than_a_line_stands_alone() {
        let mut sheet = Sheet::default();
        sheet.put("  ", &format!("a {} b", "x".repeat(90)));
        assert_eq!(sheet.0.lines().count(), 3);
    }

    #[test]
    fn the_ends_of_a_share_are_not_rounded_away() {
        assert_eq!(percent(0.9951), ">99");
        assert_eq!(percent(1.0), "100");
        assert_eq!(percent(0.004), "<1");
        assert_eq!(percent(0.0), "0");
    }
}
