//! The demo's guest reader: from a link to a session, through the same doors as a real one.
//!
//! Belongs here: how a guest of the story comes in. Does not belong here: what they judge.

use sea_orm::{ConnectionTrait as _, DbBackend, Statement};
use store::guest::{self, LinkNew};
use store::{Caller, StoreError};
use uuid::Uuid;

use super::Telling;

/// How long the story's link is good, hours.
const LINK_HOURS: i64 = 48;

impl Telling<'_> {
    /// Somebody makes a link, and the guest comes in by it with the code that was mailed.
    pub(super) async fn guest(
        &self,
        inviter: &Caller,
        request_id: Uuid,
        email: &str,
    ) -> Result<Caller, StoreError> {
        self.later(6);
        let new = LinkNew {
            meant_for: "Rosa Lind, Northgate".to_owned(),
            hours: LINK_HOURS,
            mail_to: Some(email.to_owned()),
        };
        let (_, token) = guest::link_make(self.store, inviter, request_id, new).await?;
        self.later(9);
        guest::code_send(self.store, &token, "Rosa Lind", "NG-4471", email).await?;
        self.later(1);
        let code = self.code_in_the_mail(email).await?;
        let entered = guest::code_verify(self.store, &token, &code, "the demo").await?;
        guest::caller_by_token(self.store, &entered.token).await
    }

    /// The story has no mail server, so it reads the letter before it is posted.
    async fn code_in_the_mail(&self, email: &str) -> Result<String, StoreError> {
        let statement = Statement::from_sql_and_values(
            DbBackend::Postgres,
            "SELECT payload -> 'data' ->> 'code' AS code FROM outbox \
             WHERE payload ->> 'to_email' = $1 AND payload ->> 'template' = 'guest_code' \
             ORDER BY created_at DESC LIMIT 1",
            [email.into()],
        );
        let row = self.store.conn().query_one_raw(statement).await?;
        let code = row.and_then(|row| row.try_get::<String>("", "code").ok());
        code.ok_or(StoreError::NotFound { what: "code" })
    }
}
