//! A span played many times: the chance of being late, the load, and what is short.
//!
//! Belongs here: adding runs up with the error that the drawing leaves, and the sentences. Does
//! not belong here: a single run ([`super::simulate`]).

use serde::Serialize;

use super::demand::Demand;
use super::places::{SHOP, To};
use super::random::Chance;
use super::simulate::{Cause, Nobody, Watch, play, qualification_words};
use super::{CLASSES, Call, DutyKind, HOUR_MIN, Setting, Work, class_index};
use crate::queue::Urgency;

/// Most runs of one outlook; more change nothing that anybody could see.
pub const RUNS_MAX: u64 = 20_000;

/// A chance from which a class counts as short, one call in ten. Common practice, no source.
pub const SHORT_FROM: f64 = 0.1;

/// Late calls of a part, each run, from which it is worth a sentence.
pub const SHORT_CALLS_MIN: f64 = 0.05;

/// Hours that are added up for a statement about a time of day.
pub const PART_HOURS: usize = 4;

/// Two-sided 95 % of a normal.
const Z_95: f64 = 1.96;

/// A chance with the interval that the number of runs leaves.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Odds {
    /// The estimate, 0 to 1.
    pub chance: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end of it.
    pub high: f64,
    /// Calls that it is about, each run.
    pub calls: f64,
}

/// One hour.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct HourLoad {
    /// People that would be busy if everybody were served at once: mean.
    pub load: f64,
    /// One run in ten has less.
    pub load_low: f64,
    /// One run in ten has more.
    pub load_high: f64,
    /// The same at a usual year's temperature, with nothing waiting from before: mean.
    pub usual: f64,
    /// People on shift, and the first on call.
    pub supply: f64,
    /// People further on call.
    pub on_call_left: f64,
    /// People on the second rota.
    pub second: f64,
    /// Calls waiting at the hour's end that are later than they may, mean over runs.
    pub late_by_class: [f64; CLASSES],
}

/// What is short.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Short {
    /// First hour of it, from the span's start.
    pub from_hour: usize,
    /// The hour after the last.
    pub to_hour: usize,
    /// "hours", "qualification" or "place".
    pub what: &'static str,
    /// The qualification, where it is one.
    pub qualification: Option<String>,
    /// The place, where it is one that has a name.
    pub place: Option<String>,
    /// Calls late for this, each run.
    pub calls: f64,
    /// In a sentence, without the time.
    pub says: String,
}

/// A place that calls come from.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlaceOdds {
    /// Its name.
    pub name: String,
    /// The way there from the shop, minutes.
    pub way_min: f64,
    /// The whole span, all classes.
    pub odds: Odds,
    /// Calls late for the way alone, each run.
    pub way_late: f64,
}

/// What is to be expected of a span.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Outlook {
    /// Each hour.
    pub hours: Vec<HourLoad>,
    /// The whole span by class.
    pub by_class: [Odds; CLASSES],
    /// Each part of [`PART_HOURS`] by class, by when the call came in.
    pub by_part: Vec<[Odds; CLASSES]>,
    /// Each place that calls come from, the most calls first.
    pub by_place: Vec<PlaceOdds>,
    /// The most telling first.
    pub short: Vec<Short>,
    /// Runs that it is from.
    pub runs: u64,
}

/// What is there before the span begins.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// When it can be begun, minutes; negative when it waits already.
    pub ready_min: f64,
    /// How pressing.
    pub class: Urgency,
    /// What is done.
    pub work: Work,
    /// What it asks for.
    pub needs: super::Skills,
    /// Minutes expected, where the job says so; drawn from the kind's own otherwise.
    pub expected_min: Option<f64>,
    /// Who has it.
    pub held_by: Option<usize>,
    /// Its place, where that is one of the setting's.
    pub place: Option<usize>,
}

/// Plays the span `runs` times (at least one, at most [`RUNS_MAX`]).
#[must_use]
pub fn outlook(
    setting: &Setting,
    demand: &Demand,
    standing: &[Standing],
    seed: u64,
    runs: u64,
) -> Outlook {
    let runs = runs.clamp(1, RUNS_MAX);
    let mut sums = Sums::new(setting);
    for run in 0..runs {
        let calls = calls(demand, standing, &mut Chance::of(seed, run));
        sums.add(setting, &calls, &mut Nobody);
    }
    sums.outlook(setting, demand, runs)
}

