//! Searching what was said on every job of the shop.
//!
//! Belongs here: finding, ranking, and the words around a hit. Does not belong here: reading a
//! thread. What a caller may not read in a thread, a search does not find either.

use chrono::{DateTime, Utc};
use sea_orm::FromQueryResult;
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::person::Caller;

/// Longest thing searched for, characters; a longer one is refused.
pub const QUERY_CHARS_MAX: usize = 200;

/// Hits in one answer, best first.
pub const HITS_MAX: i64 = 50;

/// Around a word that was searched for in a snippet. From the private use area, so that what
/// people write cannot look like it; what does is taken out.
const HIT_START: char = '\u{E000}';
const HIT_END: char = '\u{E001}';

/// A message that was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Hit {
    /// The job it was said on.
    pub job_id: Uuid,
    /// That job's number.
    pub job_number: i32,
    /// What was wrong there.
    pub complaint: String,
    /// The unit's label.
    pub unit_label: String,
    /// The message's number in its thread.
    pub seq: i64,
    /// Who wrote it; nobody for the service.
    pub author: Option<String>,
    /// When.
    pub at: DateTime<Utc>,
    /// The words around what was found, in pieces: text, and whether it is what was searched.
    pub snippet: Vec<(String, bool)>,
}

/// The messages of the shop that hold these words, best first. Words are matched by their
/// stem; "quoted words" must follow each other; -word must not be there.
///
/// # Errors
/// `Invalid` for too much to search for; for nothing, nothing is found.
pub async fn search(store: &Store, caller: &Caller, query: &str) -> Result<Vec<Hit>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        job_id: Uuid,
        number: i32,
        complaint: String,
        label: String,
        seq: i64,
        author_name: Option<String>,
        at: DateTime<Utc>,
        snippet: String,
    }
    let query = query.trim();
    if query.chars().count() > QUERY_CHARS_MAX || query.contains('\0') {
        return Err(StoreError::invalid(
            "/q",
            format!("Search for at most {QUERY_CHARS_MAX} characters."),
        ));
    }
    if query.is_empty() || caller.guest.is_some() {
        return Ok(Vec::new());
    }
    let rows = Row::find_by_statement(sql(
        "WITH asked AS (SELECT websearch_to_tsquery('english', $3) AS words), \
         found AS (SELECT message.*, thread.job_id, \
                 ts_rank_cd(to_tsvector('english'::regconfig, message_words(message.body)), \
                     asked.words) AS rank \
             FROM message JOIN thread ON thread.id = message.thread_id, asked \
             WHERE message.shop_id = $1 \
                 AND to_tsvector('english'::regconfig, message_words(message.body)) \
                     @@ asked.words \
                 AND NOT EXISTS (SELECT FROM condemn_request \
                     WHERE condemn_request.job_id = thread.job_id \
                     AND condemn_request.state = 'reading' AND condemn_request.reader = $2) \
             ORDER BY rank DESC, message.at DESC, message.id LIMIT $4) \
         SELECT found.job_id, job.number, job.complaint, unit.label, found.seq, \
             person.name AS author_name, found.at, \
             ts_headline('english', translate(message_words(found.body), $5, ''), asked.words, \
                 'MaxWords=30, MinWords=12, MaxFragments=2, FragmentDelimiter=\" … \", \
                  StartSel=' || left($5, 1) || ', StopSel=' || right($5, 1)) AS snippet \
         FROM found JOIN job ON job.id = found.job_id JOIN unit ON unit.id = job.unit_id \
         LEFT JOIN person ON person.id = found.author, asked \
         ORDER BY found.rank DESC, found.at DESC, found.id",
        [
            caller.shop_id.into(),
            caller.person_id.into(),
            query.into(),
            HITS_MAX.into(),
            String::from_iter([HIT_START, HIT_END]).into(),
        ],
    ))
    .all(store.conn())
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| Hit {
            job_id: row.job_id,
            job_number: row.number,
            complaint: row.complaint,
            unit_label: row.label,
            seq: row.seq,
            author: row.author_name,
            at: row.at,
            snippet: pieces(&row.snippet),
        })
        .collect())
}

/// A snippet cut at its marks.
fn pieces(snippet: &str) -> Vec<(String, bool)> {
    let mut pieces = Vec::new();
    for (at, part) in snippet.trim().split(HIT_START).enumerate() {
        let (hit, plain) = match part.split_once(HIT_END) {
            Some((hit, plain)) if at > 0 => (hit, plain),
            _ => ("", part),
        };
        for (text, is_hit) in [(hit, true), (plain, false)] {
            if !text.is_empty() {
                pieces.push((text.to_owned(), is_hit));
            }
        }
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_snippet_is_cut_at_its_marks() {
        let cut = pieces("read it at the \u{E000}pins\u{E001} with the \u{E000}plug\u{E001} off");

        let hits: Vec<&str> = cut.iter().filter(|(_, hit)| *hit).map(|(text, _)| &**text).collect();
        assert_eq!(hits, ["pins", "plug"]);
        assert_eq!(cut.len(), 5);
    }
}
