//! What happened to a job, in words.
//!
//! Belongs here: the record's entries about a job as sentences, with names and the shop's own
//! clock. Does not belong here: what is recorded, which each change says for itself.

use std::collections::{BTreeSet, HashMap};

use chrono::{DateTime, Utc};
use sea_orm::FromQueryResult;
use serde_json::Value;
use uuid::Uuid;

use super::{JobState, Urgency, Work, intake, job_history};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::person::{Caller, Qualification, person_list};
use crate::record::Kept;

/// One thing that happened.
#[derive(Clone, Debug)]
pub struct Told {
    /// As it is on the record.
    pub entry: Kept,
    /// Who did it; nobody when a rule did.
    pub actor: Option<(Uuid, String)>,
    /// What, a sentence per thing that changed; never empty.
    pub says: Vec<String>,
}

/// A job's history with words to it, oldest first.
///
/// # Errors
/// `NotFound`, or the database fails.
pub async fn job_told(store: &Store, caller: &Caller, id: Uuid) -> Result<Vec<Told>, StoreError> {
    let entries = job_history(store, caller, id).await?;
    let people = person_list(store.conn(), caller.shop_id).await?;
    let words = Words {
        names: people.into_iter().map(|person| (person.id, person.name)).collect(),
        clock: clock_of(store, caller.shop_id, &entries).await?,
    };
    let told = entries.into_iter().map(|entry| Told {
        actor: entry.actor.and_then(|id| Some((id, words.names.get(&id)?.clone()))),
        says: words.entry(&entry),
        entry,
    });
    Ok(told.collect())
}

struct Words {
    names: HashMap<Uuid, String>,
    clock: HashMap<DateTime<Utc>, String>,
}

/// Every time in the bodies, on the shop's wall clock, in one look.
async fn clock_of(
    store: &Store,
    shop_id: Uuid,
    entries: &[Kept],
) -> Result<HashMap<DateTime<Utc>, String>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        at: DateTime<Utc>,
        words: String,
    }
    let mut times = BTreeSet::new();
    entries.iter().for_each(|entry| times_in(&entry.body, &mut times));
    let times: Vec<DateTime<Utc>> = times.into_iter().collect();
    let rows = Row::find_by_statement(sql(
        "SELECT at, to_char(at AT TIME ZONE zone, 'Dy FMDD Mon HH24:MI') AS words \
         FROM shop, unnest($2::timestamptz[]) AS at WHERE id = $1",
        [shop_id.into(), times.into()],
    ))
    .all(store.conn())
    .await?;
    Ok(rows.into_iter().map(|row| (row.at, row.words)).collect())
}

fn times_in(value: &Value, times: &mut BTreeSet<DateTime<Utc>>) {
    match value {
        Value::String(text) => times.extend(time(text)),
        Value::Array(values) => values.iter().for_each(|value| times_in(value, times)),
        Value::Object(fields) => fields.values().for_each(|value| times_in(value, times)),
        _ => {}
    }
}

fn time(text: &str) -> Option<DateTime<Utc>> {
    DateTime::parse_from_rfc3339(text).ok().map(|at| at.to_utc())
}

impl Words {
    fn entry(&self, entry: &Kept) -> Vec<String> {
        let body = &entry.body;
        let mut says = match entry.kind.as_str() {
            "job_taken" => self.taken(body),
            "job_assigned" => self.assigned(body),
            kind => self.waited(kind, body),
        };
        if entry.kind != "job_taken" {
            says.extend(self.changed(body, entry.kind == "job_assigned"));
        }
        if let Some(despite) = body.get("despite").and_then(Value::as_array) {
            let despite: Vec<&str> = despite.iter().filter_map(Value::as_str).collect();
            says.push(format!("Although: {}", despite.join(" ")));
        }
        for reason in ["because", "why", "reason", "says"] {
            if let Some(text) = body.get(reason).and_then(Value::as_str) {
                says.push(format!("Because: {}", sentence(text)));
            }
        }
        if says.is_empty() {
            // What another noun recorded about this job says at least what it was.
            let words = entry.kind.trim_start_matches("job_").replace('_', " ");
            says.push(sentence(&format!("Job {words}")));
        }
        says
    }

