//! What two of the demo's calls turned out to be.
//!
//! Belongs here: the words on them. Does not belong here: how they are kept, which is the store's.

use engine::rates::Found;
use store::found::{self, How, NewWord, Was};
use store::{Caller, StoreError};
use uuid::Uuid;

use super::Telling;

impl Telling<'_> {
    /// Said last: the weekend's requests were made on the files' own odds and keep them, and what
    /// is measured from now on starts from these two calls.
    pub(super) async fn turned_out(&self, plug: Uuid, capacitor: Uuid) -> Result<(), StoreError> {
        let (rui, jonas) = (&self.people.rui, &self.people.jonas);
        let open = ("plug_c", "open");
        self.was(rui, plug, open, "The socket was burnt through; it is on my bench.").await?;
        self.was(jonas, capacitor, ("capacitor", "weak"), "18.6 of 40 µF. Started at once.").await
    }

    /// It ran afterwards.
    async fn was(
        &self,
        who: &Caller,
        job: Uuid,
        (part, mode): (&str, &str),
        note: &str,
    ) -> Result<(), StoreError> {
        let fault = Found::Fault { part: part.to_owned(), mode: mode.to_owned() };
        let word = NewWord { was: Was::Listed(fault), how: How::RunTest, note: note.to_owned() };
        found::add(self.store, who, job, word).await.map(drop)
    }
}
