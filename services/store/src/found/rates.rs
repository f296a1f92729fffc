//! What a shop's words on its calls come to: found beside expected, as a case carries it, and the
//! same as a table.
//!
//! Belongs here: which words count, and for how much. Does not belong here: what a count does to
//! a prior ([`engine::rates`]).
//!
//! Nothing of it is kept: it is added up anew where a job is looked at or a request is made, so it
//! cannot be out of date. A request keeps what it was first judged by.

use std::collections::BTreeMap;

use engine::circuit::{Effect, PartKind};
use engine::rates::{Expected, Rates, Tally};
use sea_orm::{ConnectionTrait, FromQueryResult};
use uuid::Uuid;

use super::{How, Was, how_from_row, says, was_from_row};
use crate::circuit;
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::person::Caller;

/// Most calls that are looked at, the latest words of a shop first; older ones move nothing.
pub const CALLS_LOOKED_AT_MAX: i64 = 5_000;

/// Most circuits of those calls, those with the most calls first; calls on others move nothing.
pub const CIRCUITS_LOOKED_AT_MAX: usize = 100;

/// What a word counts that a bench or a test run stands behind.
const SEEN_WEIGHT: f64 = 1.0;

/// What a word counts where something was replaced and nobody looked: replaced is not faulty
/// (common practice, no source).
const ONLY_REPLACED_WEIGHT: f64 = 0.25;

/// How often calls turned out to be one thing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Turned {
    /// The circuit, for people.
    pub circuit: String,
    /// What it was, in the circuit's words or somebody's own.
    pub says: String,
    /// Whether the circuit lists it, so that it counts.
    pub listed: bool,
    /// Calls where a bench confirmed it.
    pub bench_confirmed: u32,
    /// Calls where it ran afterwards.
    pub run_test: u32,
    /// Calls where something was replaced and nobody looked.
    pub only_replaced: u32,
}

/// What calls turned out to be of one kind, beside what the circuit files expected.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kind {
    /// Which part and what its fault does; `None` for what is no fault.
    pub fault: Option<(PartKind, Effect)>,
    /// Whether it is the overload that is open on heat, which passes; else nothing was wrong.
    pub passing: bool,
    /// Calls, each by its weight.
    pub found: f64,
    /// What the files alone expected of these calls.
    pub expected: f64,
    /// By how much the prior of this kind is multiplied.
    pub times: f64,
}

/// What a shop's calls turned out to be.
#[derive(Clone, Debug)]
pub struct Summary {
    /// Calls of which somebody said what they were.
    pub calls: u32,
    /// Of those that a circuit lists, each by its weight.
    pub counted: f64,
    /// Kinds of fault, as the circuits of these calls can have them.
    pub kinds: Vec<Kind>,
    /// What they were, the most frequent first.
    pub turned: Vec<Turned>,
}

/// What the shop's calls say about a job, for its case: `None` where they say nothing. The job's own
/// word is not among them, or a case would confirm itself.
///
/// # Errors
/// When the database fails.
pub(crate) async fn rates_for<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    job_id: Uuid,
) -> Result<Option<Rates>, StoreError> {
    let groups = groups(conn, shop_id, Some(job_id)).await?;
    if groups.iter().all(|group| matches!(group.was, Was::NotListed { .. })) {
        return Ok(None);
    }
    let circuits = circuits(conn, shop_id, &groups).await?;
    let (rates, _) = added_up(groups, circuits).await?;
    Ok((rates.calls > 0.0).then_some(rates))
}

