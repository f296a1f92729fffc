//! The rest rule, and what of somebody's duties breaks it.
//!
//! Belongs here: the rule and its limits, findings in words with what would be right, and how far
//! somebody is from breaking it. Does not belong here: whether a finding warns or refuses (the
//! rule says, the store acts), and cutting free time for a plan ([`crate::plan::duty`]), which
//! keeps the same rule.
//!
//! Work is shifts, and calls that somebody went out for while on call. A *run* is work without a
//! rest of [`RestRule::rest_min`] in it; it is counted from its first minute to its last. Being on
//! call and not called is no work, but only so many nights of it follow each other.

use chrono::{Days, NaiveDate, TimeDelta};
use serde::{Deserialize, Serialize};

use crate::calendar::{Calendar, Span, joined};
use crate::duty::{self, Entry, Kind};
use crate::plan;

#[cfg(test)]
mod tests;

/// Shortest rest a shop may set, minutes: 4 h.
pub const REST_MIN_LEAST: i64 = 240;
/// Longest rest a shop may set, minutes: 24 h.
pub const REST_MIN_MOST: i64 = 1440;
/// Shortest longest run a shop may set, minutes: 4 h.
pub const DUTY_MAX_LEAST: i64 = 240;
/// Longest longest run a shop may set, minutes: 24 h.
pub const DUTY_MAX_MOST: i64 = 1440;
/// Most nights on call in a row that a shop may allow.
pub const NIGHTS_MOST: u32 = 31;

/// What happens to a change of the rota that breaks the rule.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OnBreak {
    /// It is done, and said.
    Warn,
    /// It is refused.
    #[default]
    Refuse,
}

/// A shop's rest rule. The defaults are common practice, no source; local law decides.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct RestRule {
    /// Minutes without work that make a rest.
    pub rest_min: i64,
    /// Longest run of work, minutes.
    pub duty_max_min: i64,
    /// Most nights on call in a row.
    pub nights_on_call_max: u32,
    /// What happens to a scheduler's change that breaks it. A swap that breaks it is always
    /// refused.
    pub on_break: OnBreak,
}

impl Default for RestRule {
    fn default() -> Self {
        RestRule {
            rest_min: 11 * 60,
            duty_max_min: 13 * 60,
            nights_on_call_max: 7,
            on_break: OnBreak::Refuse,
        }
    }
}

impl RestRule {
    /// What is wrong with it, if anything.
    #[must_use]
    pub fn check(self) -> Option<String> {
        let within = (REST_MIN_LEAST..=REST_MIN_MOST).contains(&self.rest_min)
            && (DUTY_MAX_LEAST..=DUTY_MAX_MOST).contains(&self.duty_max_min)
            && (1..=NIGHTS_MOST).contains(&self.nights_on_call_max);
        (!within).then(|| {
            format!(
                "A rest is {} to {} h, the longest run of work {} to {} h, and 1 to {NIGHTS_MOST} \
                 nights on call may follow each other.",
                REST_MIN_LEAST / 60,
                REST_MIN_MOST / 60,
                DUTY_MAX_LEAST / 60,
                DUTY_MAX_MOST / 60,
            )
        })
    }
}

impl From<RestRule> for plan::RestRule {
    fn from(rule: RestRule) -> Self {
        plan::RestRule { rest_min: rule.rest_min, duty_max_min: rule.duty_max_min }
    }
}

/// Which part of the rule is broken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Broken {
    /// Too short a rest between two stretches of work.
    Rest,
    /// Too long a stretch without any rest.
    LongDuty,
    /// Too many nights on call in a row.
    Nights,
}

/// One breach, in words about somebody whose name stands before it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Finding {
    /// Which part of the rule.
    pub broken: Broken,
    /// The run, or the nights, from their first moment to their last.
    pub span: Span,
    /// What is wrong: "has only 8 h of rest between …".
    pub says: String,
    /// What would be right: "The next duty could begin Wed 9 Dec, 11:00.".
    pub right: String,
}

/// How far somebody is from breaking the rule.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Margin {
    /// Minutes left; negative where it is broken.
    pub left_min: i64,
    /// Where it is tightest, in words: "11 h 30 min of rest between …".
    pub says: String,
}

/// What somebody works: shifts, and calls they went out for.
#[must_use]
pub fn work(entries: &[Entry], worked: &[Span]) -> Vec<Span> {
    let mut spans = duty::spans_of(entries, &[Kind::Shift]);
    spans.extend_from_slice(worked);
    joined(spans)
}

/// Every breach of the rule in somebody's entries and the calls they went out for.
#[must_use]
pub fn findings(calendar: &Calendar, entries: &[Entry], worked: &[Span]) -> Vec<Finding> {
    let rule = calendar.rest();
    let mut found: Vec<Finding> = runs(rule, &work(entries, worked))
        .into_iter()
        .filter(|run| run.whole().minutes() > rule.duty_max_min)
        .map(|run| run_finding(calendar, rule, &run))
        .collect();
    found.extend(nights_findings(calendar, rule, entries));
    found
}

