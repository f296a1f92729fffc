//! Wire shapes of rules.
//!
//! Belongs here: what is sent and received. Does not belong here: routes.

use chrono::{DateTime, Utc};
use roster::rules::rehearse::{Course, Fired, Played};
use roster::rules::schema::{self, Kind};
use roster::rules::{Action, Fault};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use store::rule::{Firing, Over, Rehearsal, Rule, RuleSave, RuleState, RuleTry, RuleVersion};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::shapes::PersonRef;

/// Whether a rule does anything.
#[derive(Clone, Copy, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = RuleState)]
pub enum RuleStateShape {
    /// Not looked at.
    Off,
    /// Looked at, and its firings noted; nothing is done.
    Tried,
    /// Looked at, and done.
    On,
}

/// Something that a rule does when it fires.
#[derive(Clone, Serialize, Deserialize, ToSchema)]
#[serde(tag = "do", rename_all = "snake_case", deny_unknown_fields)]
#[schema(as = RuleAction)]
pub enum ActionShape {
    /// The next person on call who has not been called out is called out.
    CallOutNext {},
    /// The second rota is opened, and those on it are told.
    OpenSecondRota {},
    /// Comfort calls that nobody has are put off to the next open day, and the customers are told.
    DeferComfort {
        /// What makes do until then, told to the customer.
        holdover: String,
        /// Most calls that one firing puts off.
        at_most: u32,
    },
    /// It is told that a second read can be given from where the reader is.
    OfferRemoteRead {},
    /// Everybody who may read is asked now.
    WidenReaders {},
    /// Somebody may approve below an amount for some hours.
    DelegateApprovals {
        /// Who; must be named before the rule can be on.
        #[serde(default)]
        person_id: Option<Uuid>,
        /// Below this amount, cents.
        up_to_cents: i64,
        /// For how long, hours.
        hours: i64,
    },
    /// A neighbouring crew is asked by mail.
    AskNeighbour {
        /// Whom; must be named before the rule can be on.
        name: String,
        /// Where they read their mail; must be named before the rule can be on.
        email: String,
        /// What is asked of them.
        message: String,
    },
}

/// A rule to add.
#[derive(Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = RuleNew)]
pub struct RuleNew {
    /// Its name.
    name: String,
    /// Why one would want it; may be empty.
    #[serde(default)]
    why: String,
    /// When it fires, in the Common Expression Language.
    condition: String,
    /// What it does.
    actions: Vec<ActionShape>,
    /// Minutes before it may fire again.
    rearm_min: i64,
    /// Whether it does anything.
    state: RuleStateShape,
    /// Why it is changed; may be empty.
    #[serde(default)]
    reason: String,
}

/// A new version of a rule.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = RuleChange)]
pub struct RuleChange {
    /// The version that was looked at.
    pub(crate) version: i32,
    /// What it says from now on.
    pub(crate) rule: RuleNew,
}

/// A condition to check.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = ConditionCheck)]
pub struct ConditionCheck {
    /// The condition.
    pub(crate) condition: String,
}

/// What is wrong with a condition.
#[derive(Serialize, ToSchema)]
#[schema(as = ConditionChecked)]
pub struct CheckedShape {
    /// In the order of the text; none when it can be saved.
    faults: Vec<FaultShape>,
}

/// Something wrong in a condition.
#[derive(Serialize, ToSchema)]
#[schema(as = ConditionFault)]
pub struct FaultShape {
    /// Line, from 1.
    line: usize,
    /// Column, from 1.
    column: usize,
    /// What is wrong, and what would be right.
    says: String,
    /// What to write there instead, where that can be guessed.
    suggestion: Option<String>,
}

/// On which span a rule is tried.
#[derive(Clone, Copy, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = RuleTryOver)]
pub enum OverShape {
    /// The weekend that was, with the calls that came.
    LastWeekend,
    /// Coming weekends, drawn.
    Simulated,
}

/// A rule to try.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = RuleTry)]
pub struct RuleTryShape {
    /// When it fires.
    condition: String,
    /// What it does.
    actions: Vec<ActionShape>,
    /// Minutes before it may fire again.
    rearm_min: i64,
    /// On which span.
    over: OverShape,
    /// What is drawn with.
    #[serde(default)]
    seed: u32,
}

