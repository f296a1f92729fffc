//! Evenness: what a quarter holds for each, against the even share.
//!
//! Belongs here: weekend hours, nights, holidays, call-outs per person, and what each would have
//! if all was shared by the days they are there. Does not belong here: who should be put down
//! next (a plan's), and rest ([`crate::rest`]).
//!
//! Counted are shifts and time on call. The second rota counts for nothing until it is opened,
//! and then by its call-outs.

use chrono::Datelike as _;
use serde::{Deserialize, Serialize};

use crate::calendar::{Calendar, Span};
use crate::duty::{self, Entry, Kind};

/// What one call-out weighs beside hours on a weekend, in hours: most of an evening. Common
/// practice, no source.
pub const CALL_OUT_H: f64 = 2.0;

/// What one night on duty weighs beside them, in hours. Common practice, no source.
pub const NIGHT_H: f64 = 2.0;

/// Nearer to an even share than this is even, in hours: a call-out more or less.
const EVEN_H: f64 = CALL_OUT_H;

/// What a person has in a quarter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Person<Id> {
    /// Who.
    pub id: Id,
    /// Their entries.
    pub entries: Vec<Entry>,
    /// The calls they went out for while on call.
    pub call_outs: Vec<Span>,
}

/// Four counts of the same quarter.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Load {
    /// Hours on duty on Saturdays and Sundays.
    pub weekend_h: f64,
    /// Nights on duty: [`duty::nights`].
    pub nights: f64,
    /// Hours on duty on holidays that are no Saturday or Sunday.
    pub holiday_h: f64,
    /// Calls they went out for while on call.
    pub call_outs: f64,
}

impl Load {
    /// One number for a planner, in hours: weekends, holidays, nights at [`NIGHT_H`] and call-outs
    /// at [`CALL_OUT_H`].
    #[must_use]
    pub fn burden_h(self) -> f64 {
        self.weekend_h + self.holiday_h + NIGHT_H * self.nights + CALL_OUT_H * self.call_outs
    }

    fn plus(self, other: Load) -> Load {
        Load {
            weekend_h: self.weekend_h + other.weekend_h,
            nights: self.nights + other.nights,
            holiday_h: self.holiday_h + other.holiday_h,
            call_outs: self.call_outs + other.call_outs,
        }
    }

    fn times(self, factor: f64) -> Load {
        Load {
            weekend_h: self.weekend_h * factor,
            nights: self.nights * factor,
            holiday_h: self.holiday_h * factor,
            call_outs: self.call_outs * factor,
        }
    }
}

/// What a quarter holds for somebody.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Burden<Id> {
    /// Who.
    pub id: Id,
    /// Days of the quarter on which they are not on leave for half of it or more.
    pub days_available: u32,
    /// What they have.
    pub has: Load,
    /// What they would have if everything was shared by days available.
    pub share: Load,
}

impl<Id> Burden<Id> {
    /// How far above an even share they are, in hours; negative below it. Whoever was away for
    /// long has little and a small share, and so owes nothing when they come back.
    #[must_use]
    pub fn over_h(&self) -> f64 {
        self.has.burden_h() - self.share.burden_h()
    }

    /// In words: "26 h, 6 h above an even share of 20 h".
    #[must_use]
    pub fn words(&self) -> String {
        let (has_h, share_h, over_h) = (self.has.burden_h(), self.share.burden_h(), self.over_h());
        let side = if over_h > 0.0 { "above" } else { "below" };
        if over_h.abs() < EVEN_H {
            format!("{has_h:.0} h, about an even share")
        } else {
            format!("{has_h:.0} h, {:.0} h {side} an even share of {share_h:.0} h", over_h.abs())
        }
    }
}

/// The same quarter with so many call-outs more for each, in the same order; who has none named
/// gets none. The even shares grow along.
#[must_use]
pub fn with_call_outs<Id: Clone>(burdens: &[Burden<Id>], more: &[u32]) -> Vec<Burden<Id>> {
    let more = more.iter().copied().chain(std::iter::repeat(0));
    let counted = burdens.iter().zip(more).map(|(one, more)| {
        let added = Load { call_outs: f64::from(more), ..Load::default() };
        (one.id.clone(), one.days_available, one.has.plus(added))
    });
    shared(counted.collect())
}