/// The standing jobs and a draw of new calls, in order.
#[must_use]
pub fn calls(demand: &Demand, standing: &[Standing], chance: &mut Chance) -> Vec<Call> {
    let mut calls = demand.draw(chance);
    for job in standing {
        let takes_min = job.expected_min.unwrap_or_else(|| demand.takes(job.work, chance));
        calls.push(Call {
            ready_min: job.ready_min,
            class: job.class,
            work: job.work,
            needs: job.needs,
            travel_min: demand.travel(chance),
            takes_min,
            held_by: job.held_by,
            to: job.place.map(|place| To { place, factor: demand.way_factor(chance) }),
        });
    }
    calls.sort_by(|one, other| one.ready_min.total_cmp(&other.ready_min));
    calls
}

/// Calls and late ones of one class in one part: sums over runs and of the products that the
/// error of a ratio needs.
#[derive(Clone, Copy, Default)]
struct Tally {
    calls: f64,
    late: f64,
    calls_sq: f64,
    late_sq: f64,
    both: f64,
}

impl Tally {
    fn add(&mut self, calls: f64, late: f64) {
        self.calls += calls;
        self.late += late;
        self.calls_sq += calls * calls;
        self.late_sq += late * late;
        self.both += calls * late;
    }

    /// The ratio with the error of a ratio of means over independent runs; without a single late
    /// call, or none in time, the end is that of three in so many calls.
    fn odds(&self, runs: u64) -> Odds {
        if self.calls == 0.0 {
            return Odds::default();
        }
        let chance = self.late / self.calls;
        let spread =
            (self.late_sq - 2.0 * chance * self.both + chance * chance * self.calls_sq).max(0.0);
        let half = Z_95 * spread.sqrt() / self.calls;
        let least = (3.0 / self.calls).min(1.0);
        let low = if self.late == self.calls { 1.0 - least } else { chance - half };
        let high = if self.late == 0.0 { least } else { chance + half };
        Odds {
            chance,
            low: low.clamp(0.0, 1.0),
            high: high.clamp(0.0, 1.0),
            calls: self.calls / runs as f64,
        }
    }
}

struct Sums {
    parts: Vec<[Tally; CLASSES]>,
    whole: [Tally; CLASSES],
    load: Vec<Vec<f32>>,
    late: Vec<[f64; CLASSES]>,
    causes: Vec<std::collections::BTreeMap<Cause, [f64; CLASSES]>>,
    places: Vec<Tally>,
    /// By place: late for the way alone.
    way_late: Vec<f64>,
}

impl Sums {
    fn new(setting: &Setting) -> Self {
        let parts = setting.hours.div_ceil(PART_HOURS);
        Sums {
            parts: vec![[Tally::default(); CLASSES]; parts],
            whole: [Tally::default(); CLASSES],
            load: vec![Vec::new(); setting.hours],
            late: vec![[0.0; CLASSES]; setting.hours],
            causes: vec![std::collections::BTreeMap::new(); parts],
            places: vec![Tally::default(); setting.places.count()],
            way_late: vec![0.0; setting.places.count()],
        }
    }

    fn add(&mut self, setting: &Setting, calls: &[Call], watch: &mut dyn Watch) {
        let outcomes = play(setting, calls, watch);
        let end_min = setting.end_min();
        let mut parts = vec![[(0.0, 0.0); CLASSES]; self.parts.len()];
        let mut places = vec![(0.0, 0.0); self.places.len()];
        let mut load = vec![0.0; setting.hours];
        for (call, outcome) in calls.iter().zip(&outcomes) {
            let begins = call.ready_min.max(0.0);
            if begins >= end_min {
                continue;
            }
            let class = class_index(call.class);
            let hour = (begins / HOUR_MIN) as usize;
            let part = hour / PART_HOURS;
            parts[part][class].0 += 1.0;
            if let Some(place) = setting.place_of(call) {
                places[place].0 += 1.0;
                places[place].1 += f64::from(u8::from(outcome.late.is_some()));
            }
            if let Some(Cause::Place(Some(place))) = outcome.late {
                self.way_late[place] += 1.0;
            }
            if let Some(cause) = outcome.late {
                parts[part][class].1 += 1.0;
                self.causes[part].entry(cause).or_insert([0.0; CLASSES])[class] += 1.0;
            }
            spread(&mut load, begins, begins + setting.way_min(SHOP, call) + call.takes_min);
            self.note_late_hours(setting, call, outcome.begun_min, class);
        }
        for (sums, run) in self.parts.iter_mut().zip(&parts) {
            for (sum, (calls, late)) in sums.iter_mut().zip(run) {
                sum.add(*calls, *late);
            }
        }
        for (sum, (calls, late)) in self.places.iter_mut().zip(places) {
            sum.add(calls, late);
        }
        for (class, sum) in self.whole.iter_mut().enumerate() {
            let of =
                |pick: fn(&(f64, f64)) -> f64| parts.iter().map(|part| pick(&part[class])).sum();
            sum.add(of(|both| both.0), of(|both| both.1));
        }
        for (all, hour) in self.load.iter_mut().zip(load) {
            all.push(hour as f32);
        }
    }

