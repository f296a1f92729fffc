//! The synthetic shop and its year: people, places, weather, calls, rota, sickness.
//!
//! Belongs here: everything that is drawn before anybody does anything. Does not belong here:
//! what is done about it.
//!
//! The calls are those that the capacity forecast expects of a shop that has no history yet
//! (`roster::capacity::learn`). Every other number here is common practice, no source.

use chrono::{DateTime, Datelike as _, NaiveDate, TimeDelta, Timelike as _, Utc};
use roster::calendar::{Calendar, OwnDay, Settings, Span};
use roster::capacity::demand::{Demand, Hour};
use roster::capacity::learn::{History, Learnt, WEEK_HOURS, learn};
use roster::capacity::random::Chance;
use roster::capacity::{CLASSES, Skills, Tolerable, Work};
use roster::queue::Urgency;

/// The people of the shop: name, qualifications, home (km east and north of the shop), and the
/// mean minutes in which they answer when asked for a second read.
const PEOPLE: [(&str, &[&str], [f64; 2], f64); 8] = [
    ("Alva", &["combustion", "electrical"], [3.0, 4.0], 4.0),
    ("Bertil", &["sealed_system", "electrical"], [-6.0, 2.0], 7.0),
    ("Carys", &["combustion", "three_phase"], [8.0, -5.0], 5.0),
    ("Danilo", &["sealed_system", "combustion", "electrical"], [-2.0, -9.0], 9.0),
    ("Eluned", &["electrical"], [12.0, 6.0], 6.0),
    ("Fenna", &["sealed_system", "three_phase", "electrical"], [-9.0, 8.0], 5.0),
    ("Goran", &["combustion", "sealed_system"], [1.0, 12.0], 12.0),
    ("Hesper", &["combustion", "electrical", "three_phase"], [-4.0, -3.0], 6.0),
];

/// Those who answer for money: name, whether they own the shop, and the mean minutes in which they
/// answer their mail.
const MANAGERS: [(&str, bool, f64); 2] = [("Ingram", false, 25.0), ("Odile", true, 40.0)];

/// Where the shop lies; an empty stretch, no real place.
const SHOP_AT: [f64; 2] = [44.2, -106.2];
/// Standard deviation of where calls come from, km.
const TOWN_KM: f64 = 9.0;
/// Km in a degree of latitude.
const KM_PER_DEGREE: f64 = 111.2;

/// The mean of the year, half its range, and half a day's range, °F: a cold place inland.
const YEAR_F: (f64, f64, f64) = (47.0, 28.0, 9.0);
/// How far days lie from that, °F, and how much of it stays from day to day.
const DAYS_F: (f64, f64) = (10.0, 0.75);

/// How often somebody is sick for a weekend.
const SICK: f64 = 0.05;
/// How often a call leads to a part that needs a second read.
const READ: f64 = 0.12;
/// The Saturday shift, minutes of the day.
const SHIFT: (u16, u16) = (8 * 60, 16 * 60);

/// Somebody of the shop.
#[derive(Clone, Debug)]
pub struct Member {
    /// Name.
    pub name: &'static str,
    /// What they may do.
    pub skills: Skills,
    /// Home, degrees.
    pub home: [f64; 2],
    /// Mean minutes in which they answer.
    pub answers_min: f64,
}

/// Somebody who answers for money.
#[derive(Clone, Debug)]
pub struct Manager {
    /// Name.
    pub name: &'static str,
    /// Whether the shop is theirs.
    pub owner: bool,
    /// Mean minutes in which they answer.
    pub answers_min: f64,
}

/// A call of a weekend. Minutes are from the weekend's start.
#[derive(Clone, Debug)]
pub struct Call {
    /// When it came.
    pub at_min: i64,
    /// How pressing.
    pub class: Urgency,
    /// What whoever goes must be able to do.
    pub needs: Skills,
    /// Where, degrees.
    pub place: [f64; 2],
    /// How long it will take.
    pub takes_min: i64,
    /// How long such work takes on average.
    pub expected_min: i64,
    /// A second read is needed for it.
    pub read: bool,
    /// If it is put off: when it gets worse, if it does, minutes after it was.
    pub worse_after_min: Option<i64>,
}

/// Who has which duty; indices of people.
#[derive(Clone, Debug)]
pub struct Duties {
    /// On shift: who, from, to.
    pub shift: Option<(usize, i64, i64)>,
    /// On call, in the order in which they are called out.
    pub on_call: Vec<usize>,
    /// On the second rota.
    pub second: Vec<usize>,
    /// Sick.
    pub sick: Vec<usize>,
}

