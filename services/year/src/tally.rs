//! The year in numbers.
//!
//! Belongs here: waits, call-outs, reads, rules and their false alarms, added up. Does not belong
//! here: drawing and saying them.

use roster::capacity::CLASSES;
use roster::queue::Urgency;
use serde::Serialize;

use crate::Way;
use crate::approvals::By;
use crate::weekend::{Outcome, Played};
use crate::world::{World, expected};

/// A firing is a false alarm when nothing urgent would have been late within so long after it
/// with the rules off, minutes.
const ALARM_AHEAD_MIN: i64 = 6 * 60;

/// z of a 95 % interval.
const Z: f64 = 1.959_964;

/// Waits of one class.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Waits {
    /// Which.
    pub class: &'static str,
    /// Longest that it may wait, minutes.
    pub limit_min: f64,
    /// Calls.
    pub calls: u32,
    /// Of those, begun on the weekend.
    pub begun: u32,
    /// Put off, with the customer's knowledge.
    pub put_off: u32,
    /// Left for the next open day without anybody having said so.
    pub left: u32,
    /// Median wait, minutes; what was left waits to the weekend's end, what was put off is not in
    /// it.
    pub median_min: i64,
    /// Nine of ten waited at most so long, minutes.
    pub p90_min: i64,
    /// The longest, minutes.
    pub longest_min: i64,
    /// Waited longer than they may.
    pub late: u32,
    /// Their share, 0 to 1, and its 95 % interval after Wilson.
    pub late_share: [f64; 3],
}

/// One person's year.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Person {
    /// Name.
    pub name: &'static str,
    /// Times called from home.
    pub call_outs: u32,
    /// Of those, at night.
    pub at_night: u32,
    /// Driving and work, hours.
    pub hours: f64,
}

/// Second reads.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Reads {
    /// Asked for.
    pub asked: u32,
    /// Not answered before whoever asked left.
    pub unanswered: u32,
    /// Median of the answered, minutes.
    pub median_min: i64,
    /// Nine of ten of the answered came within so long, minutes.
    pub p90_min: i64,
}

/// Approvals.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Approvals {
    /// Asked for: one for each second read that was answered.
    pub asked: u32,
    /// Not answered before the shop opened again.
    pub unanswered: u32,
    /// Median of the answered, minutes.
    pub median_min: i64,
    /// Nine of ten of the answered came within so long, minutes.
    pub p90_min: i64,
    /// Answered while whoever asked was still there; the rest cost a second visit.
    pub in_visit: u32,
    /// Answered by a service manager, the owner, a delegate.
    pub by: [u32; 3],
}

/// A year of one way of working.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Tally {
    /// Which way.
    pub way: Way,
    /// By class, the most pressing first.
    pub waits: Vec<Waits>,
    /// The same of all urgent classes together.
    pub urgent: Waits,
    /// By person.
    pub people: Vec<Person>,
    /// Second reads.
    pub reads: Reads,
    /// Approvals.
    pub approvals: Approvals,
    /// Calls that were put off and got worse.
    pub worse: u32,
    /// Calls that a neighbouring crew took.
    pub neighbour: u32,
    /// Times the planner was asked.
    pub plans: u32,
}

/// A rule's year.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Rule {
    /// Its name.
    pub name: &'static str,
    /// Times it fired.
    pub fired: u32,
    /// Of those, with nothing urgent late within six hours had the rules been off; none for a
    /// rule about reads or approvals, for which that is not asked.
    pub false_alarms: Option<u32>,
}

/// A weekend, for the picture.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OfWeekend {
    /// The day it begins.
    pub from: String,
    /// More than two closed days.
    pub long: bool,
    /// Calls.
    pub calls: u32,
    /// Coldest and hottest hour, °F.
    pub outdoor_f: [i32; 2],
    /// Urgent calls that waited longer than they may, by way of working.
    pub late: Vec<u32>,
    /// The longest urgent wait as a part of what it may be, by way of working.
    pub longest: Vec<f64>,
}

/// The whole year.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Report {
    /// The seed.
    pub seed: u64,
    /// Weekends.
    pub weekends: usize,
    /// Of those, longer than two closed days.
    pub long: usize,
    /// Calls, before anything got worse.
    pub calls: usize,
    /// Calls that the forecast expected.
    pub expected: f64,
    /// By way of working.
    pub ways: Vec<Tally>,
    /// By rule, in the order in which they ship.
    pub rules: Vec<Rule>,
    /// By weekend.
    pub by_weekend: Vec<OfWeekend>,
}

impl Report {
    pub(crate) fn new(world: &World) -> Self {
        Report {
            seed: world.seed,
            weekends: world.weekends.len(),
            long: world.weekends.iter().filter(|one| one.long).count(),
            calls: world.weekends.iter().map(|one| one.calls.len()).sum(),
            expected: world.weekends.iter().map(expected).sum(),
            ways: Vec::new(),
            rules: Vec::new(),
            by_weekend: Vec::new(),
        }
    }

