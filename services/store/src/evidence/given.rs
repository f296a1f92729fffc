//! A case that a caller brings along, judged without being kept.
//!
//! Belongs here: who may have one judged while a request waits for a blind read. Does not
//! belong here: running the engine ([`super::judge`]), and a job's own evidence.

use engine::case::Case;
use engine::gate::State;
use engine::verdict::Verdict;
use sea_orm::ConnectionTrait as _;

use super::judge;
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::person::Caller;
use crate::request::{self, Filter};

/// Judges a case that came from outside, for whoever it cannot lead.
///
/// The readings of a job are shown to whoever reads it blind, so they could be pasted here and
/// the engine's conclusion had before their own. Two rules keep it from them: who owes a blind
/// read gets nothing judged, since a number changed in passing would get around anything finer;
/// who could still be asked for one gets nothing judged on that request's circuit.
///
/// # Errors
/// `Forbidden` with "blind-first" where it could lead the caller; `InvalidMany` with everything
/// that is wrong with the case.
pub async fn judge_given(
    store: &Store,
    caller: &Caller,
    case: Case,
) -> Result<Verdict, StoreError> {
    let owes = store
        .conn()
        .query_one_raw(sql(
            "SELECT 1 FROM condemn_request \
             WHERE shop_id = $1 AND reader = $2 AND state = 'reading' LIMIT 1",
            [caller.shop_id.into(), caller.person_id.into()],
        ))
        .await?;
    if owes.is_some() {
        return Err(blind_first(
            "You owe a blind read on an open request. Cases are judged for you again once your own \
             judgement is in, so that the engine does not lead you."
                .to_owned(),
        ));
    }
    let open = State::ALL.into_iter().filter(|state| !state.ended()).collect();
    let requests =
        request::list(store.conn(), store.now(), caller.shop_id, Filter::InStates(open)).await?;
    let waits = requests.iter().any(|request| {
        let same = request.circuit_name == case.circuit
            || case.circuit_text.as_ref() == Some(&request.circuit_text);
        same && request.hidden_while_open(caller)
            && !request.gate.reading_takers.contains(&request.person(caller).id)
    });
    if waits {
        return Err(blind_first(format!(
            "A request on a {} is open, and you may be asked to read it blind. Cases on that \
             circuit are judged for you once it has ended, your own judgement is in, or you have \
             stood aside.",
            case.circuit
        )));
    }
    judge::run_given(case).await
}

fn blind_first(says: String) -> StoreError {
    StoreError::Forbidden { code: "blind-first", says }
}
