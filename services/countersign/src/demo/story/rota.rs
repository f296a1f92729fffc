//! The demo's rota: nine weeks of shifts and turns on call, a swap that waits, leave asked for.
//!
//! Belongs here: who is on duty when in the story, relative to its end. Does not belong here: what
//! they do meanwhile.

use chrono::{Datelike as _, Days, NaiveDate};
use roster::calendar::{Settings, Span};
use roster::duty::Kind;
use roster::pattern::{Hours, Pattern, Slot, Turn};
use store::rota::leave::leave_ask;
use store::rota::pattern::{Apply, Meets, pattern_apply};
use store::rota::spans;
use store::rota::swap::{SwapNew, swap_offer};
use store::{Caller, StoreError, calendar};
use uuid::Uuid;

use super::Telling;

/// Weeks before this one, so that the quarter has something to show.
const WEEKS_BEFORE: u64 = 4;
/// Weeks in all.
const WEEKS: u32 = 10;
/// The working day.
const DAY: (u16, u16) = (8 * 60, 17 * 60);
/// On call passes on at the end of Friday.
const HANDOVER: Hours = Hours::WhileClosed { weekday: 4, minute: 17 * 60 };

impl Telling<'_> {
    /// The shop's calendar and its rota, as it stands when the story begins.
    pub(super) async fn rota(&self) -> Result<(), StoreError> {
        let owner = &self.people.ada;
        let settings =
            Settings { country: Some("United States".to_owned()), ..Settings::default() };
        let days = calendar::calendar_change(self.store, owner, settings).await?;
        // Mette is on call as the demo opens, whatever day of the week that is.
        let friday = on_or_before(days.date(self.now), 4);
        let handed_over = days.moment(friday, DAY.1) <= self.now;
        let back = 7 * (WEEKS_BEFORE + u64::from(!handed_over));
        let first_week = friday.checked_sub_days(Days::new(back)).unwrap_or(friday);
        let id = |who: &Caller| who.person_id;
        let (rui, mette, jonas) =
            (id(&self.people.rui), id(&self.people.mette), id(&self.people.jonas));
        let office = [rui, mette, jonas, id(&self.people.ada), id(&self.people.priya)];
        let slots = (0..5).map(|weekday| Slot { weekday, from_min: DAY.0, to_min: DAY.1 });
        let shifts = Hours::Slots(slots.collect());
        // In the fifth week it is the second of the three who has it.
        let first = [jonas, mette, rui];
        // Whoever has it for whom leaves Rui and Mette free to swap with each other.
        let second = [rui, jonas, jonas];
        for (kind, people, turn, hours) in [
            (Kind::Shift, office.to_vec(), Turn::Together, shifts),
            (Kind::OnCall, first.to_vec(), Turn::Weekly, HANDOVER),
            (Kind::Second, second.to_vec(), Turn::Weekly, HANDOVER),
        ] {
            self.fill(first_week, kind, people, turn, hours).await?;
        }
        Ok(())
    }

    /// What waits for an answer as the demo opens: an offer that is not over yet, and leave.
    pub(super) async fn agreements(&self) -> Result<(), StoreError> {
        let shop_id = self.people.mette.shop_id;
        let days = calendar::of_shop(self.store.conn(), shop_id).await?;
        self.swap_waiting(self.people.mette.person_id).await?;
        self.leave_waiting(days.date(self.now)).await
    }

    async fn fill(
        &self,
        first_week: NaiveDate,
        kind: Kind,
        people: Vec<Uuid>,
        turn: Turn,
        hours: Hours,
    ) -> Result<(), StoreError> {
        let pattern =
            Pattern { kind, first_week, weeks: WEEKS, people, turn, hours, not_on_holidays: true };
        let apply = Apply { pattern, meets: Meets::Refuse, dry_run: false };
        pattern_apply(self.store, &self.people.priya, apply).await?;
        Ok(())
    }

    /// Rui would rather have one of Mette's evenings than his next one.
    async fn swap_waiting(&self, mette: Uuid) -> Result<(), StoreError> {
        let shop_id = self.people.rui.shop_id;
        let from = self.now + chrono::TimeDelta::days(2);
        let entries =
            spans(self.store.conn(), shop_id, from, from + chrono::TimeDelta::days(40)).await?;
        let next = |whose: Uuid| {
            let ahead =
                entries.iter().filter(|one| one.kind == Kind::OnCall && one.span.start > from);
            // A single evening and the night after it, so that both are as long as each other.
            ahead.filter(|one| one.span.minutes() == 15 * 60).find(|one| one.person_id == whose)
        };
        let (Some(offered), Some(wanted)) = (next(self.people.rui.person_id), next(mette)) else {
            return Err(StoreError::NotFound { what: "evening on call" });
        };
        let new = SwapNew {
            entry_id: offered.id,
            to: Some(mette),
            wanted_id: Some(wanted.id),
            note: "My daughter plays that evening.".to_owned(),
        };
        swap_offer(self.store, &self.people.rui, new).await?;
        Ok(())
    }

    /// Jonas asks for three days, some weeks ahead.
    async fn leave_waiting(&self, today: NaiveDate) -> Result<(), StoreError> {
        let days = calendar::of_shop(self.store.conn(), self.people.jonas.shop_id).await?;
        let monday = on_or_before(today, 0).checked_add_days(Days::new(21)).unwrap_or(today);
        let span = Span::new(days.moment(monday, 0), days.moment(monday, 3 * 24 * 60));
        leave_ask(self.store, &self.people.jonas, span, "Moving house.").await?;
        Ok(())
    }
}

/// The last such weekday, 0 for Monday, that is not after a day.
fn on_or_before(date: NaiveDate, weekday: u32) -> NaiveDate {
    let back = (date.weekday().num_days_from_monday() + 7 - weekday) % 7;
    date.checked_sub_days(Days::new(u64::from(back))).unwrap_or(date)
}