/// A weekend as it will come.
#[derive(Clone, Debug)]
pub struct Coming {
    /// From the last closing to the next opening.
    pub span: Span,
    /// More than two closed days.
    pub long: bool,
    /// Whole minutes of it.
    pub minutes: i64,
    /// By hour: outdoors, °F.
    pub outdoor_f: Vec<i32>,
    /// What the forecast expects, by hour and class.
    pub demand: Demand,
    /// The calls, in order.
    pub calls: Vec<Call>,
    /// Who does what.
    pub duties: Duties,
}

/// The year.
#[derive(Clone, Debug)]
pub struct World {
    /// Where all draws begin.
    pub seed: u64,
    /// The shop's calendar.
    pub calendar: Calendar,
    /// The people.
    pub people: Vec<Member>,
    /// Those who answer for money.
    pub managers: Vec<Manager>,
    /// How long each class may wait.
    pub tolerable: Tolerable,
    /// The weekends.
    pub weekends: Vec<Coming>,
}

/// What a draw is for; each has a sequence of its own.
#[derive(Clone, Copy)]
pub(crate) enum For {
    Weather,
    Calls,
    Places,
    Sickness,
    Reads,
    Ladder,
    Neighbour,
    Amounts,
    Approvals,
}

/// The sequence for one purpose, and one thing of it.
pub(crate) fn chance(seed: u64, purpose: For, which: [u64; 3]) -> Chance {
    // Fixed odd multipliers keep neighbouring things apart.
    let mixed = which.into_iter().fold(purpose as u64 + 1, |sum, part| {
        sum.wrapping_mul(0x5851_F42D_4C95_7F2D) ^ part.wrapping_add(1)
    });
    Chance::of(seed, mixed)
}

/// Km east and north of the shop as degrees.
fn degrees([east, north]: [f64; 2]) -> [f64; 2] {
    let shrink = SHOP_AT[0].to_radians().cos();
    [SHOP_AT[0] + north / KM_PER_DEGREE, SHOP_AT[1] + east / (KM_PER_DEGREE * shrink)]
}

impl World {
    /// Draws it.
    pub(crate) fn new(seed: u64, weekends: u32) -> Self {
        let people: Vec<Member> = PEOPLE
            .iter()
            .map(|(name, skills, home, answers_min)| Member {
                name,
                skills: Skills::of(skills),
                home: degrees(*home),
                answers_min: *answers_min,
            })
            .collect();
        let calendar = calendar();
        let first = NaiveDate::from_ymd_opt(2026, 1, 5).unwrap_or_default();
        let from = calendar.moment(first, 0);
        let whole = Span::new(from, from + TimeDelta::days(7 * i64::from(weekends)));
        let spans = calendar.weekend_spans(whole).into_iter().filter(|one| one.span.start >= from);
        let learnt = learn(&History::empty(people.len()));
        let warm = weather(seed, 7 * weekends as usize + 21);
        let weekends = spans
            .take(weekends as usize)
            .enumerate()
            .map(|(index, one)| {
                let hours = hours(&calendar, one.span, from, &warm);
                let demand = Demand::of(&learnt, &hours);
                Coming {
                    span: one.span,
                    long: one.long,
                    minutes: (one.span.end - one.span.start).num_minutes(),
                    outdoor_f: hours.iter().map(|hour| hour.outdoor_f).collect(),
                    calls: calls(seed, index as u64, &demand, &learnt),
                    duties: duties(seed, index, &calendar, one.span, people.len()),
                    demand,
                }
            })
            .collect();
        let managers = MANAGERS
            .iter()
            .map(|(name, owner, answers_min)| Manager {
                name,
                owner: *owner,
                answers_min: *answers_min,
            })
            .collect();
        World { seed, calendar, people, managers, tolerable: Tolerable::default(), weekends }
    }
}

/// Open on working days, with some invented days on which the shop is closed.
fn calendar() -> Calendar {
    let day = |month, day, name: &str| OwnDay {
        date: NaiveDate::from_ymd_opt(2026, month, day).unwrap_or_default(),
        name: name.to_owned(),
        open: false,
    };
    let settings = Settings {
        own_days: vec![
            day(2, 16, "Thaw Day"),
            day(5, 25, "River Day"),
            day(7, 3, "Founders' Day"),
            day(9, 7, "Harvest Day"),
            day(11, 27, "Lantern Day"),
            day(12, 25, "Midwinter"),
        ],
        ..Settings::default()
    };
    Calendar::new("America/Denver", settings).unwrap_or_else(|wrong| {
        // The settings above are fixed and sound; a test holds them to it.
        unreachable!("{wrong:?}")
    })
}

