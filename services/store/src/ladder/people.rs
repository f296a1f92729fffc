//! The shop's people, as a ladder finds them.
//!
//! Belongs here: who holds which role, is on duty, at a screen, a delegate, and has which quiet
//! hours. Does not belong here: who can read a request ([`crate::request`]'s people) or take a
//! job, beyond what is asked of everyone.

use chrono::{DateTime, TimeDelta, Utc};
use roster::duty::Kind;
use roster::ladder::climb::Colleague;
use roster::ladder::quiet::zone_of;
use roster::ladder::taker::{Taker, takers};
use roster::ladder::{Hours, Quiet};
use roster::queue::Urgency;
use roster::reader::Duty;
use sea_orm::{ConnectionTrait, FromQueryResult};
use uuid::Uuid;

use super::Setting;
use super::fire::Fired;
use super::setting::of_shop;
use crate::db::sql;
use crate::error::StoreError;
use crate::rota;

/// How far ahead a climb is foreseen: the latest step of a ladder, and the nights it may wait.
const FORESEEN_DAYS: i64 = 10;

/// One of the shop's active people; guests are none.
#[derive(Clone, Debug, FromQueryResult)]
pub(crate) struct Member {
    pub(crate) id: Uuid,
    pub(crate) name: String,
    roles: Vec<String>,
    qualifications: Vec<String>,
    on_a_job: bool,
    asked_7d: i64,
    looking: bool,
    own_quiet: bool,
    quiet_from: Option<i16>,
    quiet_to: Option<i16>,
    quiet_zone: Option<String>,
}

/// Who is there, and by which ladders the shop climbs.
#[derive(Clone, Debug)]
pub(crate) struct Staff {
    pub(crate) members: Vec<Member>,
    pub(crate) setting: Setting,
    at: DateTime<Utc>,
    spells: Vec<Spell>,
    delegates: Vec<Uuid>,
}

/// What somebody is down for, from when to when.
#[derive(Clone, Copy, Debug)]
struct Spell {
    person: Uuid,
    duty: OnDuty,
    start: DateTime<Utc>,
    end: DateTime<Utc>,
}

/// What somebody is down for now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum OnDuty {
    Shift,
    OnCall,
    Second,
    Leave,
}

impl Member {
    fn is(&self, role: &str) -> bool {
        self.roles.iter().any(|held| held == role)
    }

    pub(crate) fn manages(&self) -> bool {
        self.is("service_manager") || self.is("owner")
    }
}

impl Staff {
    /// Everyone as they are at a moment.
    pub(crate) async fn of<C: ConnectionTrait>(
        conn: &C,
        now: DateTime<Utc>,
        shop_id: Uuid,
    ) -> Result<Self, StoreError> {
        Ok(Staff {
            members: members(conn, now, shop_id).await?,
            setting: of_shop(conn, shop_id).await?,
            at: now,
            spells: spells(conn, shop_id, now, now + TimeDelta::minutes(1)).await?,
            delegates: delegates(conn, shop_id, now).await?,
        })
    }

    /// Everyone as they will be, as far as the rota says, from a moment on; nobody is taken to
    /// be at a screen or on a job then.
    pub(crate) async fn foreseen<C: ConnectionTrait>(
        conn: &C,
        shop_id: Uuid,
        from: DateTime<Utc>,
    ) -> Result<Self, StoreError> {
        let mut members = members(conn, from, shop_id).await?;
        for member in &mut members {
            (member.looking, member.on_a_job) = (false, false);
        }
        let to = from + TimeDelta::days(FORESEEN_DAYS);
        Ok(Staff {
            members,
            setting: of_shop(conn, shop_id).await?,
            at: from,
            spells: spells(conn, shop_id, from, to).await?,
            delegates: delegates(conn, shop_id, from).await?,
        })
    }

    /// The same people at another moment.
    pub(crate) fn at(&self, at: DateTime<Utc>) -> Self {
        Staff { at, ..self.clone() }
    }

    /// Whether what is so urgent is told in quiet hours too.
    pub(crate) fn never_quiet(&self, urgency: Urgency) -> bool {
        self.setting.ladders.never_quiet.contains(&urgency)
    }

    /// Counts who was asked to take a job just now, so that the next is somebody else's.
    pub(crate) fn count_asked(&mut self, all: &[Fired]) {
        for person in all.iter().flat_map(|fired| &fired.fire.asked) {
            if let Some(member) = self.members.iter_mut().find(|one| one.id == *person) {
                member.asked_7d += 1;
            }
        }
    }

    pub(crate) fn is(&self, person: Uuid, duty: OnDuty) -> bool {
        self.spells.iter().any(|spell| {
            spell.person == person
                && spell.duty == duty
                && spell.start <= self.at
                && self.at < spell.end
        })
    }

