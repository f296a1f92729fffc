//! A rule tried before it is saved: on the weekend that was, or on ones that are drawn.
//!
//! Belongs here: putting the span together and the answer. Does not belong here: playing it
//! ([`roster::rules::rehearse`]).

use chrono::{DateTime, Utc};
use roster::capacity::Call;
use roster::capacity::outlook::{calls, outlook};
use roster::capacity::random::Chance;
use roster::rules::rehearse::papers::Papers;
use roster::rules::rehearse::{Answer, Tried, rehearse as play_both, span};
use roster::rules::{Action, Condition, action};

use super::papers;
use crate::capacity::outlook::off_thread;
use crate::capacity::{Inputs, SpanName, past};
use crate::db::Store;
use crate::error::StoreError;
use crate::person::Caller;
use crate::text::Faults;

/// Runs from which the chance of being late in the rehearsed span is known to its rules.
const CHANCE_RUNS: u64 = 200;

/// Drawn weekends of which the mean is told.
const WEEKENDS: u64 = 20;

/// On which span a rule is tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Over {
    /// The weekend that was, with the calls that came.
    LastWeekend,
    /// Coming weekends, drawn.
    Simulated,
}

/// A rule to try.
#[derive(Clone, Debug)]
pub struct RuleTry {
    /// When it fires.
    pub condition: String,
    /// What it does.
    pub actions: Vec<Action>,
    /// Minutes before it may fire again.
    pub rearm_min: i64,
    /// On which span.
    pub over: Over,
    /// What is drawn with.
    pub seed: u64,
}

/// What it would have done.
#[derive(Clone, Debug)]
pub struct Rehearsal {
    /// From.
    pub start: DateTime<Utc>,
    /// Hours.
    pub hours: usize,
    /// On the calls that came, or the first draw.
    pub answer: Answer,
    /// Over all draws, in words; nothing for the weekend that was.
    pub on_average: Option<String>,
    /// What was assumed, a sentence each.
    pub notes: Vec<String>,
}

/// Tries a rule and keeps nothing.
///
/// # Errors
/// `Forbidden` unless they schedule, `InvalidMany` for a condition or actions that cannot be saved,
/// or the database fails.
pub async fn rehearse(
    store: &Store,
    caller: &Caller,
    given: RuleTry,
) -> Result<Rehearsal, StoreError> {
    caller.must_schedule("try a rule")?;
    let mut faults = Faults::default();
    let condition = match Condition::parse(&given.condition) {
        Ok(condition) => Some(condition),
        Err(wrong) => {
            wrong.iter().for_each(|fault| faults.add("/condition", fault.to_string()));
            None
        }
    };
    for fault in action::faults(&given.actions, false) {
        let field =
            if fault.field.is_empty() { String::new() } else { format!("/{}", fault.field) };
        faults.add(&format!("/actions/{}{field}", fault.action), fault.says);
    }
    faults.done()?;
    let Some(condition) = condition else { return Err(StoreError::NotFound { what: "condition" }) };

    let (conn, now) = (store.conn(), store.now());
    let span = match given.over {
        Over::LastWeekend => SpanName::LastWeekend,
        Over::Simulated => SpanName::Weekend,
    };
    let mut inputs = Inputs::of(conn, caller.shop_id, now, span).await?;
    let mut notes = Vec::new();
    if !inputs.people.rota_known {
        notes.push(
            "The shop keeps no rota for that time: everybody counts as on shift in opening hours \
             and on call otherwise."
                .to_owned(),
        );
    }
    let (came, papers) = match given.over {
        Over::LastWeekend => {
            inputs.standing.clear();
            let demand = &inputs.demand;
            let usual = |work| {
                let at = roster::capacity::Work::ALL.iter().position(|known| *known == work);
                demand.takes[at.unwrap_or(0)].mean_min()
            };
            let usual_min = inputs.capacity.travel_min;
            let (when, places) = (inputs.when, &inputs.places);
            let came = past::calls_of(conn, caller.shop_id, when, usual, places, usual_min).await?;
            notes.push(format!(
                "{} calls came. They are served again from the first on, by class and age; the \
                 ways are those between the shop's towns, and what waited from before is left out.",
                came.len()
            ));
            let papers = papers::papers(conn, caller.shop_id, now, inputs.when).await?;
            (Some(came), Some(papers))
        }
        Over::Simulated => (None, None),
    };
    off_thread(move || play(inputs, came, papers.as_ref(), &condition, &given, notes)).await
}

fn play(
    inputs: Inputs,
    came: Option<Vec<Call>>,
    papers: Option<&Papers>,
    condition: &Condition,
    given: &RuleTry,
    notes: Vec<String>,
) -> Rehearsal {
    let (setting, demand) = (&inputs.setting, &inputs.demand);
    let before = outlook(setting, demand, &inputs.standing, given.seed, CHANCE_RUNS);
    let backdrop = inputs.backdrop(&before.by_part);
    let tried = Tried { condition, actions: &given.actions, rearm_min: given.rearm_min };
    let draw = |run| calls(demand, &inputs.standing, &mut Chance::of(given.seed, run));
    let (answer, on_average) = match came {
        Some(came) => (play_both(setting, &came, tried, &backdrop, papers), None),
        None => {
            let mut all: Vec<Answer> = (0..WEEKENDS)
                .map(|run| play_both(setting, &draw(run), tried, &backdrop, papers))
                .collect();
            let says = on_average(&all);
            (all.swap_remove(0), Some(says))
        }
    };
    let (start, hours) = (inputs.when.start, inputs.when.hours);
    Rehearsal { start, hours, answer, on_average, notes }
}

fn on_average(all: &[Answer]) -> String {
    let mean = |of: &dyn Fn(&Answer) -> f64| all.iter().map(of).sum::<f64>() / all.len() as f64;
    let some = |number: f64| format!("{number:.1}");
    format!(
        "Over {} drawn weekends it fires {} times on average; {} calls deferred; longest urgent \
         wait {} instead of {}; {} urgent calls late instead of {}.",
        all.len(),
        some(mean(&|answer| answer.fired.len() as f64)),
        some(mean(&|answer| f64::from(answer.with.put_off))),
        span(mean(&|answer| answer.with.longest_urgent_min)),
        span(mean(&|answer| answer.without.longest_urgent_min)),
        some(mean(&|answer| f64::from(answer.with.late))),
        some(mean(&|answer| f64::from(answer.without.late))),
    )
}