/// What the shop's calls turned out to be, beside what the circuit files expected.
///
/// # Errors
/// When the database fails.
pub async fn summary(store: &Store, caller: &Caller) -> Result<Summary, StoreError> {
    let groups = groups(store.conn(), caller.shop_id, None).await?;
    let circuits = circuits(store.conn(), caller.shop_id, &groups).await?;
    let (rates, turned) = added_up(groups, circuits).await?;
    let calls = turned.iter().map(|one| one.bench_confirmed + one.run_test + one.only_replaced);
    let mut kinds: Vec<Kind> = (rates.faults.iter())
        .map(|known| Kind {
            fault: Some((known.kind, known.effect)),
            passing: false,
            found: known.found,
            expected: known.expected,
            times: rates.times_fault(known.kind, known.effect),
        })
        .collect();
    if rates.calls > 0.0 {
        let no_fault = |passing, events: engine::rates::Events, times| Kind {
            fault: None,
            passing,
            found: events.found,
            expected: events.expected,
            times,
        };
        kinds.push(no_fault(true, rates.passing, rates.times_passing()));
        kinds.push(no_fault(false, rates.nothing_wrong, rates.times_nothing_wrong()));
    }
    // What was found most comes first, then what was expected and not found.
    kinds.sort_by(|a, b| b.found.total_cmp(&a.found).then(b.expected.total_cmp(&a.expected)));
    Ok(Summary { calls: calls.sum(), counted: rates.calls, kinds, turned })
}

/// Calls on one circuit that all were the same and known in the same way.
struct Group {
    digest: String,
    was: Was,
    how: How,
    calls: u32,
}

/// The latest word of each job, alike ones together, in one order whoever asks: sums come out the
/// same to the bit.
async fn groups<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    except: Option<Uuid>,
) -> Result<Vec<Group>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        circuit_digest: String,
        was: String,
        part: Option<String>,
        mode: Option<String>,
        words: Option<String>,
        how: String,
        calls: i64,
    }
    let rows = Row::find_by_statement(sql(
        "WITH latest AS ( \
             SELECT circuit_digest, was, part, mode, words, how FROM job_found AS word \
             WHERE shop_id = $1 AND job_id IS DISTINCT FROM $2 AND NOT EXISTS ( \
                 SELECT FROM job_found AS later \
                 WHERE later.job_id = word.job_id AND later.nth > word.nth) \
             ORDER BY at DESC, id DESC LIMIT $3) \
         SELECT circuit_digest, was, part, mode, words, how, count(*) AS calls FROM latest \
         GROUP BY circuit_digest, was, part, mode, words, how \
         ORDER BY circuit_digest COLLATE \"C\", was COLLATE \"C\", part COLLATE \"C\", \
             mode COLLATE \"C\", words COLLATE \"C\", how COLLATE \"C\"",
        [shop_id.into(), except.into(), CALLS_LOOKED_AT_MAX.into()],
    ))
    .all(conn)
    .await?;
    let group = |row: Row| {
        Ok(Group {
            digest: row.circuit_digest,
            was: was_from_row(&row.was, row.part, row.mode, row.words)?,
            how: how_from_row(&row.how)?,
            calls: u32::try_from(row.calls).unwrap_or(u32::MAX),
        })
    };
    rows.into_iter().map(group).collect()
}

/// A circuit that calls were on, as kept.
#[derive(FromQueryResult)]
struct Kept {
    digest: String,
    name: String,
    text: String,
}

/// The circuits of these calls.
async fn circuits<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    groups: &[Group],
) -> Result<Vec<Kept>, StoreError> {
    let mut calls: BTreeMap<&str, u32> = BTreeMap::new();
    for group in groups {
        *calls.entry(&group.digest).or_default() += group.calls;
    }
    let mut most: Vec<(&str, u32)> = calls.into_iter().collect();
    most.sort_by_key(|(_, calls)| std::cmp::Reverse(*calls));
    most.truncate(CIRCUITS_LOOKED_AT_MAX);
    let digests: Vec<String> = most.into_iter().map(|(digest, _)| digest.to_owned()).collect();
    Ok(Kept::find_by_statement(sql(
        "SELECT digest, name, text FROM found_circuit \
         WHERE shop_id = $1 AND digest = ANY ($2) ORDER BY digest COLLATE \"C\"",
        [shop_id.into(), digests.into()],
    ))
    .all(conn)
    .await?)
}

/// Reads the circuits and adds up off the async threads; what a file expects is reckoned once for
/// each of them.
async fn added_up(
    groups: Vec<Group>,
    circuits: Vec<Kept>,
) -> Result<(Rates, Vec<Turned>), StoreError> {
    let span = tracing::Span::current();
    tokio::task::spawn_blocking(move || span.in_scope(|| add(&groups, &circuits))).await.map_err(
        |source| StoreError::Unavailable { what: "the engine", source: Some(Box::new(source)) },
    )?
}