/// What a rule would have done.
#[derive(Serialize, ToSchema)]
#[schema(as = RuleRehearsal)]
pub struct RehearsalShape {
    /// From.
    start: DateTime<Utc>,
    /// Hours.
    hours: usize,
    /// In words.
    says: String,
    /// Over all drawn weekends, in words.
    on_average: Option<String>,
    /// Each time it would have fired.
    fired: Vec<FiredShape>,
    /// Without the rule.
    without: CourseShape,
    /// With it.
    with: CourseShape,
    /// Each action: whether it was played or only counted, and why.
    actions: Vec<PlayedShape>,
    /// Why the condition could not be told, where it could not.
    untold: Option<String>,
    /// What was assumed, a sentence each.
    notes: Vec<String>,
}

/// What a trial made of an action.
#[derive(Serialize, ToSchema)]
#[schema(as = RuleActionPlayed)]
pub struct PlayedShape {
    /// The action.
    action: String,
    /// It was played; only counted otherwise.
    played: bool,
    /// How, or why not.
    says: String,
}

/// A time that a rule would have fired.
#[derive(Serialize, ToSchema)]
#[schema(as = RuleWouldFire)]
pub struct FiredShape {
    /// When.
    at: DateTime<Utc>,
    /// What was seen then, by name.
    values: Value,
    /// Comfort calls put off by it.
    put_off: u32,
}

/// What became of a span.
#[derive(Serialize, ToSchema)]
#[schema(as = RuleCourse)]
pub struct CourseShape {
    /// Calls.
    calls: u32,
    /// Urgent calls that waited longer than they may.
    late: u32,
    /// The longest wait of an urgent call, minutes.
    longest_urgent_min: f64,
    /// Calls put off.
    put_off: u32,
    /// Second reads that waited; none in a drawn weekend.
    reads: u32,
    /// The longest wait of one, minutes.
    longest_read_min: f64,
    /// Approvals that waited; none in a drawn weekend.
    approvals: u32,
    /// The longest wait of one, minutes.
    longest_approval_min: f64,
}

/// The shop's rules.
#[derive(Serialize, ToSchema)]
#[schema(as = Rules)]
pub struct RulesShape {
    /// As they are now.
    pub(crate) rules: Vec<RuleShape>,
    /// The latest firings, newest first.
    pub(crate) firings: Vec<FiringShape>,
    /// What a condition may speak of.
    pub(crate) variables: Vec<VariableShape>,
}

/// What a condition may speak of.
#[derive(Serialize, ToSchema)]
#[schema(as = RuleVariable)]
pub struct VariableShape {
    /// Its name.
    name: String,
    /// `bool`, `int`, `double`, `day`, `int_by_class` or `double_by_class`.
    kind: String,
    /// Its unit; often empty.
    unit: String,
    /// What it says.
    says: String,
    /// What may stand after its dot.
    fields: Vec<String>,
}

/// A rule as it is now.
#[derive(Serialize, ToSchema)]
#[schema(as = Rule)]
pub struct RuleShape {
    /// Its id.
    id: Uuid,
    /// Its latest version.
    #[serde(flatten)]
    version: VersionShape,
    /// When it was last looked at.
    looked_at: Option<DateTime<Utc>>,
    /// Whether its condition held then.
    held: Option<bool>,
    /// When it last fired.
    fired_at: Option<DateTime<Utc>>,
    /// Why it could not be told or carried out at the last look.
    trouble: Option<String>,
    /// How often it fired in the last 28 days.
    fired_28d: i64,
}

/// A version of a rule.
#[derive(Serialize, ToSchema)]
#[schema(as = RuleVersion)]
pub struct VersionShape {
    /// Counted per rule, from 1.
    version: i32,
    /// Its name.
    name: String,
    /// Why one would want it.
    why: String,
    /// When it fires.
    condition: String,
    /// What it does.
    actions: Vec<ActionShape>,
    /// The same in words.
    does: Vec<String>,
    /// Minutes before it may fire again.
    rearm_min: i64,
    /// Whether it does anything.
    state: RuleStateShape,
    /// Who saved it; nobody for what ships.
    by: Option<PersonRef>,
    /// When.
    at: DateTime<Utc>,
    /// Why it was changed.
    reason: String,
}