    /// What happened because nobody answered, or because it could wait.
    fn waited(&self, kind: &str, body: &Value) -> Vec<String> {
        let time = |field: &str| self.value("not_before", &body[field]);
        let says = match kind {
            "job_ladder_started" if body["weekend"] == true => {
                "Nobody has it: a ladder started, by the steps for days on which the shop is \
                 closed."
                    .to_owned()
            }
            "job_ladder_started" => "Nobody has it: a ladder started.".to_owned(),
            "job_ladder_fired" => match (self.named(&body["asked"]), self.named(&body["told"])) {
                (None, None) => "Nobody was left whom the ladder could reach.".to_owned(),
                (Some(asked), None) => format!("The ladder asked {asked}."),
                (None, Some(told)) => format!("The ladder told {told}."),
                (Some(asked), Some(told)) => format!("The ladder asked {asked}, and told {told}."),
            },
            "job_ladder_held" => format!(
                "The ladder waited: quiet hours of whoever is next end {}.",
                time("held_until")
            ),
            "job_declined" => "Said no to it.".to_owned(),
            "job_deferred" => format!("Deferred until {}.", time("until")),
            "job_returned" => "Back on the board: its working day has come.".to_owned(),
            "job_deferral_ended" => "Put back on the board before its day.".to_owned(),
            "job_worse" => format!(
                "The customer says that it got worse: {}, and nobody has it.{}",
                self.value("urgency", &body["urgency"]),
                if unsure(&body["answers"]) { " Not sure counts as yes." } else { "" }
            ),
            _ => return Vec::new(),
        };
        vec![says]
    }

    /// Names of a list of people; nothing for nobody.
    fn named(&self, people: &Value) -> Option<String> {
        let names: Vec<&str> = people
            .as_array()?
            .iter()
            .filter_map(|id| id.as_str().and_then(|id| Uuid::parse_str(id).ok()))
            .filter_map(|id| self.names.get(&id).map(String::as_str))
            .collect();
        (!names.is_empty()).then(|| names.join(", "))
    }

    fn taken(&self, body: &Value) -> Vec<String> {
        let mut says = vec![format!("Call taken: {}.", self.value("urgency", &body["urgency"]))];
        if let Some(intake) = body.get("intake") {
            let because = intake["because"].as_str().unwrap_or_default();
            says.push(format!("By the answers: {because}"));
            if let Some(overruled) = intake["overruled"].as_str() {
                says.push(format!(
                    "The answers make it {}; overruled: {}",
                    self.value("urgency", &intake["class"]),
                    sentence(overruled)
                ));
            }
        }
        for (field, before) in [
            ("window", "Promised"),
            ("assigned_to", "Given to"),
            ("planned", "Planned"),
            ("required", "Needs"),
            ("not_before", "Not before"),
        ] {
            let value = body.get(field).unwrap_or(&Value::Null);
            if !value.is_null() && value.as_array().is_none_or(|list| !list.is_empty()) {
                says.push(format!("{before} {}.", self.value(field, value)));
            }
        }
        says
    }

    fn assigned(&self, body: &Value) -> Vec<String> {
        let (now, before) = (&body["assigned_to"], &body["was"]["assigned_to"]);
        let name = |value: &Value| self.value("assigned_to", value);
        // Entries of the first days do not say who had it before.
        let says = match (now.is_null(), before.is_null()) {
            (false, _) if now == before => format!("Stays with {}.", name(now)),
            (false, true) => format!("Given to {}.", name(now)),
            (false, false) => format!("Given to {} instead of {}.", name(now), name(before)),
            (true, false) => format!("Taken back from {}.", name(before)),
            (true, true) => "Given to nobody.".to_owned(),
        };
        vec![says]
    }

