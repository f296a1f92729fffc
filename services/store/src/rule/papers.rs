//! Second reads and approvals that waited in a span that was, for a rule's trial.
//!
//! Belongs here: reading them from ladders and the record, with those who might have answered and
//! how soon they do. Does not belong here: what a rule makes of them
//! ([`roster::rules::rehearse::papers`]).

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use roster::ladder::{Kind as Ladder, Variant, Who};
use roster::rules::rehearse::papers::{Kind, MayAnswer, Paper, Papers};
use sea_orm::{ConnectionTrait, FromQueryResult};
use uuid::Uuid;

use crate::capacity::days::When;
use crate::db::sql;
use crate::error::StoreError;
use crate::ladder::setting;
use crate::request::{Habit, habits};

/// Most papers of a span that are played, the first; a shop has a handful on a weekend.
const PAPERS_MAX: i64 = 500;

#[derive(FromQueryResult)]
struct Row {
    kind: String,
    request_id: Uuid,
    requester: Uuid,
    reader: Option<Uuid>,
    /// Who took readings on the job.
    takers: Vec<Uuid>,
    qualification: Option<String>,
    from: DateTime<Utc>,
    until: Option<DateTime<Utc>>,
    amount_cents: i64,
}

#[derive(FromQueryResult)]
struct AskRow {
    request_id: Uuid,
    person_id: Uuid,
    asked_at: DateTime<Utc>,
}

impl Row {
    /// Neither is who asked, nor whoever read or measured.
    fn apart(&self, id: Uuid) -> bool {
        id != self.requester && Some(id) != self.reader && !self.takers.contains(&id)
    }

    fn may_read(&self, one: &Habit) -> bool {
        let qualified =
            self.qualification.as_ref().is_none_or(|wanted| one.qualifications.contains(wanted));
        // Whoever read it in the end was one of those who may.
        one.technician && qualified && (self.apart(one.id) || self.reader == Some(one.id))
    }
}

/// The papers of a span.
///
/// # Errors
/// When the database fails.
pub(super) async fn papers<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    now: DateTime<Utc>,
    span: When,
) -> Result<Papers, StoreError> {
    let rows = Row::find_by_statement(sql(
        "SELECT paper.kind, request.id AS request_id, request.requester, request.reader, \
             ARRAY(SELECT DISTINCT taken_by FROM reading WHERE reading.job_id = request.job_id) \
                 AS takers, \
             request.qualification, paper.from, paper.until, \
             request.estimated_cost_cents AS amount_cents \
         FROM ( \
             SELECT 'read' AS kind, ladder.subject_id AS id, ladder.started_at AS \"from\", \
                 ladder.stopped_at AS until \
             FROM ladder WHERE ladder.shop_id = $1 AND ladder.kind = 'second_read' \
             UNION ALL \
             SELECT 'approval', entry.subject_id, entry.at, \
                 (SELECT min(approval.at) FROM approval WHERE approval.request_id = \
                     entry.subject_id AND approval.at >= entry.at) \
             FROM record_entry AS entry \
             WHERE entry.shop_id = $1 AND entry.kind = 'approval_asked' \
         ) AS paper JOIN condemn_request AS request \
             ON request.id = paper.id AND request.shop_id = $1 \
         WHERE paper.from < $3 AND coalesce(paper.until, 'infinity') > $2 \
         ORDER BY paper.from, paper.id LIMIT $4",
        [shop_id.into(), span.start.into(), span.end().into(), PAPERS_MAX.into()],
    ))
    .all(conn)
    .await?;
    let ids: Vec<Uuid> = rows.iter().map(|row| row.request_id).collect();
    let asks = AskRow::find_by_statement(sql(
        "SELECT request_id, person_id, min(asked_at) AS asked_at FROM reader_ask \
         WHERE request_id = ANY($1) GROUP BY request_id, person_id",
        [ids.into()],
    ))
    .all(conn)
    .await?;
    let asked: BTreeMap<(Uuid, Uuid), DateTime<Utc>> =
        asks.into_iter().map(|ask| ((ask.request_id, ask.person_id), ask.asked_at)).collect();
    let people = habits(conn, now, shop_id).await?;
    let minutes = |at: DateTime<Utc>| (at - span.start).num_seconds() as f64 / 60.0;
    let all = rows
        .iter()
        .map(|row| {
            let read = row.kind == "read";
            let may = people
                .iter()
                .filter(|one| if read { row.may_read(one) } else { row.apart(one.id) })
                .map(|one| MayAnswer {
                    id: one.id.to_string(),
                    asked_min: asked
                        .get(&(row.request_id, one.id))
                        .filter(|_| read)
                        .map(|at| minutes(*at)),
                    mean_min: one.answers_in_min,
                })
                .collect();
            Paper {
                kind: if read { Kind::Read } else { Kind::Approval },
                from_min: minutes(row.from),
                until_min: row.until.map(minutes),
                amount_cents: if read { 0 } else { row.amount_cents },
                may,
            }
        })
        .collect();
    let ladders = setting::of_shop(conn, shop_id).await?.ladders;
    let steps = ladders.of(Ladder::Approval).on(Variant::Weekend);
    let delegate_after_min = steps
        .iter()
        .find(|step| step.who.contains(&Who::Delegate))
        .map(|step| f64::from(step.after_min));
    Ok(Papers { all, delegate_after_min })
}