/// How far each day of the year lies from the usual, °F.
fn weather(seed: u64, days: usize) -> Vec<f64> {
    let mut chance = chance(seed, For::Weather, [0; 3]);
    let (spread, stays) = DAYS_F;
    let mut off = chance.normal() * spread;
    (0..days)
        .map(|_| {
            off = stays * off + (1.0 - stays * stays).sqrt() * spread * chance.normal();
            off
        })
        .collect()
}

fn hours(calendar: &Calendar, span: Span, from: DateTime<Utc>, warm: &[f64]) -> Vec<Hour> {
    let count = (span.end - span.start).num_minutes().div_euclid(60);
    let hour = |hour: i64| {
        let at = span.start + TimeDelta::hours(hour);
        let local = at.with_timezone(&calendar.zone());
        let days = f64::from(local.ordinal0());
        let turn = std::f64::consts::TAU;
        let (mean, year, day) = YEAR_F;
        // The warmest day is in late July, the warmest hour in mid-afternoon.
        let usual = mean
            + year * (turn * (days - 205.0) / 365.0).cos()
            + day * (turn * (f64::from(local.hour()) - 15.0) / 24.0).cos();
        let off = usize::try_from((at - from).num_days()).unwrap_or(0);
        let week_hour = local.weekday().num_days_from_monday() * 24 + local.hour();
        Hour {
            week_hour: (week_hour as usize).min(WEEK_HOURS - 1),
            outdoor_f: (usual + warm.get(off).copied().unwrap_or(0.0)).round() as i32,
            usual_f: usual.round() as i32,
        }
    };
    (0..count).map(hour).collect()
}

fn calls(seed: u64, weekend: u64, demand: &Demand, learnt: &Learnt) -> Vec<Call> {
    let drawn = demand.draw(&mut chance(seed, For::Calls, [weekend, 0, 0]));
    (0_u64..)
        .zip(drawn)
        .map(|(index, call)| {
            let mut chance = chance(seed, For::Places, [weekend, index, 0]);
            let at = [chance.normal() * TOWN_KM, chance.normal() * TOWN_KM];
            let kind = Work::ALL.iter().position(|work| *work == call.work).unwrap_or(0);
            let read = chance.even() < READ;
            // Of what is put off, one in twelve gets worse, within a day or so.
            let worse = chance.even() < 1.0 / 12.0;
            let after_min = chance.exponential(12.0 * 60.0) as i64;
            Call {
                at_min: call.ready_min as i64,
                class: call.class,
                needs: call.needs,
                place: degrees(at),
                takes_min: (call.takes_min.round() as i64).max(5),
                expected_min: learnt.takes[kind].mean_min().round() as i64,
                read,
                worse_after_min: worse.then_some(after_min),
            }
        })
        .collect()
}

/// The rota goes round by one each weekend; whoever is sick is stood in for by the next.
fn duties(seed: u64, weekend: usize, calendar: &Calendar, span: Span, people: usize) -> Duties {
    let mut chance = chance(seed, For::Sickness, [weekend as u64, 0, 0]);
    let sick: Vec<usize> = (0..people).filter(|_| chance.even() < SICK).collect();
    let mut well =
        (0..people).map(|place| (weekend + place) % people).filter(|person| !sick.contains(person));
    let on_call: Vec<usize> = well.by_ref().take(2).collect();
    let shift = calendar
        .dates(span)
        .into_iter()
        .find(|date| date.weekday().num_days_from_monday() == 5)
        .and_then(|date| {
            let minute = |of_day| (calendar.moment(date, of_day) - span.start).num_minutes();
            Some((well.next()?, minute(SHIFT.0), minute(SHIFT.1)))
        });
    let second = well.take(2).collect();
    Duties { shift, on_call, second, sick }
}

/// Calls that a weekend's forecast expects, all classes.
#[must_use]
pub fn expected(coming: &Coming) -> f64 {
    coming.demand.rate_h.iter().map(|classes: &[f64; CLASSES]| classes.iter().sum::<f64>()).sum()
}