fn add(groups: &[Group], circuits: &[Kept]) -> Result<(Rates, Vec<Turned>), StoreError> {
    let corrupt = |problem: engine::problem::Problem| {
        let problems = engine::problem::Problems { problems: vec![problem] };
        StoreError::corrupt("word on a job", problems)
    };
    let mut tally = Tally::default();
    let mut turned: BTreeMap<(String, String, bool), [u32; 3]> = BTreeMap::new();
    for kept in circuits {
        let circuit = circuit::read_kept(&kept.name, &kept.text)?;
        let of_circuit = || groups.iter().filter(|group| group.digest == kept.digest);
        let listed = of_circuit().filter_map(|group| match &group.was {
            Was::Listed(found) => Some((group, found)),
            Was::NotListed { .. } => None,
        });
        let mut expected = None;
        for (group, found) in listed {
            let weight = match group.how {
                How::BenchConfirmed | How::RunTest => SEEN_WEIGHT,
                How::OnlyReplaced => ONLY_REPLACED_WEIGHT,
            };
            let expected = expected.get_or_insert_with(|| Expected::of(&circuit));
            tally.add_many(expected, found, weight, group.calls).map_err(corrupt)?;
        }
        for group in of_circuit() {
            let is_listed = matches!(&group.was, Was::Listed(_));
            let key = (circuit.title.clone(), says(&circuit, &group.was), is_listed);
            turned.entry(key).or_default()[group.how as usize] += group.calls;
        }
    }
    let mut turned: Vec<Turned> = turned
        .into_iter()
        .map(|((circuit, says, listed), [bench_confirmed, run_test, only_replaced])| Turned {
            circuit,
            says,
            listed,
            bench_confirmed,
            run_test,
            only_replaced,
        })
        .collect();
    turned.sort_by_key(|one| {
        std::cmp::Reverse(one.bench_confirmed + one.run_test + one.only_replaced)
    });
    Ok((tally.rates(), turned))
}

#[cfg(test)]
mod tests {
    use engine::rates::Found;

    use super::*;

    fn fault(part: &str, mode: &str) -> Was {
        Was::Listed(Found::Fault { part: part.to_owned(), mode: mode.to_owned() })
    }

    fn group(was: Was, how: How, calls: u32) -> Group {
        Group { digest: "d".to_owned(), was, how, calls }
    }

    fn known() -> [Kept; 1] {
        let shipped = circuit::shipped_named("compressor-1ph-plug").unwrap().unwrap();
        let (name, text) = (shipped.circuit.name.clone(), shipped.text.to_string());
        [Kept { digest: "d".to_owned(), name, text }]
    }

    #[test]
    fn only_replaced_counts_a_quarter_and_what_no_circuit_lists_counts_nothing() {
        let bird = Was::NotListed { words: "a bird in the fan".to_owned() };
        let groups = [
            group(fault("run_winding", "open"), How::BenchConfirmed, 2),
            group(fault("run_winding", "open"), How::RunTest, 1),
            group(fault("run_winding", "open"), How::OnlyReplaced, 4),
            group(Was::Listed(Found::NothingWrong), How::RunTest, 1),
            group(bird, How::RunTest, 9),
        ];

        let (rates, turned) = add(&groups, &known()).unwrap();

        assert_eq!(rates.calls, 5.0);
        assert_eq!(rates.nothing_wrong.found, 1.0);
        let found: f64 = rates.faults.iter().map(|known| known.found).sum();
        assert_eq!(found, 4.0);
        let told: Vec<_> = turned
            .iter()
            .map(|one| (one.says.as_str(), one.listed, one.run_test, one.only_replaced))
            .collect();
        assert_eq!(told[0], ("a bird in the fan", false, 9, 0));
        assert_eq!(told[1], ("run winding: open (compressor)", true, 1, 4));
    }

    #[test]
    fn a_call_on_a_circuit_that_is_left_out_moves_nothing() {
        let groups = [group(fault("run_winding", "open"), How::RunTest, 3)];
        let (rates, turned) = add(&groups, &[]).unwrap();
        assert_eq!((rates, turned), (Rates::default(), Vec::new()));
    }
}