/// What is broken after a change and was not, or not so far, before it.
#[must_use]
pub fn added(before: &[Finding], after: &[Finding]) -> Vec<Finding> {
    let was_there = |finding: &Finding| {
        before.iter().any(|known| {
            known.broken == finding.broken && known.span.cut(finding.span) == Some(finding.span)
        })
    };
    after.iter().filter(|finding| !was_there(finding)).cloned().collect()
}

/// Where somebody is nearest to breaking the rule among the work that meets `within`; nothing
/// where they do not work then.
#[must_use]
pub fn margin(
    calendar: &Calendar,
    entries: &[Entry],
    worked: &[Span],
    within: Span,
) -> Option<Margin> {
    let rule = calendar.rest();
    let runs = runs(rule, &work(entries, worked));
    let lengths = runs.iter().filter(|run| run.whole().cut(within).is_some()).map(|run| {
        let whole = run.whole();
        let says = match run.widest_gap() {
            Some(gap) if whole.minutes() > rule.duty_max_min => {
                format!("{} of rest, {}", hours(gap.minutes()), calendar.says_span(gap))
            }
            _ => format!("{} of work, {}", hours(whole.minutes()), calendar.says_span(whole)),
        };
        Margin { left_min: rule.duty_max_min - whole.minutes(), says }
    });
    let rests = runs.windows(2).filter_map(|pair| {
        let rest = Span::new(pair[0].whole().end, pair[1].whole().start);
        let touches = rest.start <= within.end && within.start <= rest.end;
        touches.then(|| Margin {
            left_min: rest.minutes() - rule.rest_min,
            says: format!("{} of rest, {}", hours(rest.minutes()), calendar.says_span(rest)),
        })
    });
    lengths.chain(rests).min_by_key(|margin| margin.left_min)
}

/// Work without a rest in it, in order.
#[derive(Clone, Debug)]
struct Run(Vec<Span>);

impl Run {
    fn whole(&self) -> Span {
        let first = self.0.first().copied();
        let last = self.0.last().copied();
        first.zip(last).map_or(
            Span::new(chrono::DateTime::UNIX_EPOCH, chrono::DateTime::UNIX_EPOCH),
            |(first, last)| Span::new(first.start, last.end),
        )
    }

    fn widest_gap(&self) -> Option<Span> {
        let gaps = self.0.windows(2).map(|pair| Span::new(pair[0].end, pair[1].start));
        gaps.max_by_key(|gap| gap.length())
    }
}

fn runs(rule: RestRule, work: &[Span]) -> Vec<Run> {
    let rest = TimeDelta::minutes(rule.rest_min);
    let mut runs: Vec<Run> = Vec::new();
    for span in work {
        match runs.last_mut() {
            Some(run) if span.start - run.whole().end < rest => run.0.push(*span),
            _ => runs.push(Run(vec![*span])),
        }
    }
    runs
}

fn run_finding(calendar: &Calendar, rule: RestRule, run: &Run) -> Finding {
    let whole = run.whole();
    match run.widest_gap() {
        Some(gap) => Finding {
            broken: Broken::Rest,
            span: whole,
            says: format!(
                "has only {} of rest, {}; the shop's rule is {}",
                hours(gap.minutes()),
                calendar.says_span(gap),
                hours(rule.rest_min),
            ),
            right: format!(
                "The next duty could begin {}.",
                calendar.says(gap.start + TimeDelta::minutes(rule.rest_min))
            ),
        },
        None => Finding {
            broken: Broken::LongDuty,
            span: whole,
            says: format!(
                "works {} without a rest, {}; the shop's rule is at most {}",
                hours(whole.minutes()),
                calendar.says_span(whole),
                hours(rule.duty_max_min),
            ),
            right: format!(
                "The duty could end {}.",
                calendar.says(whole.start + TimeDelta::minutes(rule.duty_max_min))
            ),
        },
    }
}

fn nights_findings(calendar: &Calendar, rule: RestRule, entries: &[Entry]) -> Vec<Finding> {
    let on_call = duty::spans_of(entries, &[Kind::OnCall]);
    let mut rows: Vec<Vec<NaiveDate>> = Vec::new();
    for night in duty::nights(calendar, &on_call) {
        match rows.last_mut() {
            Some(row)
                if row.last().and_then(|last| last.checked_add_days(Days::new(1)))
                    == Some(night) =>
            {
                row.push(night);
            }
            _ => rows.push(vec![night]),
        }
    }
    let most = rule.nights_on_call_max as usize;
    rows.iter()
        .filter(|row| row.len() > most)
        .filter_map(|row| {
            let (first, last, free) = (row.first()?, row.last()?, row.get(most)?);
            Some(Finding {
                broken: Broken::Nights,
                span: Span::new(
                    duty::night(calendar, *first).start,
                    duty::night(calendar, *last).end,
                ),
                says: format!(
                    "is on call {} nights in a row from {}; the shop's rule is at most {most}",
                    row.len(),
                    first.format("%a %-d %b"),
                ),
                right: format!(
                    "Somebody else could take the night of {}.",
                    free.format("%a %-d %b")
                ),
            })
        })
        .collect()
}

/// "8 h", "11 h 30 min", "45 min".
#[must_use]
pub fn hours(minutes: i64) -> String {
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}
