//! The outlook of a span, with the rules that will fire, remembered while nothing changes.
//!
//! Belongs here: playing the span off the async threads, and the memory of what was played.
//! Does not belong here: what it is played from ([`super::inputs`]).

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use chrono::{DateTime, TimeDelta, Utc};
use roster::capacity::outlook::{Outlook, calls, outlook};
use roster::capacity::random::Chance;
use roster::rules::rehearse::{Tried, WillFire, will_fire};
use roster::rules::{Action, Condition};
use uuid::Uuid;

use super::days::{HourOf, SpanName};
use super::inputs::Inputs;
use crate::db::Store;
use crate::error::StoreError;
use crate::live_feed;
use crate::rule;

/// Runs of an outlook: enough that a chance of one in ten is known to within one or two in a
/// hundred, and played within a fraction of a second.
const RUNS: u64 = 600;

/// Runs with the rules watching, which cost more.
const RULE_RUNS: u64 = 24;

/// Outlooks remembered; beyond it the one asked for longest ago is forgotten.
pub const CACHE_MAX: usize = 64;

/// How long one is remembered though nothing changed: the hours move on.
const KEPT_MIN: i64 = 10;

/// How long one stands though things changed, for whoever looks again and again. Minutes.
const LATELY_MIN: i64 = 2;

/// In place of the feed's number, which is never below 0.
const LATELY: i64 = -1;

/// A rule that is on, as it is expected to fire.
#[derive(Clone, Debug, PartialEq)]
pub struct Expected {
    /// The rule.
    pub rule_id: Uuid,
    /// Its name.
    pub name: String,
    /// What it does, in words.
    pub does: Vec<String>,
    /// Share of the runs in which it fires.
    pub share: f64,
    /// When, in the middle of those.
    pub at: DateTime<Utc>,
}

/// What is to be expected of a span.
#[derive(Clone, Debug)]
pub struct Forecast {
    /// What it was reckoned from.
    pub inputs: Inputs,
    /// What came out.
    pub outlook: Outlook,
    /// The rules that are on and will probably fire.
    pub rules: Vec<Expected>,
    /// What it was drawn with.
    pub seed: u64,
    /// When it was reckoned.
    pub at: DateTime<Utc>,
}

impl Forecast {
    /// The chance of being late for a call that comes at a moment, by class.
    pub fn chance_at(&self, at: DateTime<Utc>) -> [f64; roster::capacity::CLASSES] {
        let hour = (at - self.inputs.when.start).num_hours().max(0) as usize;
        let part = hour / roster::capacity::outlook::PART_HOURS;
        let odds = self.outlook.by_part.get(part).or(self.outlook.by_part.last());
        odds.map(|odds| odds.map(|odds| odds.chance)).unwrap_or_default()
    }

    /// The hour of the span that holds a minute of it.
    pub fn hour_at(&self, minute: f64) -> Option<&HourOf> {
        self.inputs.hours.get((minute / 60.0).max(0.0) as usize)
    }
}

/// Shop, span, seed, how far the feed had come, and which ten minutes.
type Key = (Uuid, SpanName, u64, i64, i64);

/// When it was last asked for, and what it is.
type Kept = (DateTime<Utc>, Arc<Forecast>);

/// What was reckoned lately. Cheap to clone; every clone sees the same.
#[derive(Clone, Default)]
pub struct Cache(Arc<Mutex<BTreeMap<Key, Kept>>>);

impl Cache {
    fn get(&self, key: &Key, now: DateTime<Utc>) -> Option<Arc<Forecast>> {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let (asked_at, forecast) = kept.get_mut(key)?;
        *asked_at = now;
        Some(forecast.clone())
    }

    fn put(&self, key: Key, now: DateTime<Utc>, forecast: Arc<Forecast>) {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.insert(key, (now, forecast));
        while kept.len() > CACHE_MAX {
            let oldest =
                kept.iter().min_by_key(|(_, (asked_at, _))| *asked_at).map(|(key, _)| *key);
            match oldest {
                Some(oldest) => kept.remove(&oldest),
                None => break,
            };
        }
    }
}

/// The outlook of a span of a shop.
///
/// # Errors
/// `Conflict` for a long weekend where there is none, or the database fails.
pub async fn forecast(
    store: &Store,
    cache: &Cache,
    shop_id: Uuid,
    span: SpanName,
    seed: u64,
) -> Result<Arc<Forecast>, StoreError> {
    let now = store.now();
    // The number first: what changes while it is read makes the next one asked for anew.
    let live_seq = live_feed::last_seq(store.conn(), shop_id).await?;
    let key = (shop_id, span, seed, live_seq, now.timestamp() / (KEPT_MIN * 60));
    remembered(store, cache, key, now).await
}

/// The same, a little out of date at most: for whoever looks again and again.
///
/// # Errors
/// As [`forecast`].
pub async fn forecast_lately(
    store: &Store,
    cache: &Cache,
    shop_id: Uuid,
    span: SpanName,
    seed: u64,
) -> Result<Arc<Forecast>, StoreError> {
    let now = store.now();
    let key = (shop_id, span, seed, LATELY, now.timestamp() / (LATELY_MIN * 60));
    remembered(store, cache, key, now).await
}

async fn remembered(
    store: &Store,
    cache: &Cache,
    key: Key,
    now: DateTime<Utc>,
) -> Result<Arc<Forecast>, StoreError> {
    let (shop_id, span, seed, ..) = key;
    if let Some(forecast) = cache.get(&key, now) {
        return Ok(forecast);
    }
    let inputs = Inputs::of(store.conn(), shop_id, now, span).await?;
    let on = rule::on_of_shop(store.conn(), shop_id, now).await?;
    let forecast = Arc::new(off_thread(move || reckon(inputs, &on, seed, now)).await?);
    cache.put(key, now, forecast.clone());
    Ok(forecast)
}

fn reckon(inputs: Inputs, on: &[rule::Live], seed: u64, now: DateTime<Utc>) -> Forecast {
    let outlook = outlook(&inputs.setting, &inputs.demand, &inputs.standing, seed, RUNS);
    let backdrop = inputs.backdrop(&outlook.by_part);
    let parsed: Vec<(usize, Condition)> = on
        .iter()
        .enumerate()
        .filter_map(|(at, rule)| Some((at, Condition::parse(&rule.condition).ok()?)))
        .collect();
    let tried: Vec<Tried<'_>> = parsed
        .iter()
        .map(|(at, condition)| Tried {
            condition,
            actions: &on[*at].actions,
            rearm_min: on[*at].rearm_min,
        })
        .collect();
    let draws = (0..RULE_RUNS)
        .map(|run| calls(&inputs.demand, &inputs.standing, &mut Chance::of(seed, run)));
    let rules = will_fire(&inputs.setting, draws, &tried, &backdrop)
        .into_iter()
        .map(|fires: WillFire| {
            let rule = &on[parsed[fires.rule].0];
            Expected {
                rule_id: rule.id,
                name: rule.name.clone(),
                does: rule.actions.iter().map(Action::says).collect(),
                share: fires.share,
                at: inputs.when.start + TimeDelta::minutes(fires.first_min as i64),
            }
        })
        .collect();
    Forecast { inputs, outlook, rules, seed, at: now }
}

/// Runs what takes a while beside the async threads.
pub(crate) async fn off_thread<T: Send + 'static>(
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, StoreError> {
    let span = tracing::Span::current();
    tokio::task::spawn_blocking(move || span.in_scope(work)).await.map_err(|source| {
        StoreError::Unavailable { what: "the simulation", source: Some(Box::new(source)) }
    })
}