/// A rule with its history.
#[derive(Serialize, ToSchema)]
#[schema(as = RuleStory)]
pub struct RuleStory {
    /// As it is now.
    rule: RuleShape,
    /// Newest first.
    versions: Vec<VersionShape>,
    /// Newest first.
    firings: Vec<FiringShape>,
}

/// A time that a rule fired.
#[derive(Serialize, ToSchema)]
#[schema(as = RuleFiring)]
pub struct FiringShape {
    /// Its id.
    id: Uuid,
    /// The rule.
    rule_id: Uuid,
    /// Its version then.
    version: i32,
    /// Its name then.
    name: String,
    /// When.
    at: DateTime<Utc>,
    /// Whether anything was done; only noted otherwise.
    live: bool,
    /// What the condition looked at, by name, as it was.
    values: Value,
    /// What came of each action: `[{"do", "done", "says"}]`.
    outcomes: Value,
}

impl From<RuleStateShape> for RuleState {
    fn from(state: RuleStateShape) -> Self {
        match state {
            RuleStateShape::Off => RuleState::Off,
            RuleStateShape::Tried => RuleState::Tried,
            RuleStateShape::On => RuleState::On,
        }
    }
}

impl From<RuleState> for RuleStateShape {
    fn from(state: RuleState) -> Self {
        match state {
            RuleState::Off => RuleStateShape::Off,
            RuleState::Tried => RuleStateShape::Tried,
            RuleState::On => RuleStateShape::On,
        }
    }
}

impl From<ActionShape> for Action {
    fn from(action: ActionShape) -> Self {
        match action {
            ActionShape::CallOutNext {} => Action::CallOutNext {},
            ActionShape::OpenSecondRota {} => Action::OpenSecondRota {},
            ActionShape::DeferComfort { holdover, at_most } => {
                Action::DeferComfort { holdover, at_most }
            }
            ActionShape::OfferRemoteRead {} => Action::OfferRemoteRead {},
            ActionShape::WidenReaders {} => Action::WidenReaders {},
            ActionShape::DelegateApprovals { person_id, up_to_cents, hours } => {
                let person_id = person_id.map(|id| id.to_string());
                Action::DelegateApprovals { person_id, up_to_cents, hours }
            }
            ActionShape::AskNeighbour { name, email, message } => {
                Action::AskNeighbour { name, email, message }
            }
        }
    }
}

impl From<Action> for ActionShape {
    fn from(action: Action) -> Self {
        match action {
            Action::CallOutNext {} => ActionShape::CallOutNext {},
            Action::OpenSecondRota {} => ActionShape::OpenSecondRota {},
            Action::DeferComfort { holdover, at_most } => {
                ActionShape::DeferComfort { holdover, at_most }
            }
            Action::OfferRemoteRead {} => ActionShape::OfferRemoteRead {},
            Action::WidenReaders {} => ActionShape::WidenReaders {},
            Action::DelegateApprovals { person_id, up_to_cents, hours } => {
                let person_id = person_id.and_then(|id| Uuid::parse_str(&id).ok());
                ActionShape::DelegateApprovals { person_id, up_to_cents, hours }
            }
            Action::AskNeighbour { name, email, message } => {
                ActionShape::AskNeighbour { name, email, message }
            }
        }
    }
}

impl From<RuleNew> for RuleSave {
    fn from(rule: RuleNew) -> Self {
        RuleSave {
            name: rule.name,
            why: rule.why,
            condition: rule.condition,
            actions: rule.actions.into_iter().map(Action::from).collect(),
            rearm_min: rule.rearm_min,
            state: rule.state.into(),
            reason: rule.reason,
        }
    }
}

impl From<RuleTryShape> for RuleTry {
    fn from(given: RuleTryShape) -> Self {
        RuleTry {
            condition: given.condition,
            actions: given.actions.into_iter().map(Action::from).collect(),
            rearm_min: given.rearm_min,
            over: match given.over {
                OverShape::LastWeekend => Over::LastWeekend,
                OverShape::Simulated => Over::Simulated,
            },
            seed: u64::from(given.seed),
        }
    }
}

