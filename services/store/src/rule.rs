//! A shop's rules: what they say, in versions, and what came of them.
//!
//! Belongs here: reading rules, their versions and firings. [`save`] checks and keeps, [`now`]
//! gathers what they look at, [`look`] is the clock's look, [`act`] carries out, [`rehearse`]
//! tries one. Does not belong here: the language and its checks ([`roster::rules`]).

pub mod act;
pub mod look;
pub mod now;
mod papers;
pub mod rehearse;
pub mod save;

use chrono::{DateTime, Utc};
use roster::rules::Action;
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::Value;
use uuid::Uuid;

pub use look::{Seen, look_due};
pub use rehearse::{Over, Rehearsal, RuleTry, rehearse};
pub use save::{RuleSave, check, install_missing, install_starting, rule_add, rule_change};

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::evidence::Named;
use crate::person::Caller;

/// Versions shown of a rule, newest first.
const VERSIONS_SHOWN: i64 = 50;

/// Firings shown, newest first.
const FIRINGS_SHOWN: i64 = 100;

/// Whether a rule does anything.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RuleState {
    /// Not looked at.
    Off,
    /// Looked at, and its firings noted; nothing is done.
    Tried,
    /// Looked at, and done.
    On,
}

impl RuleState {
    /// Every state.
    pub const ALL: [RuleState; 3] = [RuleState::Off, RuleState::Tried, RuleState::On];

    /// As stored and sent.
    pub fn name(self) -> &'static str {
        match self {
            RuleState::Off => "off",
            RuleState::Tried => "tried",
            RuleState::On => "on",
        }
    }

    /// From its name.
    pub fn from_name(name: &str) -> Option<Self> {
        RuleState::ALL.into_iter().find(|state| state.name() == name)
    }
}

/// A version of a rule.
#[derive(Clone, Debug, PartialEq)]
pub struct RuleVersion {
    /// The rule.
    pub rule_id: Uuid,
    /// Counted per rule, from 1.
    pub version: i32,
    /// Its name.
    pub name: String,
    /// Why one would want it.
    pub why: String,
    /// When it fires.
    pub condition: String,
    /// What it does.
    pub actions: Vec<Action>,
    /// Minutes before it may fire again.
    pub rearm_min: i64,
    /// Whether it does anything.
    pub state: RuleState,
    /// Who saved it; nobody for what ships.
    pub by: Option<Named>,
    /// When.
    pub at: DateTime<Utc>,
    /// Why it was changed.
    pub reason: String,
}

/// A rule as it is now.
#[derive(Clone, Debug, PartialEq)]
pub struct Rule {
    /// Its latest version.
    pub now: RuleVersion,
    /// When it was last looked at.
    pub looked_at: Option<DateTime<Utc>>,
    /// Whether its condition held then.
    pub held: Option<bool>,
    /// When it last fired.
    pub fired_at: Option<DateTime<Utc>>,
    /// Why it could not be told or carried out at the last look.
    pub trouble: Option<String>,
    /// How often it fired in the last 28 days.
    pub fired_28d: i64,
}

/// A time that a rule fired.
#[derive(Clone, Debug, PartialEq)]
pub struct Firing {
    /// Its id.
    pub id: Uuid,
    /// The rule.
    pub rule_id: Uuid,
    /// Its version then.
    pub version: i32,
    /// Its name then.
    pub name: String,
    /// When.
    pub at: DateTime<Utc>,
    /// Whether anything was done; only noted otherwise.
    pub live: bool,
    /// What the condition looked at, by name, as it was.
    pub values: Value,
    /// What came of each action: `{"do", "says", "done"}`.
    pub outcomes: Value,
}

/// What the clock and the outlook need of a rule.
#[derive(Clone, Debug, PartialEq)]
pub struct Live {
    /// The rule.
    pub id: Uuid,
    /// Its latest version.
    pub version: i32,
    /// Its name.
    pub name: String,
    /// When it fires.
    pub condition: String,
    /// What it does.
    pub actions: Vec<Action>,
    /// Minutes before it may fire again.
    pub rearm_min: i64,
    /// Whether anything is done.
    pub state: RuleState,
}

#[derive(FromQueryResult)]
struct Row {
    rule_id: Uuid,
    version: i32,
    name: String,
    why: String,
    condition: String,
    actions: Value,
    rearm_min: i32,
    state: String,
    by: Option<Uuid>,
    by_name: Option<String>,
    at: DateTime<Utc>,
    reason: String,
    looked_at: Option<DateTime<Utc>>,
    held: Option<bool>,
    fired_at: Option<DateTime<Utc>>,
    trouble: Option<String>,
    fired_28d: i64,
}

impl Row {
    fn version(self) -> Result<RuleVersion, StoreError> {
        Ok(RuleVersion {
            rule_id: self.rule_id,
            version: self.version,
            name: self.name,
            why: self.why,
            condition: self.condition,
            actions: serde_json::from_value(self.actions)
                .map_err(|source| StoreError::corrupt("rule", source))?,
            rearm_min: i64::from(self.rearm_min),
            state: RuleState::from_name(&self.state).unwrap_or(RuleState::Off),
            by: self.by.zip(self.by_name).map(|(id, name)| Named { id, name }),
            at: self.at,
            reason: self.reason,
        })
    }