    /// Somebody as a step finds them; `place` is where they stand among those who can take it.
    pub(crate) fn colleague(
        &self,
        member: &Member,
        place: Option<usize>,
        told: bool,
    ) -> Colleague<Uuid> {
        let on_leave = self.is(member.id, OnDuty::Leave);
        Colleague {
            id: member.id,
            place: place.filter(|_| !on_leave),
            told,
            scheduler: member.is("scheduler"),
            manages: member.manages(),
            owner: member.is("owner"),
            delegate: self.delegates.contains(&member.id),
            on_call: self.is(member.id, OnDuty::OnCall),
            second_rota: self.is(member.id, OnDuty::Second),
            awake: member.looking || self.is(member.id, OnDuty::Shift),
            quiet: self.quiet_of(member),
        }
    }

    /// Somebody's own quiet hours, or the shop's by the shop's clock.
    fn quiet_of(&self, member: &Member) -> Option<Quiet> {
        if !member.own_quiet {
            return self
                .setting
                .ladders
                .quiet
                .map(|hours| Quiet { hours, zone: self.setting.zone });
        }
        let minute = |stored: Option<i16>| stored.and_then(|minute| u16::try_from(minute).ok());
        Some(Quiet {
            hours: Hours { from_min: minute(member.quiet_from)?, to_min: minute(member.quiet_to)? },
            zone: member.quiet_zone.as_deref().and_then(zone_of).unwrap_or(self.setting.zone),
        })
    }

    /// Everyone, with those who can take a job in the order in which they are asked.
    pub(crate) fn takers(&self, required: &[String], declined: &[Uuid]) -> Vec<Colleague<Uuid>> {
        // Without anybody on a rota nothing is known of who is at work.
        let known = !self.spells.is_empty();
        let technicians: Vec<Taker<Uuid>> = self
            .members
            .iter()
            .filter(|member| member.is("technician"))
            .map(|member| Taker {
                id: member.id,
                name: member.name.clone(),
                qualified: required.iter().all(|wanted| member.qualifications.contains(wanted)),
                on_leave: self.is(member.id, OnDuty::Leave),
                declined: declined.contains(&member.id),
                duty: known.then(|| self.duty_of(member.id)),
                on_a_job: member.on_a_job,
                asked_7d: u32::try_from(member.asked_7d).unwrap_or(u32::MAX),
            })
            .collect();
        let order = takers(&technicians);
        self.members
            .iter()
            .map(|member| {
                let place = order.iter().position(|id| *id == member.id);
                self.colleague(member, place, true)
            })
            .collect()
    }

    fn duty_of(&self, person: Uuid) -> Duty {
        if self.is(person, OnDuty::Shift) {
            Duty::OnShift
        } else if self.is(person, OnDuty::OnCall) {
            Duty::OnCall
        } else {
            Duty::Off
        }
    }
}

/// Who is down for what in a span.
async fn spells<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    from: DateTime<Utc>,
    to: DateTime<Utc>,
) -> Result<Vec<Spell>, StoreError> {
    let entries = rota::spans(conn, shop_id, from, to).await?;
    Ok(entries
        .into_iter()
        .map(|entry| Spell {
            person: entry.person_id,
            duty: match entry.kind {
                Kind::Shift => OnDuty::Shift,
                Kind::OnCall => OnDuty::OnCall,
                Kind::Second => OnDuty::Second,
                Kind::Leave => OnDuty::Leave,
            },
            start: entry.span.start,
            end: entry.span.end,
        })
        .collect())
}

/// Who answers for money in the managers' stead at a moment.
async fn delegates<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    at: DateTime<Utc>,
) -> Result<Vec<Uuid>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        person_id: Uuid,
    }
    let rows = Row::find_by_statement(sql(
        "SELECT DISTINCT person_id FROM approval_delegate_standing \
         WHERE shop_id = $1 AND at <= $2 AND until > $2",
        [shop_id.into(), at.into()],
    ))
    .all(conn)
    .await?;
    Ok(rows.into_iter().map(|row| row.person_id).collect())
}

async fn members<C: ConnectionTrait>(
    conn: &C,
    now: DateTime<Utc>,
    shop_id: Uuid,
) -> Result<Vec<Member>, StoreError> {
    Ok(Member::find_by_statement(sql(
        "SELECT person.id, person.name, person.roles, person.qualifications, \
             EXISTS (SELECT FROM assignment WHERE assignment.person_id = person.id \
                 AND assignment.ended_at IS NULL AND assignment.planned @> $2::timestamptz) \
                 AS on_a_job, \
             (SELECT count(*) FROM ladder_told JOIN ladder ON ladder.id = ladder_told.ladder_id \
                 WHERE ladder_told.person_id = person.id AND ladder_told.asked \
                 AND ladder_told.at > $2 - interval '7 days' AND ladder.kind = 'urgent_job') \
                 AS asked_7d, \
             EXISTS (SELECT FROM looking WHERE looking.person_id = person.id \
                 AND looking.until > $2) AS looking, \
             person_quiet.person_id IS NOT NULL AS own_quiet, \
             person_quiet.from_min AS quiet_from, person_quiet.to_min AS quiet_to, \
             person_quiet.zone AS quiet_zone \
         FROM person LEFT JOIN person_quiet ON person_quiet.person_id = person.id \
         WHERE person.shop_id = $1 AND person.active AND person.guest_link IS NULL \
         ORDER BY person.name, person.id",
        [shop_id.into(), now.into()],
    ))
    .all(conn)
    .await?)
}