/// What a quarter holds for each.
#[must_use]
pub fn burdens<Id>(calendar: &Calendar, quarter: Span, people: Vec<Person<Id>>) -> Vec<Burden<Id>> {
    let days = calendar.dates(quarter);
    let counted: Vec<(Id, u32, Load)> = people
        .into_iter()
        .map(|person| {
            let leave = duty::spans_of(&person.entries, &[Kind::Leave]);
            let available = days.iter().filter(|date| {
                let day = calendar.day(**date);
                let away: i64 =
                    leave.iter().filter_map(|span| span.cut(day)).map(Span::minutes).sum();
                2 * away < day.minutes()
            });
            let available = u32::try_from(available.count()).unwrap_or(u32::MAX);
            let load = load(calendar, quarter, &person);
            (person.id, available, load)
        })
        .collect();
    shared(counted)
}

/// Each beside an even share of all together.
fn shared<Id>(counted: Vec<(Id, u32, Load)>) -> Vec<Burden<Id>> {
    let total = counted.iter().fold(Load::default(), |sum, (_, _, load)| sum.plus(*load));
    let available: u32 = counted.iter().map(|(_, days, _)| days).sum();
    counted
        .into_iter()
        .map(|(id, days_available, has)| {
            let factor =
                if available == 0 { 0.0 } else { f64::from(days_available) / f64::from(available) };
            Burden { id, days_available, has, share: total.times(factor) }
        })
        .collect()
}

fn load<Id>(calendar: &Calendar, quarter: Span, person: &Person<Id>) -> Load {
    let on_duty: Vec<Span> = duty::spans_of(&person.entries, &[Kind::Shift, Kind::OnCall])
        .into_iter()
        .filter_map(|span| span.cut(quarter))
        .collect();
    let (mut weekend_min, mut holiday_min) = (0, 0);
    for span in &on_duty {
        for date in calendar.dates(*span) {
            let minutes = span.cut(calendar.day(date)).map_or(0, Span::minutes);
            if date.weekday().num_days_from_monday() >= 5 {
                weekend_min += minutes;
            } else if calendar.holiday(date).is_some() {
                holiday_min += minutes;
            }
        }
    }
    let first = calendar.date(quarter.start);
    let nights = duty::nights(calendar, &on_duty).into_iter().filter(|date| *date >= first).count();
    let call_outs = person.call_outs.iter().filter(|span| quarter.holds(span.start)).count();
    Load {
        weekend_h: hours(weekend_min),
        nights: count(nights),
        holiday_h: hours(holiday_min),
        call_outs: count(call_outs),
    }
}

fn hours(minutes: i64) -> f64 {
    // A quarter's minutes are far within what a float holds exactly.
    minutes as f64 / 60.0
}

fn count(counted: usize) -> f64 {
    f64::from(u32::try_from(counted).unwrap_or(u32::MAX))
}

#[cfg(test)]
mod tests {
    use chrono::{DateTime, TimeDelta, Utc};
    use proptest::prelude::*;

    use super::*;
    use crate::calendar::Settings;

    fn calendar() -> Calendar {
        let settings = Settings { country: Some("United States".into()), ..Settings::default() };
        Calendar::new("America/Denver", settings).unwrap()
    }

    fn quarter() -> Span {
        calendar().quarter(calendar().moment("2026-11-15".parse().unwrap(), 0)).1
    }

    fn at(date: &str, hour: u16) -> DateTime<Utc> {
        calendar().moment(date.parse().unwrap(), hour * 60)
    }

    fn on_call(from: DateTime<Utc>, to: DateTime<Utc>) -> Entry {
        Entry::new(Kind::OnCall, Span::new(from, to))
    }

