//! The shop's people, as far as asking them about a request goes.
//!
//! Belongs here: what the ranking is made from, and the ranking of one request's readers. Does
//! not belong here: the order itself ([`roster::reader`]), and asking ([`super::ask`]).

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use engine::gate;
use roster::calendar::zone;
use roster::duty::Kind;
use roster::reader::{Asked, Candidate, Duty, mean_answer_min, readers};
use sea_orm::{ConnectionTrait, FromQueryResult};
use uuid::Uuid;

use super::{Request, person_id};
use crate::db::sql;
use crate::error::StoreError;
use crate::evidence::Named;
use crate::rota::{DutyAt, duty_at};

/// How many of a requester's last reads the pair is judged by.
const PAIR_READS: i64 = 8;

/// Longest time, in minutes, that one unanswered ask counts for: nobody is slow for sleeping.
const WAIT_COUNTED_MIN_MAX: f64 = 60.0;

/// Days of asks that say how soon somebody answers.
const HISTORY_DAYS: i32 = 90;

/// One of the shop's active people; guests are none.
#[derive(Clone, Debug, FromQueryResult)]
pub(super) struct Colleague {
    pub(super) id: Uuid,
    pub(super) name: String,
    roles: Vec<String>,
    qualifications: Vec<String>,
    open_reads: i64,
    last_asked_at: Option<DateTime<Utc>>,
    answers: i64,
    waited_min: f64,
    asked_7d: i64,
    on_a_job: bool,
}

/// The shop's people with who has read for whom.
#[derive(Debug)]
pub(super) struct People {
    pub(super) all: Vec<Colleague>,
    /// Requester and reader: how many of the requester's last reads were that reader's.
    pairs: BTreeMap<(Uuid, Uuid), u32>,
    /// Who declined which request on which evidence.
    declined: Vec<Declined>,
    /// Who is on duty now.
    duty: DutyAt,
    /// The zone of each request's site.
    zones: BTreeMap<Uuid, String>,
}

#[derive(Debug, FromQueryResult)]
struct Declined {
    request_id: Uuid,
    person_id: Uuid,
    digest: String,
}

impl Colleague {
    fn is(&self, role: &str) -> bool {
        self.roles.iter().any(|held| held == role)
    }

    /// Whether they are asked about money and staffing.
    pub(super) fn manages(&self) -> bool {
        self.is("service_manager") || self.is("owner")
    }

    /// As the gate knows them for a request.
    pub(super) fn person(&self, request: &Request) -> gate::Person {
        gate::Person {
            id: person_id(self.id),
            technician: self.is("technician"),
            manager: self.manages() || request.delegates.contains(&self.id),
            qualified: request
                .qualification
                .as_ref()
                .is_none_or(|wanted| self.qualifications.contains(wanted)),
        }
    }

    pub(super) fn named(&self) -> Named {
        Named { id: self.id, name: self.name.clone() }
    }
}

impl People {
    /// Everyone, for ranking the readers of these requests.
    pub(super) async fn of<C: ConnectionTrait>(
        conn: &C,
        now: DateTime<Utc>,
        shop_id: Uuid,
        requests: &[&Request],
    ) -> Result<Self, StoreError> {
        let requesters: Vec<Uuid> = requests.iter().map(|request| request.requester.id).collect();
        let ids: Vec<Uuid> = requests.iter().map(|request| request.id).collect();
        Ok(People {
            all: colleagues(conn, now, shop_id).await?,
            pairs: pairs(conn, requesters).await?,
            duty: duty_at(conn, shop_id, now).await?,
            zones: zones(conn, &ids).await?,
            declined: Declined::find_by_statement(sql(
                "SELECT request_id, person_id, digest FROM reader_ask \
                 WHERE request_id = ANY($1) AND answer = 'declined'",
                [ids.into()],
            ))
            .all(conn)
            .await?,
        })
    }