    /// A way of working.
    #[must_use]
    pub fn of(&self, way: Way) -> Option<&Tally> {
        self.ways.iter().find(|tally| tally.way == way)
    }
}

/// The share and its 95 % interval after Wilson (J. Am. Stat. Assoc. 22, 1927; from memory).
#[must_use]
pub fn share(of: u32, all: u32) -> [f64; 3] {
    if all == 0 {
        return [0.0, 0.0, 1.0];
    }
    let (n, p) = (f64::from(all), f64::from(of) / f64::from(all));
    let scale = 1.0 + Z * Z / n;
    let middle = (p + Z * Z / (2.0 * n)) / scale;
    let half = Z * (p * (1.0 - p) / n + Z * Z / (4.0 * n * n)).sqrt() / scale;
    [p, (middle - half).max(0.0), (middle + half).min(1.0)]
}

/// The value that a part of the sorted are at or below; 0 of none.
fn quantile(sorted: &[i64], part: f64) -> i64 {
    let at = (part * sorted.len() as f64).ceil() as usize;
    sorted.get(at.saturating_sub(1)).copied().unwrap_or(0)
}

/// How long a call waited, as far as it was not put off.
fn wait_min(call: &Outcome, end_min: i64) -> Option<i64> {
    (!call.put_off).then(|| call.begun_min.unwrap_or(end_min) - call.at_min)
}

fn late(world: &World, call: &Outcome, end_min: i64) -> bool {
    wait_min(call, end_min).is_some_and(|wait| wait as f64 > world.tolerable.0[call.class])
}

