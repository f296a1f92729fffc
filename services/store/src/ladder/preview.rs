//! What would happen: a climb seen ahead, with nothing kept.
//!
//! Belongs here: finding the people for it and putting names to them. Does not belong here: the
//! climbing (the roster's [`roster::ladder::climb::ahead`]).

use chrono::{DateTime, Utc};
use roster::ladder::climb::{Ahead, Colleague, ahead};
use roster::ladder::{Kind, Ladders, Variant};
use roster::queue::Urgency;
use uuid::Uuid;

use super::people::Staff;
use super::setting::check_for;
use crate::db::Store;
use crate::error::StoreError;
use crate::evidence::Named;
use crate::person::{Caller, Qualification};
use crate::text::Faults;

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question {
    /// Which kind of ladder.
    pub kind: Kind,
    /// When it would start.
    pub at: DateTime<Utc>,
    /// How urgent the job would be.
    pub urgency: Urgency,
    /// What the job or the part would ask of people.
    pub required: Vec<Qualification>,
    /// By which ladders; the shop's own in force where absent.
    pub ladders: Option<Ladders<Uuid>>,
}

/// What would happen if nobody ever answered.
#[derive(Clone, Debug)]
pub struct Story {
    /// By which of the two variants.
    pub variant: Variant,
    /// Whether quiet hours would be minded.
    pub minds_quiet: bool,
    /// Whether a ladder would start at all.
    pub starts: bool,
    /// What happens, in order.
    pub steps: Vec<StoryStep>,
}

/// One thing that would happen.
#[derive(Clone, Debug)]
pub struct StoryStep {
    /// Which step, from 0.
    pub rung: usize,
    /// When.
    pub at: DateTime<Utc>,
    /// The step in words.
    pub words: String,
    /// Who would be asked.
    pub asked: Vec<Named>,
    /// Who would be told.
    pub told: Vec<Named>,
    /// Who would be left alone, until when.
    pub quiet: Vec<(Named, DateTime<Utc>)>,
    /// Until when the step would wait.
    pub held_until: Option<DateTime<Utc>>,
}

/// Tells what would happen, with the shop's people as they would be then.
///
/// # Errors
/// `Forbidden` unless they give out work or manage, `InvalidMany` for ladders that could not be
/// saved, or the database fails.
pub async fn preview(
    store: &Store,
    caller: &Caller,
    question: Question,
) -> Result<Story, StoreError> {
    caller.must_schedule("look at what the ladders would do")?;
    let conn = store.conn();
    let mut staff = Staff::foreseen(conn, caller.shop_id, question.at).await?;
    if let Some(ladders) = question.ladders {
        let mut faults = Faults::default();
        check_for(conn, caller.shop_id, &ladders, &mut faults).await?;
        faults.done()?;
        staff.setting.ladders = ladders;
    }
    let required: Vec<String> =
        question.required.iter().map(|wanted| wanted.name().to_owned()).collect();
    let variant = staff.setting.variant_at(question.at);
    let never_quiet = staff.never_quiet(question.urgency);
    let steps = staff.setting.ladders.of(question.kind).on(variant).to_vec();
    let people_at = |at: DateTime<Utc>| people(&staff.at(at), question.kind, &required);
    let story = ahead(question.kind, &steps, question.at, never_quiet, people_at);
    let starts = question.kind != Kind::UrgentJob
        || staff.setting.ladders.urgent.contains(&question.urgency);
    Ok(Story {
        variant,
        minds_quiet: !never_quiet,
        starts,
        steps: story
            .into_iter()
            .filter_map(|one| {
                let words = steps.get(one.rung)?.says(question.kind);
                Some(named(&staff, one, words))
            })
            .collect(),
    })
}

/// Everyone as such a ladder would find them: for a second read any technician who has the
/// qualification, since nothing is known of the request.
fn people(staff: &Staff, kind: Kind, required: &[String]) -> Vec<Colleague<Uuid>> {
    if kind != Kind::Approval {
        return staff.takers(required, &[]);
    }
    let mut place = 0;
    staff
        .members
        .iter()
        .map(|member| {
            let stands = member.manages().then_some(place);
            place += usize::from(stands.is_some());
            staff.colleague(member, stands, true)
        })
        .collect()
}

fn named(staff: &Staff, one: Ahead<Uuid>, words: String) -> StoryStep {
    let name = |id: &Uuid| {
        let member = staff.members.iter().find(|member| member.id == *id)?;
        Some(Named { id: member.id, name: member.name.clone() })
    };
    StoryStep {
        rung: one.rung,
        at: one.at,
        words,
        held_until: one.fire.held_until(),
        asked: one.fire.asked.iter().filter_map(name).collect(),
        told: one.fire.told.iter().filter_map(name).collect(),
        quiet: one.fire.quiet.iter().filter_map(|(id, until)| Some((name(id)?, *until))).collect(),
    }
}