    /// Who may read a request, in the order in which they are asked, and who may not and why.
    pub(super) fn readers_of(&self, request: &Request) -> Asked<Uuid> {
        let rules = &request.gate;
        let requester = request.requester.id;
        let reads_of_requester = self
            .pairs
            .iter()
            .filter(|((whose, _), _)| *whose == requester)
            .map(|(_, count)| *count)
            .sum();
        let candidates = self
            .all
            .iter()
            .map(|one| {
                let id = person_id(one.id);
                let duty = self.duty_of(one);
                Candidate {
                    id: one.id,
                    active: true,
                    technician: one.is("technician"),
                    qualifications: one.qualifications.clone(),
                    requester: id == rules.requester,
                    took_reading: rules.reading_takers.contains(&id),
                    stood_aside: rules.stood_aside.contains(&id),
                    has_read: rules.has_read_current(id),
                    declined: self.declined(request, one.id),
                    duty,
                    duty_until: self.duty_until(one, request, duty),
                    on_leave: self.is(one, Kind::Leave),
                    on_a_job: one.on_a_job,
                    open_reads: count(one.open_reads),
                    answers: count(one.answers),
                    waited_min: one.waited_min,
                    asked_7d: count(one.asked_7d),
                    last_asked_at: one.last_asked_at,
                    read_for_requester: self.pairs.get(&(requester, one.id)).copied().unwrap_or(0),
                    reads_of_requester,
                }
            })
            .collect();
        readers(candidates, request.qualification.as_deref())
    }

    /// Whether the rota has somebody down for this now.
    fn is(&self, one: &Colleague, kind: Kind) -> bool {
        self.duty.of(one.id).is_some_and(|is| is.kind == kind)
    }

    /// Whether somebody is at work. Whoever has a job planned now is, whatever the rota says; in
    /// a shop without a rota no more than that is known.
    fn duty_of(&self, one: &Colleague) -> Option<Duty> {
        match self.duty.of(one.id).filter(|is| is.can_be_called) {
            Some(is) if is.kind == Kind::Shift => Some(Duty::OnShift),
            _ if one.on_a_job => Some(Duty::OnShift),
            Some(_) => Some(Duty::OnCall),
            None => self.duty.known.then_some(Duty::Off),
        }
    }

    /// Until when, by the wall of the request's site.
    fn duty_until(&self, one: &Colleague, request: &Request, duty: Option<Duty>) -> Option<String> {
        let is = self.duty.of(one.id).filter(|is| is.can_be_called)?;
        let as_said = match duty? {
            Duty::OnShift => is.kind == Kind::Shift,
            Duty::OnCall => true,
            Duty::Off => false,
        };
        let zone = zone::by_name(self.zones.get(&request.id)?)?;
        as_said.then(|| zone::says(zone, is.stretch.end))
    }

    /// Who may answer for the money.
    pub(super) fn approvers_of(&self, request: &Request) -> Vec<&Colleague> {
        self.all
            .iter()
            .filter(|one| gate::could_approve(&request.gate, &one.person(request)))
            .collect()
    }

    pub(super) fn named(&self, id: Uuid) -> Option<Named> {
        self.all.iter().find(|one| one.id == id).map(Colleague::named)
    }

    fn declined(&self, request: &Request, person: Uuid) -> bool {
        self.declined.iter().any(|one| {
            one.request_id == request.id && one.person_id == person && one.digest == request.digest
        })
    }
}

fn count(counted: i64) -> u32 {
    u32::try_from(counted).unwrap_or(u32::MAX)
}

/// How soon one of the shop's people answers when asked for a second read.
#[derive(Clone, Debug)]
pub(crate) struct Habit {
    pub(crate) id: Uuid,
    pub(crate) technician: bool,
    pub(crate) qualifications: Vec<String>,
    /// On average, minutes.
    pub(crate) answers_in_min: f64,
}

