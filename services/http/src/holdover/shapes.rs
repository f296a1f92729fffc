//! How holdovers are sent.
//!
//! Belongs here: wire shapes and their conversion. Does not belong here: routes.

use chrono::{DateTime, Utc};
use roster::holdover::{Check, Measure, Worse, checks};
use roster::queue::Urgency;
use serde::{Deserialize, Serialize};
use store::holdover::worse::{Link, Standing};
use store::holdover::{Deferred, Holdover};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::intake::AnswerShape;
use crate::shapes::PersonRef;

/// What can be done to make a site safe, and what must be asked before a job is deferred.
#[derive(Debug, Serialize, ToSchema)]
pub struct HoldoverAsks {
    /// Measures, as they are offered.
    pub measures: Vec<MeasureShape>,
    /// Questions for the job's class whatever is done.
    pub checks: Vec<CheckShape>,
    /// Whether only a manager may defer it, with a reason.
    pub needs_manager: bool,
    /// When the shop opens next: what "the next working day" means now.
    pub next_open: DateTime<Utc>,
    /// Whether the customer has an address for mail.
    pub customer_has_mail: bool,
}

/// One measure.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Measure)]
pub struct MeasureShape {
    /// As sent back.
    pub id: String,
    /// As the customer is told.
    pub words: String,
    /// What they must mind; null where nothing.
    pub caution: Option<String>,
    /// Where its numbers come from.
    pub source: Option<String>,
    /// Questions that it adds.
    pub checks: Vec<CheckShape>,
}

/// A question that must be answered with yes.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = HoldoverCheck)]
pub struct CheckShape {
    /// As sent back.
    pub id: String,
    /// The question.
    pub asks: String,
}

impl From<Check> for CheckShape {
    fn from(check: Check) -> Self {
        CheckShape { id: check.id.to_owned(), asks: check.asks.to_owned() }
    }
}

impl MeasureShape {
    pub(super) fn new(measure: Measure) -> Self {
        MeasureShape {
            id: measure.id().to_owned(),
            words: measure.says().to_owned(),
            caution: measure.caution().map(str::to_owned),
            source: measure.source().map(str::to_owned),
            checks: checks(Urgency::Comfort, &[measure]).into_iter().map(From::from).collect(),
        }
    }
}

/// The body that defers a job.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct HoldoverAdd {
    /// The job's version that was looked at.
    pub version: i32,
    /// Until when; the next working day where absent.
    #[serde(default)]
    pub until: Option<DateTime<Utc>>,
    /// What was done: ids of measures.
    #[serde(default)]
    pub measures: Vec<String>,
    /// Questions answered with yes.
    #[serde(default)]
    pub checked: Vec<String>,
    /// Anything more, told to the customer.
    #[serde(default)]
    pub note: String,
    /// Why; the two most urgent classes need one of a manager.
    #[serde(default)]
    pub reason: String,
}

/// A job that was just deferred.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Deferred)]
pub struct DeferredShape {
    /// The holdover.
    pub id: Uuid,
    /// Until when.
    pub until: DateTime<Utc>,
    /// mail, or telephone where the customer has no address.
    pub told: String,
    /// What to read out on the telephone.
    pub read_out: String,
}

impl From<Deferred> for DeferredShape {
    fn from(deferred: Deferred) -> Self {
        DeferredShape {
            id: deferred.id,
            until: deferred.until,
            told: deferred.told.id().to_owned(),
            read_out: deferred.read_out,
        }
    }
}

/// A job's latest holdover.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Holdover)]
pub struct HoldoverShape {
    /// Its id.
    pub id: Uuid,
    /// What was done, in words.
    pub measures: Vec<String>,
    /// Anything more.
    pub note: String,
    /// Until when.
    pub until: DateTime<Utc>,
    /// When it was made.
    pub made_at: DateTime<Utc>,
    /// By whom; null for a rule of the shop.
    pub made_by: Option<PersonRef>,
    /// Why.
    pub why: String,
    /// mail or telephone.
    pub told: String,
    /// When it ended.
    pub ended_at: Option<DateTime<Utc>>,
    /// returned, worse, taken_back, closed or deferred_again.
    pub ended_why: Option<String>,
    /// What to read out on the telephone.
    pub read_out: String,
}

impl From<Holdover> for HoldoverShape {
    fn from(holdover: Holdover) -> Self {
        HoldoverShape {
            id: holdover.id,
            measures: holdover.measures.iter().map(|one| one.says().to_owned()).collect(),
            note: holdover.note,
            until: holdover.until,
            made_at: holdover.made_at,
            made_by: holdover.made_by.map(|by| PersonRef { id: by.id, name: by.name }),
            why: holdover.why,
            told: holdover.told,
            ended_at: holdover.ended_at,
            ended_why: holdover.ended_why,
            read_out: holdover.read_out,
        }
    }
}

/// The body with a customer's token.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WorseToken {
    /// From the link.
    pub token: String,
}

/// What a customer answers. "unsure" counts as yes.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WorseAnswer {
    /// From the link.
    pub token: String,
    /// A smell of gas, smoke, or an alarm for carbon monoxide.
    pub danger: AnswerShape,
    /// No heat, or no cooling, at all.
    pub none_at_all: AnswerShape,
    /// Somebody who cannot be without it.
    pub vulnerable: AnswerShape,
    /// Water comes out.
    pub water: AnswerShape,
    /// Food or medicine gets warm.
    pub food: AnswerShape,
    /// In their own words; may be empty.
    #[serde(default)]
    pub says: String,
}

impl WorseAnswer {
    pub(super) fn answers(&self) -> Worse {
        Worse {
            danger: self.danger.into(),
            none_at_all: self.none_at_all.into(),
            vulnerable: self.vulnerable.into(),
            water: self.water.into(),
            food: self.food.into(),
        }
    }
}

/// What a customer's link shows: nothing of them.
#[derive(Debug, Serialize, ToSchema)]
pub struct WorseLink {
    /// The shop's name.
    pub shop_name: String,
    /// Its telephone.
    pub shop_phone: Option<String>,
    /// The job's number.
    pub job_number: i32,
    /// When somebody comes at the earliest, by the clock at the site.
    pub until: String,
    /// open, told or over.
    pub standing: String,
    /// What to do first where there is danger.
    pub danger_says: String,
}

impl From<Link> for WorseLink {
    fn from(link: Link) -> Self {
        let standing = match link.standing {
            Standing::Open => "open",
            Standing::Told => "told",
            Standing::Over => "over",
        };
        WorseLink {
            shop_name: link.shop_name,
            shop_phone: link.shop_phone,
            job_number: link.job_number,
            until: link.until,
            standing: standing.to_owned(),
            danger_says: roster::holdover::DANGER_SAYS.to_owned(),
        }
    }
}