    #[test]
    fn weekends_nights_holidays_and_call_outs_are_counted_by_the_wall() {
        let people = vec![
            // Thanksgiving from Wednesday evening to Friday morning.
            Person {
                id: 'r',
                entries: vec![on_call(at("2026-11-25", 17), at("2026-11-27", 8))],
                call_outs: vec![Span::new(at("2026-11-26", 3), at("2026-11-26", 5))],
            },
            // A weekend on which the clocks go back: an hour more.
            Person {
                id: 'm',
                entries: vec![on_call(at("2026-10-30", 17), at("2026-11-02", 8))],
                call_outs: vec![],
            },
        ];
        let found = burdens(&calendar(), quarter(), people);
        let load = |weekend_h, nights, holiday_h, call_outs| Load {
            weekend_h,
            nights,
            holiday_h,
            call_outs,
        };
        assert_eq!(found[0].has, load(0.0, 2.0, 24.0, 1.0));
        assert_eq!(found[1].has, load(49.0, 3.0, 0.0, 0.0));
        assert_eq!(found[0].days_available, 92);
        assert_eq!(found[0].share, load(24.5, 2.5, 12.0, 0.5));
        assert_eq!(found[0].has.burden_h(), 26.0 + NIGHT_H * found[0].has.nights);
    }

    #[test]
    fn whoever_is_away_for_half_a_quarter_has_half_a_share() {
        let leave = Entry::new(Kind::Leave, Span::new(at("2026-10-01", 0), at("2026-11-16", 0)));
        let weekend = on_call(at("2026-12-05", 0), at("2026-12-07", 0));
        let people = vec![
            Person { id: 1, entries: vec![leave], call_outs: vec![] },
            Person { id: 2, entries: vec![weekend], call_outs: vec![] },
        ];
        let found = burdens(&calendar(), quarter(), people);
        assert_eq!((found[0].days_available, found[1].days_available), (46, 92));
        assert_eq!((found[0].share.weekend_h, found[1].share.weekend_h), (16.0, 32.0));
    }

    proptest! {
        /// All shares together are all there is, whoever has it.
        #[test]
        fn shares_add_up(spans in prop::collection::vec((0i64..2000, 1i64..60, 0usize..3, any::<bool>()), 0..20)) {
            let mut people: Vec<Person<usize>> =
                (0..3).map(|id| Person { id, entries: vec![], call_outs: vec![] }).collect();
            for (from, length, id, leave) in spans {
                let start = quarter().start + TimeDelta::hours(from);
                let span = Span::new(start, start + TimeDelta::hours(length));
                let kind = if leave { Kind::Leave } else { Kind::OnCall };
                people[id].entries.push(Entry::new(kind, span));
                people[id].call_outs.push(span);
            }
            let found = burdens(&calendar(), quarter(), people);
            let sum = |of: fn(&Burden<usize>) -> f64| found.iter().map(of).sum::<f64>();
            prop_assert!((sum(|one| one.has.weekend_h) - sum(|one| one.share.weekend_h)).abs() < 1e-6);
            prop_assert!((sum(|one| one.has.nights) - sum(|one| one.share.nights)).abs() < 1e-6);
            prop_assert!((sum(|one| one.has.call_outs) - sum(|one| one.share.call_outs)).abs() < 1e-6);
        }
    }

    #[test]
    fn whoever_was_on_leave_for_long_owes_nothing_when_they_come_back() {
        let weekend = |day: &str| on_call(at(day, 8), at(day, 20));
        let away = Entry::new(Kind::Leave, Span::new(at("2026-10-01", 0), at("2026-12-01", 0)));
        let people = vec![
            Person { id: 'l', entries: vec![away, weekend("2026-12-05")], call_outs: Vec::new() },
            Person {
                id: 'r',
                entries: vec![weekend("2026-10-10"), weekend("2026-11-14")],
                call_outs: Vec::new(),
            },
        ];
        let found = burdens(&calendar(), quarter(), people);

        assert!(found[0].has.burden_h() < found[1].has.burden_h());
        assert!(found[0].over_h() > 0.0, "{found:?}");
        assert!((found[0].over_h() + found[1].over_h()).abs() < 1e-9, "what is shared adds up");
        assert_eq!(found[0].words(), "12 h, 3 h above an even share of 9 h");

        let with = with_call_outs(&found, &[0, 6]);
        assert_eq!(with[0].has, found[0].has);
        assert_eq!(with[1].has.call_outs, 6.0);
        assert!(with[0].share.call_outs > 0.0 && with[0].over_h() < found[0].over_h());
    }
}