    /// "Urgency from comfort to water leaking."
    fn changed(&self, body: &Value, assigned: bool) -> Vec<String> {
        let mut says = Vec::new();
        for (field, words) in FIELDS {
            let Some(before) = body["was"].get(field) else { continue };
            if *field == "assigned_to" && assigned {
                continue;
            }
            let now = body.get(field).unwrap_or(&Value::Null);
            let (was, is) = (self.value(field, before), self.value(field, now));
            says.push(match (before.is_null(), now.is_null()) {
                (true, _) => format!("{words}: {is}."),
                (false, true) => format!("{words}: none any more; it was {was}."),
                (false, false) => format!("{words} from {was} to {is}."),
            });
        }
        if body["complaint_changed"] == true {
            says.push("What the customer says was written anew.".to_owned());
        }
        if let Some(text) = body["urgency_because"].as_str() {
            says.push(format!("Another class because: {}", sentence(text)));
        }
        says
    }

    fn value(&self, field: &str, value: &Value) -> String {
        if value.is_null() {
            return if field == "assigned_to" { "nobody" } else { "none" }.to_owned();
        }
        let text = value.as_str().unwrap_or_default();
        match field {
            "urgency" => stored(Urgency::ALL, Urgency::name, text)
                .map_or_else(|| text.to_owned(), |urgency| intake::words(urgency).to_owned()),
            "state" => stored(JobState::ALL, JobState::name, text)
                .map_or_else(|| text.to_owned(), |state| state.name().replace('_', " ")),
            "work" => Work::from_id(text)
                .map_or_else(|| text.to_owned(), |work| work.words().to_lowercase()),
            "assigned_to" => {
                let id = text.parse::<Uuid>().ok();
                id.and_then(|id| self.names.get(&id))
                    .map_or_else(|| "somebody who is gone".to_owned(), Clone::clone)
            }
            "window" | "planned" => {
                let ends: Vec<String> =
                    value.as_array().into_iter().flatten().map(|at| self.clock(at)).collect();
                ends.join(" to ")
            }
            "not_before" => self.clock(value),
            "required" => {
                let names: Vec<&str> =
                    value.as_array().into_iter().flatten().filter_map(Value::as_str).collect();
                if names.is_empty() {
                    return "nothing special".to_owned();
                }
                let words = names
                    .iter()
                    .map(|name| Qualification::from_name(name).map_or("?", super::fit::words));
                words.collect::<Vec<_>>().join(" and ")
            }
            "vulnerable" => {
                if value == true { "somebody vulnerable" } else { "nobody vulnerable" }.to_owned()
            }
            "outdoor_f" => format!("{value} °F"),
            "expected_min" => format!("{value} min"),
            _ => value.as_str().map_or_else(|| value.to_string(), str::to_owned),
        }
    }

    fn clock(&self, at: &Value) -> String {
        let text = at.as_str().unwrap_or_default();
        let words = time(text).and_then(|at| self.clock.get(&at));
        words.map_or_else(|| text.to_owned(), Clone::clone)
    }
}

/// What may be told as having changed, with its words, in the order of telling.
const FIELDS: &[(&str, &str)] = &[
    ("state", "State"),
    ("assigned_to", "Given"),
    ("urgency", "Urgency"),
    ("window", "Promise"),
    ("planned", "Plan"),
    ("required", "Qualification"),
    ("vulnerable", "In the house"),
    ("outdoor_f", "Outdoors"),
    ("work", "Kind of work"),
    ("expected_min", "Expected time"),
    ("not_before", "Not before"),
];

fn stored<T: Copy>(
    all: impl IntoIterator<Item = T>,
    name: impl Fn(T) -> &'static str,
    text: &str,
) -> Option<T> {
    all.into_iter().find(|one| name(*one) == text)
}

/// With a capital at the beginning and a stop at the end.
fn sentence(text: &str) -> String {
    let text = text.trim();
    let mut chars = text.chars();
    let first = chars.next().map(|first| first.to_uppercase().to_string()).unwrap_or_default();
    let stop = if text.ends_with(['.', '!', '?', '…']) { "" } else { "." };
    format!("{first}{}{stop}", chars.as_str())
}

/// Whether a customer could not say something that they were asked.
fn unsure(answers: &Value) -> bool {
    answers.as_object().is_some_and(|all| all.values().any(|answer| answer == "unsure"))
}