/// The habits of everybody at work, as their asks of the last [`HISTORY_DAYS`] days say.
///
/// # Errors
/// When the database fails.
pub(crate) async fn habits<C: ConnectionTrait>(
    conn: &C,
    now: DateTime<Utc>,
    shop_id: Uuid,
) -> Result<Vec<Habit>, StoreError> {
    let all = colleagues(conn, now, shop_id).await?;
    let habit = |one: Colleague| Habit {
        id: one.id,
        technician: one.is("technician"),
        answers_in_min: mean_answer_min(count(one.answers), one.waited_min),
        qualifications: one.qualifications,
    };
    Ok(all.into_iter().map(habit).collect())
}

async fn colleagues<C: ConnectionTrait>(
    conn: &C,
    now: DateTime<Utc>,
    shop_id: Uuid,
) -> Result<Vec<Colleague>, StoreError> {
    Ok(Colleague::find_by_statement(sql(
        "SELECT person.id, person.name, person.roles, person.qualifications, \
             (SELECT count(*) FROM condemn_request WHERE condemn_request.reader = person.id \
                 AND condemn_request.state IN ('reading', 'revealed')) AS open_reads, \
             EXISTS (SELECT FROM assignment WHERE assignment.person_id = person.id \
                 AND assignment.ended_at IS NULL AND assignment.planned @> $2::timestamptz) \
                 AS on_a_job, \
             asks.last_asked_at, asks.answers, asks.waited_min, asks.asked_7d \
         FROM person CROSS JOIN LATERAL ( \
             SELECT max(asked_at) AS last_asked_at, \
                 count(*) FILTER (WHERE answer IN ('accepted', 'declined')) AS answers, \
                 coalesce(sum(least(greatest(extract(epoch FROM \
                     coalesce(answered_at, $2) - asked_at) / 60, 0), $3)), 0)::float8 \
                     AS waited_min, \
                 count(*) FILTER (WHERE asked_at > $2 - interval '7 days') AS asked_7d \
             FROM reader_ask WHERE reader_ask.person_id = person.id \
                 AND asked_at > $2 - make_interval(days => $4) \
         ) AS asks \
         WHERE person.shop_id = $1 AND person.active AND person.guest_link IS NULL \
         ORDER BY person.name, person.id",
        [shop_id.into(), now.into(), WAIT_COUNTED_MIN_MAX.into(), HISTORY_DAYS.into()],
    ))
    .all(conn)
    .await?)
}

async fn zones<C: ConnectionTrait>(
    conn: &C,
    requests: &[Uuid],
) -> Result<BTreeMap<Uuid, String>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        id: Uuid,
        zone: String,
    }
    let rows = Row::find_by_statement(sql(
        "SELECT condemn_request.id, site.zone FROM condemn_request \
         JOIN job ON job.id = condemn_request.job_id JOIN unit ON unit.id = job.unit_id \
         JOIN site ON site.id = unit.site_id WHERE condemn_request.id = ANY($1)",
        [requests.to_vec().into()],
    ))
    .all(conn)
    .await?;
    Ok(rows.into_iter().map(|row| (row.id, row.zone)).collect())
}

async fn pairs<C: ConnectionTrait>(
    conn: &C,
    requesters: Vec<Uuid>,
) -> Result<BTreeMap<(Uuid, Uuid), u32>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        requester: Uuid,
        reader: Uuid,
        reads: i64,
    }
    let rows = Row::find_by_statement(sql(
        "SELECT requester, reader, count(*) AS reads FROM ( \
             SELECT request.requester, blind_read.reader, row_number() OVER ( \
                 PARTITION BY request.requester ORDER BY blind_read.at DESC) AS age \
             FROM blind_read JOIN condemn_request AS request ON request.id = blind_read.request_id \
             WHERE request.requester = ANY($1) \
         ) AS last WHERE age <= $2 GROUP BY requester, reader",
        [requesters.into(), PAIR_READS.into()],
    ))
    .all(conn)
    .await?;
    Ok(rows.into_iter().map(|row| ((row.requester, row.reader), count(row.reads))).collect())
}