    /// Adds a call to the hours at whose end it waits longer than it may.
    fn note_late_hours(
        &mut self,
        setting: &Setting,
        call: &Call,
        begun: Option<f64>,
        class: usize,
    ) {
        let late_from = call.ready_min + setting.tolerable.0[class];
        let until = begun.unwrap_or(f64::INFINITY);
        for (hour, late) in self.late.iter_mut().enumerate() {
            let at = (hour + 1) as f64 * HOUR_MIN;
            if late_from < at && at <= until {
                late[class] += 1.0;
            }
        }
    }

    fn outlook(mut self, setting: &Setting, demand: &Demand, runs: u64) -> Outlook {
        let usual = usual_load(setting, demand);
        let hours = (0..setting.hours)
            .map(|hour| {
                let load = &mut self.load[hour];
                load.sort_by(f32::total_cmp);
                let at = |share: f64| f64::from(load[((load.len() - 1) as f64 * share) as usize]);
                let mean =
                    load.iter().map(|load| f64::from(*load)).sum::<f64>() / load.len() as f64;
                let (supply, on_call_left, second) = supply(setting, hour);
                HourLoad {
                    load: mean,
                    load_low: at(0.1),
                    load_high: at(0.9),
                    usual: usual[hour],
                    supply,
                    on_call_left,
                    second,
                    late_by_class: self.late[hour].map(|late| late / runs as f64),
                }
            })
            .collect();
        let by_part: Vec<[Odds; CLASSES]> =
            self.parts.iter().map(|part| part.map(|tally| tally.odds(runs))).collect();
        let by_place = self.by_place(setting, runs);
        let mut short = self.short(&by_part, setting.hours, runs);
        short.extend(by_place.iter().filter_map(|place| short_of(place, setting.hours)));
        short.sort_by(|one, other| other.calls.total_cmp(&one.calls));
        let by_class = self.whole.map(|tally| tally.odds(runs));
        Outlook { hours, by_class, by_part, by_place, short, runs }
    }

    fn by_place(&self, setting: &Setting, runs: u64) -> Vec<PlaceOdds> {
        let of = |(place, tally): (usize, &Tally)| PlaceOdds {
            name: setting.places.name(place).to_owned(),
            way_min: setting.places.between_min(SHOP, place).unwrap_or(0.0),
            odds: tally.odds(runs),
            way_late: self.way_late[place] / runs as f64,
        };
        let mut places: Vec<PlaceOdds> = self
            .places
            .iter()
            .enumerate()
            .filter(|(place, tally)| *place != SHOP && tally.calls > 0.0)
            .map(of)
            .collect();
        places.sort_by(|one, other| other.odds.calls.total_cmp(&one.odds.calls));
        places
    }

    /// What is short in each part in which a class is late too often; parts side by side that are
    /// short of the same are one. A place that has a name is looked at over the whole span
    /// ([`short_of`]): its few calls would be lost among all of a part.
    fn short(&self, by_part: &[[Odds; CLASSES]], hours: usize, runs: u64) -> Vec<Short> {
        let mut short: Vec<(Short, Cause)> = Vec::new();
        for (part, odds) in by_part.iter().enumerate() {
            let too_late: Vec<usize> =
                (0..CLASSES).filter(|class| odds[*class].chance > SHORT_FROM).collect();
            let of = |by_class: &[f64; CLASSES]| -> f64 {
                too_late.iter().map(|class| by_class[*class]).sum::<f64>() / runs as f64
            };
            let most = self.causes[part]
                .iter()
                .filter(|(cause, _)| !matches!(cause, Cause::Place(Some(_))))
                .map(|(cause, by_class)| (*cause, of(by_class)))
                .filter(|(_, calls)| *calls > 0.0)
                .max_by(|one, other| one.1.total_cmp(&other.1));
            let Some((cause, calls)) = most.filter(|(_, calls)| *calls >= SHORT_CALLS_MIN) else {
                continue;
            };
            let (from, to) = (part * PART_HOURS, ((part + 1) * PART_HOURS).min(hours));
            match short.last_mut() {
                Some((last, last_cause)) if *last_cause == cause && last.to_hour == from => {
                    last.to_hour = to;
                    last.calls += calls;
                }
                _ => short.push((
                    Short {
                        from_hour: from,
                        to_hour: to,
                        what: "",
                        qualification: None,
                        place: None,
                        calls,
                        says: String::new(),
                    },
                    cause,
                )),
            }
        }
        short.into_iter().map(|(short, cause)| said(short, cause)).collect()
    }
}