    fn rule(self) -> Result<Rule, StoreError> {
        let (looked_at, held, fired_at) = (self.looked_at, self.held, self.fired_at);
        let (trouble, fired_28d) = (self.trouble.clone(), self.fired_28d);
        Ok(Rule { looked_at, held, fired_at, trouble, fired_28d, now: self.version()? })
    }
}

/// Every column of a version with its rule's; what follows chooses which.
const SELECT: &str = "SELECT rule_version.rule_id, rule_version.version, rule_version.name, why, \
     condition, actions, rearm_min, rule_version.state, rule_version.by, \
     person.name AS by_name, rule_version.at, reason, rule.looked_at, rule.held, rule.fired_at, \
     rule.trouble, (SELECT count(*) FROM rule_firing WHERE rule_firing.rule_id = rule.id \
         AND rule_firing.at > $2 - interval '28 days') AS fired_28d \
     FROM rule JOIN rule_version ON rule_version.rule_id = rule.id \
     LEFT JOIN person ON person.id = rule_version.by ";

/// Only the latest version of each.
const LATEST: &str = "rule_version.version = (SELECT max(version) FROM rule_version AS later \
     WHERE later.rule_id = rule.id) ";

/// The shop's rules as they are now, in the order in which they were made.
///
/// # Errors
/// When the database fails.
pub async fn list(store: &Store, caller: &Caller) -> Result<Vec<Rule>, StoreError> {
    let rows = Row::find_by_statement(sql(
        &format!("{SELECT} WHERE rule.shop_id = $1 AND {LATEST} ORDER BY rule.created_at, rule.id"),
        [caller.shop_id.into(), store.now().into()],
    ))
    .all(store.conn())
    .await?;
    rows.into_iter().map(Row::rule).collect()
}

/// One rule as it is now.
///
/// # Errors
/// `NotFound`, or the database fails.
pub async fn find<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    now: DateTime<Utc>,
    id: Uuid,
) -> Result<Rule, StoreError> {
    Row::find_by_statement(sql(
        &format!("{SELECT} WHERE rule.shop_id = $1 AND rule.id = $3 AND {LATEST}"),
        [shop_id.into(), now.into(), id.into()],
    ))
    .one(conn)
    .await?
    .ok_or(StoreError::NotFound { what: "rule" })?
    .rule()
}

/// A rule's versions, newest first.
///
/// # Errors
/// `NotFound`, or the database fails.
pub async fn versions(
    store: &Store,
    caller: &Caller,
    id: Uuid,
) -> Result<Vec<RuleVersion>, StoreError> {
    let rows = Row::find_by_statement(sql(
        &format!(
            "{SELECT} WHERE rule.shop_id = $1 AND rule.id = $3 \
             ORDER BY rule_version.version DESC LIMIT $4"
        ),
        [caller.shop_id.into(), store.now().into(), id.into(), VERSIONS_SHOWN.into()],
    ))
    .all(store.conn())
    .await?;
    if rows.is_empty() {
        return Err(StoreError::NotFound { what: "rule" });
    }
    rows.into_iter().map(Row::version).collect()
}

/// The shop's firings, newest first; of one rule where given.
///
/// # Errors
/// When the database fails.
pub async fn firings(
    store: &Store,
    caller: &Caller,
    rule_id: Option<Uuid>,
) -> Result<Vec<Firing>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        id: Uuid,
        rule_id: Uuid,
        version: i32,
        name: String,
        at: DateTime<Utc>,
        live: bool,
        vals: Value,
        outcomes: Value,
    }
    let rows = Row::find_by_statement(sql(
        "SELECT rule_firing.id, rule_firing.rule_id, rule_firing.version, rule_version.name, \
             rule_firing.at, live, vals, outcomes \
         FROM rule_firing JOIN rule_version ON rule_version.rule_id = rule_firing.rule_id \
             AND rule_version.version = rule_firing.version \
         WHERE rule_firing.shop_id = $1 AND ($2::uuid IS NULL OR rule_firing.rule_id = $2) \
         ORDER BY rule_firing.at DESC, rule_firing.id DESC LIMIT $3",
        [caller.shop_id.into(), rule_id.into(), FIRINGS_SHOWN.into()],
    ))
    .all(store.conn())
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| Firing {
            id: row.id,
            rule_id: row.rule_id,
            version: row.version,
            name: row.name,
            at: row.at,
            live: row.live,
            values: row.vals,
            outcomes: row.outcomes,
        })
        .collect())
}

/// The rules of a shop that are tried or on.
pub(crate) async fn live_of_shop<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    now: DateTime<Utc>,
) -> Result<Vec<Live>, StoreError> {
    let rows = Row::find_by_statement(sql(
        &format!(
            "{SELECT} WHERE rule.shop_id = $1 AND {LATEST} AND rule_version.state <> 'off' \
             ORDER BY rule.created_at, rule.id"
        ),
        [shop_id.into(), now.into()],
    ))
    .all(conn)
    .await?;
    rows.into_iter().map(|row| row.version().map(live)).collect()
}

/// The rules of a shop that are on.
pub(crate) async fn on_of_shop<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    now: DateTime<Utc>,
) -> Result<Vec<Live>, StoreError> {
    let mut rules = live_of_shop(conn, shop_id, now).await?;
    rules.retain(|rule| rule.state == RuleState::On);
    Ok(rules)
}

fn live(version: RuleVersion) -> Live {
    Live {
        id: version.rule_id,
        version: version.version,
        name: version.name,
        condition: version.condition,
        actions: version.actions,
        rearm_min: version.rearm_min,
        state: version.state,
    }
}