impl From<Vec<Fault>> for CheckedShape {
    fn from(faults: Vec<Fault>) -> Self {
        let shape = |fault: Fault| FaultShape {
            line: fault.line,
            column: fault.column,
            says: fault.says,
            suggestion: fault.suggestion,
        };
        CheckedShape { faults: faults.into_iter().map(shape).collect() }
    }
}

impl From<Rehearsal> for RehearsalShape {
    fn from(rehearsal: Rehearsal) -> Self {
        let answer = rehearsal.answer;
        RehearsalShape {
            start: rehearsal.start,
            hours: rehearsal.hours,
            says: answer.says,
            on_average: rehearsal.on_average,
            fired: answer.fired.into_iter().map(FiredShape::from).collect(),
            without: answer.without.into(),
            with: answer.with.into(),
            actions: answer.actions.into_iter().map(PlayedShape::from).collect(),
            untold: answer.untold,
            notes: rehearsal.notes,
        }
    }
}

impl From<Fired> for FiredShape {
    fn from(fired: Fired) -> Self {
        let values = serde_json::to_value(fired.values.named()).unwrap_or_default();
        FiredShape { at: fired.at, values, put_off: fired.put_off }
    }
}

impl From<Played> for PlayedShape {
    fn from(played: Played) -> Self {
        let Played { action, played, says } = played;
        PlayedShape { action: action.to_owned(), played, says }
    }
}

impl From<Course> for CourseShape {
    fn from(course: Course) -> Self {
        CourseShape {
            calls: course.calls,
            late: course.late,
            longest_urgent_min: course.longest_urgent_min.round(),
            put_off: course.put_off,
            reads: course.reads,
            longest_read_min: course.longest_read_min.round(),
            approvals: course.approvals,
            longest_approval_min: course.longest_approval_min.round(),
        }
    }
}

impl VariableShape {
    /// Every variable, in the order in which they are explained.
    pub(crate) fn all() -> Vec<Self> {
        let kind = |kind: Kind| match kind {
            Kind::Bool => "bool",
            Kind::Int => "int",
            Kind::Double => "double",
            Kind::Day => "day",
            Kind::IntByClass => "int_by_class",
            Kind::DoubleByClass => "double_by_class",
        };
        schema::VARIABLES
            .iter()
            .map(|variable| VariableShape {
                name: variable.name.to_owned(),
                kind: kind(variable.kind).to_owned(),
                unit: variable.unit.to_owned(),
                says: variable.says.to_owned(),
                fields: schema::fields(variable.kind).into_iter().map(str::to_owned).collect(),
            })
            .collect()
    }
}

impl From<Rule> for RuleShape {
    fn from(rule: Rule) -> Self {
        RuleShape {
            id: rule.now.rule_id,
            looked_at: rule.looked_at,
            held: rule.held,
            fired_at: rule.fired_at,
            trouble: rule.trouble,
            fired_28d: rule.fired_28d,
            version: rule.now.into(),
        }
    }
}

impl From<RuleVersion> for VersionShape {
    fn from(version: RuleVersion) -> Self {
        VersionShape {
            version: version.version,
            name: version.name,
            why: version.why,
            condition: version.condition,
            does: version.actions.iter().map(Action::says).collect(),
            actions: version.actions.into_iter().map(ActionShape::from).collect(),
            rearm_min: version.rearm_min,
            state: version.state.into(),
            by: version.by.map(|by| PersonRef { id: by.id, name: by.name }),
            at: version.at,
            reason: version.reason,
        }
    }
}

impl RuleStory {
    pub(crate) fn new(rule: Rule, versions: Vec<RuleVersion>, firings: Vec<Firing>) -> Self {
        RuleStory {
            rule: rule.into(),
            versions: versions.into_iter().map(VersionShape::from).collect(),
            firings: firings.into_iter().map(FiringShape::from).collect(),
        }
    }
}

impl From<Firing> for FiringShape {
    fn from(firing: Firing) -> Self {
        FiringShape {
            id: firing.id,
            rule_id: firing.rule_id,
            version: firing.version,
            name: firing.name,
            at: firing.at,
            live: firing.live,
            values: firing.values,
            outcomes: firing.outcomes,
        }
    }
}