/// A place whose calls are late too often, for the way more than for anything else.
fn short_of(place: &PlaceOdds, hours: usize) -> Option<Short> {
    let late = place.odds.chance * place.odds.calls;
    let short = place.odds.chance > SHORT_FROM
        && place.way_late >= SHORT_CALLS_MIN
        && place.way_late * 2.0 >= late;
    short.then(|| Short {
        from_hour: 0,
        to_hour: hours,
        what: "place",
        qualification: None,
        place: Some(place.name.clone()),
        calls: place.way_late,
        says: format!(
            "{} is short: {:.0} min there; {} from there would wait too long because of the way. \
             Somebody who starts nearer would help.",
            place.name,
            place.way_min,
            about(place.way_late)
        ),
    })
}

fn about(calls: f64) -> String {
    if calls < 0.95 {
        format!("about {calls:.1} of a call")
    } else {
        format!("about {calls:.0} {}", if calls < 1.5 { "call" } else { "calls" })
    }
}

fn said(mut short: Short, cause: Cause) -> Short {
    let calls = about(short.calls);
    match cause {
        Cause::Hours => {
            short.what = "hours";
            short.says = format!(
                "Hours are short: {calls} would wait longer than it may, with everybody on duty \
                 busy, resting or not called out."
            );
        }
        Cause::Qualification(place) => {
            let words = qualification_words(place);
            short.what = "qualification";
            short.says = format!(
                "Somebody qualified for {words} is short: {calls} would wait although somebody \
                 else is free."
            );
            short.qualification = Some(super::QUALIFICATIONS[place].to_owned());
        }
        Cause::Place(_) => {
            short.what = "place";
            short.says = format!(
                "The way is too long: {calls} would be late although somebody sets out in time. \
                 Somebody who starts nearer would help."
            );
        }
    }
    short
}

/// Adds the minutes from one time to another to the hours that they lie in, as people.
fn spread(load: &mut [f64], from_min: f64, to_min: f64) {
    let mut hour = (from_min / HOUR_MIN) as usize;
    while hour < load.len() && (hour as f64) * HOUR_MIN < to_min {
        let start = from_min.max(hour as f64 * HOUR_MIN);
        let end = to_min.min((hour + 1) as f64 * HOUR_MIN);
        load[hour] += (end - start) / HOUR_MIN;
        hour += 1;
    }
}

/// The load of a usual year: what the calls of each hour keep busy from then on.
fn usual_load(setting: &Setting, demand: &Demand) -> Vec<f64> {
    let hours = setting.hours;
    let way_min = demand.way_mean_min(&setting.places);
    let mut load = vec![0.0; hours];
    for (hour, rates) in demand.usual_h.iter().enumerate().take(hours) {
        for (class, rate_h) in rates.iter().enumerate() {
            // From the middle of the hour, one call's worth, times how many are expected.
            let mut one = vec![0.0; hours];
            let start = (hour as f64 + 0.5) * HOUR_MIN;
            spread(&mut one, start, start + way_min + demand.work_mean_min(class));
            load.iter_mut().zip(&one).for_each(|(load, one)| *load += one * rate_h);
        }
    }
    load
}

/// People in the middle of an hour: who comes, who is left on call, who is on the second rota.
fn supply(setting: &Setting, hour: usize) -> (f64, f64, f64) {
    let now = (hour as f64 + 0.5) * HOUR_MIN;
    let count = |kind: DutyKind| {
        let on = |person: &&super::Person| {
            let mut duties =
                person.duties.iter().filter(|duty| duty.start_min <= now && now < duty.end_min);
            duties.next().is_some_and(|duty| duty.kind == kind)
        };
        setting.people.iter().filter(on).count() as f64
    };
    let on_call = count(DutyKind::OnCall);
    (count(DutyKind::Shift) + on_call.min(1.0), (on_call - 1.0).max(0.0), count(DutyKind::Second))
}

#[cfg(test)]
mod tests;
