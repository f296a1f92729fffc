//! The thresholds that a shop judges by: their bounds, which change loosens them, and every
//! change there was.
//!
//! Belongs here: what a shop may set and what must be given a reason. Does not belong here: what
//! a threshold means (the engine's), and keeping the shop ([`super`]).

use chrono::{DateTime, Utc};
use engine::policy::Policy;
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::Value;
use uuid::Uuid;

use super::Shop;
use crate::db::sql;
use crate::error::StoreError;
use crate::evidence::Named;
use crate::text::Faults;

/// Most changes listed; older ones are on the record.
const CHANGES_MAX: i64 = 200;

/// Longest reason.
const REASON_CHARS_MAX: usize = 500;

/// Fewest characters of a reason to loosen something: it is read when a verdict was wrong.
const REASON_CHARS_MIN: usize = 15;

/// A change of what the shop judges by.
#[derive(Clone, Debug)]
pub struct Change {
    /// When.
    pub at: DateTime<Utc>,
    /// Who.
    pub by: Option<Named>,
    /// Why, where they said.
    pub reason: Option<String>,
    /// What was made looser, in words; empty where nothing was.
    pub loosened: Vec<String>,
    /// As it was: policy, approval rules, approval limit.
    pub before: Value,
    /// As it is from then on.
    pub after: Value,
}

/// Every threshold is a probability; a shop may set its own, on the record.
pub(super) fn check(faults: &mut Faults, policy: &Policy) {
    let values = [
        ("isolated_min", policy.isolated_min, 0.5, 1.0),
        ("rival_max", policy.rival_max, 0.0, 0.5),
        ("leave_one_out_min", policy.leave_one_out_min, 0.0, 1.0),
        ("contradicted_max", policy.contradicted_max, 0.0, 0.5),
        ("mistake_rate", policy.mistake_rate, 0.0001, 0.5),
        ("unknown_rate", policy.unknown_rate, 0.0001, 0.5),
    ];
    for (name, value, min, max) in values {
        if !(min..=max).contains(&value) {
            faults.add(
                &format!("/policy/{name}"),
                format!("{value} is outside {min} to {max}, which is what this threshold may be."),
            );
        }
    }
}

/// What a change makes easier to pass, in words.
pub fn loosened(before: &Shop, after: &Shop) -> Vec<&'static str> {
    let (old, new) = (&before.policy, &after.policy);
    let (old_rules, new_rules) = (&before.approval_rules, &after.approval_rules);
    let age = |years: Option<u32>| years.unwrap_or(u32::MAX);
    [
        (new.isolated_min < old.isolated_min, "the share that isolates a part"),
        (new.rival_max > old.rival_max, "the share that a rival may have"),
        (
            new.leave_one_out_min < old.leave_one_out_min,
            "the share that must be left without any one reading",
        ),
        (new.mistake_rate < old.mistake_rate, "how often a reading is taken wrongly"),
        (new.unknown_rate < old.unknown_rate, "how often the fault is none of those listed"),
        (
            after.approval_limit_cents > before.approval_limit_cents,
            "the cost from which a manager approves",
        ),
        (old_rules.warranty && !new_rules.warranty, "approval under warranty"),
        (old_rules.disagreement && !new_rules.disagreement, "approval after a disagreement"),
        (old_rules.r#override && !new_rules.r#override, "approval after an override"),
        (age(new_rules.age_years) > age(old_rules.age_years), "approval by the unit's age"),
    ]
    .into_iter()
    .filter_map(|(looser, what)| looser.then_some(what))
    .collect()
}

/// A reason is needed for what is loosened, and kept for whatever else it is given.
pub(super) fn reason_of(
    faults: &mut Faults,
    reason: Option<&str>,
    loosened: &[&str],
) -> Option<String> {
    let reason = faults.text_opt("/reason", reason, REASON_CHARS_MAX);
    let chars = reason.as_deref().map_or(0, |reason| reason.chars().count());
    if !loosened.is_empty() && chars < REASON_CHARS_MIN {
        faults.add(
            "/reason",
            format!(
                "This loosens {}. Say why, in at least {REASON_CHARS_MIN} characters; it goes on \
                 the record.",
                loosened.join(", ")
            ),
        );
    }
    reason
}

/// The changes of what the shop judges by, newest first.
///
/// # Errors
/// When the database fails.
pub async fn changes<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
) -> Result<Vec<Change>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        at: DateTime<Utc>,
        actor: Option<Uuid>,
        actor_name: Option<String>,
        body: Value,
    }
    let rows = Row::find_by_statement(sql(
        "SELECT record_entry.at, record_entry.actor, person.name AS actor_name, \
             record_entry.body \
         FROM record_entry LEFT JOIN person ON person.id = record_entry.actor \
         WHERE record_entry.shop_id = $1 AND record_entry.subject_kind = 'shop' \
             AND record_entry.subject_id = $1 AND record_entry.kind = 'policy_changed' \
         ORDER BY record_entry.seq DESC LIMIT $2",
        [shop_id.into(), CHANGES_MAX.into()],
    ))
    .all(conn)
    .await?;
    let words = |value: &Value| value.as_str().map(str::to_owned);
    Ok(rows
        .into_iter()
        .map(|row| Change {
            at: row.at,
            by: row.actor.zip(row.actor_name).map(|(id, name)| Named { id, name }),
            reason: words(&row.body["reason"]),
            loosened: row.body["loosened"]
                .as_array()
                .map(|all| all.iter().filter_map(words).collect())
                .unwrap_or_default(),
            before: row.body["before"].clone(),
            after: row.body["after"].clone(),
        })
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shop::ApprovalRules;

    fn shop() -> Shop {
        Shop {
            id: Uuid::nil(),
            name: "Tern".into(),
            zone: "UTC".into(),
            currency: "EUR".into(),
            phone: None,
            approval_limit_cents: 50_000,
            policy: Policy::default(),
            approval_rules: ApprovalRules::default(),
        }
    }

    #[test]
    fn what_is_easier_to_pass_is_loosened_and_what_is_harder_is_not() {
        let mut looser = shop();
        looser.policy.isolated_min = 0.9;
        looser.approval_rules.warranty = false;
        looser.approval_rules.age_years = Some(10);
        let mut stricter = shop();
        stricter.policy.isolated_min = 0.99;
        stricter.approval_limit_cents = 10_000;

        assert_eq!(
            loosened(&shop(), &looser),
            ["the share that isolates a part", "approval under warranty"]
        );
        assert!(loosened(&shop(), &stricter).is_empty());
        assert_eq!(loosened(&looser, &shop()), ["approval by the unit's age"]);
    }

    #[test]
    fn loosening_without_a_reason_says_what_it_loosens() {
        let mut faults = Faults::default();
        reason_of(&mut faults, Some("busy"), &["the share that isolates a part"]);
        let Err(StoreError::InvalidMany(faults)) = faults.done() else { panic!("accepted") };
        assert_eq!(faults[0].pointer, "/reason");
        assert!(faults[0].says.contains("the share that isolates a part"), "{}", faults[0].says);
    }
}