fn waits(
    world: &World,
    played: &[Played],
    class: (&'static str, f64),
    is: impl Fn(&Outcome) -> bool,
) -> Waits {
    let calls: Vec<(&Outcome, i64)> = played
        .iter()
        .zip(&world.weekends)
        .flat_map(|(played, coming)| played.calls.iter().map(move |call| (call, coming.minutes)))
        .filter(|(call, _)| is(call))
        .collect();
    let mut sorted: Vec<i64> =
        calls.iter().filter_map(|(call, end_min)| wait_min(call, *end_min)).collect();
    sorted.sort_unstable();
    let count = |is: &dyn Fn(&Outcome) -> bool| {
        u32::try_from(calls.iter().filter(|(call, _)| is(call)).count()).unwrap_or(u32::MAX)
    };
    let begun = count(&|call| call.begun_min.is_some());
    let put_off = count(&|call| call.put_off);
    let all = count(&|_| true);
    let over = calls.iter().filter(|(call, end_min)| late(world, call, *end_min)).count();
    let over = u32::try_from(over).unwrap_or(u32::MAX);
    Waits {
        class: class.0,
        limit_min: class.1,
        calls: all,
        begun,
        put_off,
        left: all - begun - put_off,
        median_min: quantile(&sorted, 0.5),
        p90_min: quantile(&sorted, 0.9),
        longest_min: sorted.last().copied().unwrap_or(0),
        late: over,
        late_share: share(over, all - put_off),
    }
}

impl Tally {
    pub(crate) fn of(world: &World, way: Way, played: &[Played]) -> Self {
        let by_class = (0..CLASSES).map(|class| {
            let named = (Urgency::ALL[class].words(), world.tolerable.0[class]);
            waits(world, played, named, |call| call.class == class)
        });
        let urgent = waits(world, played, ("all urgent", 0.0), |call| call.class < CLASSES - 1);
        let people = world.people.iter().enumerate().map(|(index, person)| {
            let loads = || played.iter().map(|one| &one.loads[index]);
            Person {
                name: person.name,
                call_outs: loads().map(|load| load.call_outs).sum(),
                at_night: loads().map(|load| load.at_night).sum(),
                hours: loads().map(|load| load.busy_min).sum::<i64>() as f64 / 60.0,
            }
        });
        let count = |is: fn(&Outcome) -> bool| {
            let all = played.iter().flat_map(|one| &one.calls);
            u32::try_from(all.filter(|call| is(call)).count()).unwrap_or(u32::MAX)
        };
        Tally {
            way,
            waits: by_class.collect(),
            urgent,
            people: people.collect(),
            reads: reads(played),
            approvals: approvals(played),
            worse: count(|call| call.worse),
            neighbour: count(|call| call.neighbour),
            plans: played.iter().map(|one| one.plans).sum(),
        }
    }
}

fn reads(played: &[Played]) -> Reads {
    let all = || played.iter().flat_map(|one| &one.reads);
    let mut answered: Vec<i64> = all().filter_map(|(_, answered)| *answered).collect();
    answered.sort_unstable();
    let asked = all().count();
    let number = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
    Reads {
        asked: number(asked),
        unanswered: number(asked - answered.len()),
        median_min: quantile(&answered, 0.5),
        p90_min: quantile(&answered, 0.9),
    }
}

fn approvals(played: &[Played]) -> Approvals {
    let all = || played.iter().flat_map(|one| &one.approvals);
    let number = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
    let mut waits: Vec<i64> = all().filter_map(|one| Some(one.answered?.0)).collect();
    waits.sort_unstable();
    let by =
        |who: By| number(all().filter(|one| one.answered.is_some_and(|of| of.1 == who)).count());
    Approvals {
        asked: number(all().count()),
        unanswered: number(all().count() - waits.len()),
        median_min: quantile(&waits, 0.5),
        p90_min: quantile(&waits, 0.9),
        in_visit: number(all().filter(|one| one.in_visit).count()),
        by: [By::Manager, By::Owner, By::Delegate].map(by),
    }
}

/// How often each rule fired, and for nothing. `played` is in the order of [`Way::ALL`].
pub(crate) fn rules(world: &World, played: &[Vec<Played>]) -> Vec<Rule> {
    let at = |way: Way| Way::ALL.iter().position(|one| *one == way).and_then(|i| played.get(i));
    let (Some(off), Some(on)) = (at(Way::Ladders), at(Way::Rules)) else { return Vec::new() };
    let starting = roster::rules::starting::starting();
    (0..starting.len())
        .map(|rule| {
            let mut fired = 0;
            let mut nothing = 0;
            for ((on, off), coming) in on.iter().zip(off).zip(&world.weekends) {
                for firing in on.firings.iter().filter(|firing| firing.rule == rule) {
                    fired += 1;
                    // Something that waited then, or came soon after, was late in the end.
                    let late_soon = off.calls.iter().any(|call| {
                        let came = call.at_min <= firing.at_min + ALARM_AHEAD_MIN;
                        let waited = call.begun_min.is_none_or(|begun| begun >= firing.at_min);
                        call.class < CLASSES - 1
                            && came
                            && waited
                            && late(world, call, coming.minutes)
                    });
                    nothing += u32::from(!late_soon);
                }
            }
            let condition = starting[rule].condition;
            let about_papers = condition.contains("read") || condition.contains("approval");
            Rule {
                name: starting[rule].name,
                fired,
                false_alarms: (!about_papers).then_some(nothing),
            }
        })
        .collect()
}

pub(crate) fn by_weekend(world: &World, played: &[Vec<Played>]) -> Vec<OfWeekend> {
    let weekend = |(index, coming): (usize, &crate::world::Coming)| {
        let urgent = |one: &Vec<Played>| {
            let calls = one[index].calls.iter().filter(|call| call.class < CLASSES - 1);
            calls.cloned().collect::<Vec<Outcome>>()
        };
        let part = |call: &Outcome| {
            let wait = wait_min(call, coming.minutes).unwrap_or(0) as f64;
            wait / world.tolerable.0[call.class]
        };
        let late = |calls: Vec<Outcome>| {
            let late = calls.iter().filter(|call| late(world, call, coming.minutes)).count();
            u32::try_from(late).unwrap_or(u32::MAX)
        };
        OfWeekend {
            from: world.calendar.date(coming.span.start).to_string(),
            long: coming.long,
            calls: u32::try_from(coming.calls.len()).unwrap_or(u32::MAX),
            outdoor_f: [
                coming.outdoor_f.iter().copied().min().unwrap_or(0),
                coming.outdoor_f.iter().copied().max().unwrap_or(0),
            ],
            late: played.iter().map(|one| late(urgent(one))).collect(),
            longest: played
                .iter()
                .map(|one| urgent(one).iter().map(part).fold(0.0, f64::max))
                .collect(),
        }
    };
    world.weekends.iter().enumerate().map(weekend).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wilsons_interval_is_the_published_one() {
        // 81 of 263: 0.2553 to 0.3662 (Newcombe, Statistics in Medicine 17, 1998, table I).
        let [p, low, high] = share(81, 263);
        assert!((p - 0.3080).abs() < 5e-5 && (low - 0.2553).abs() < 5e-5, "{low}");
        assert!((high - 0.3662).abs() < 5e-5, "{high}");
        assert_eq!(share(0, 0), [0.0, 0.0, 1.0]);
    }

    #[test]
    fn a_quantile_is_one_of_the_values() {
        assert_eq!(quantile(&[1, 2, 3, 4], 0.5), 2);
        assert_eq!(quantile(&[1, 2, 3, 4, 5, 6, 7, 8, 9, 10], 0.9), 9);
        assert_eq!(quantile(&[], 0.9), 0);
    }
}
