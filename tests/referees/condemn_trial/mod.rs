//! The condemnation trial: random faults on many topologies, truth by ngspice, five ways of
//! working, and how often each condemns a good part.
//!
//! Belongs here: the plan of a trial and running it on every core. Does not belong here: what
//! is true ([`world`], [`spice`]), how it is read ([`site`]), what each arm does ([`arms`],
//! [`bayes`]), adding up ([`score`]) and showing it ([`report`]).

mod arms;
mod bayes;
mod controls;
mod motors;
mod picture;
mod powered;
mod random;
mod report;
mod score;
mod sheet;
mod shop;
mod site;
mod spice;
mod states;
mod table;
mod topologies;
mod wiring;
mod world;

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use crate::seeded::Seeded;
use random::seed_of;
use site::Site;
use spice::Kept;
use table::Table;
use topologies::Topology;

pub use report::Report;
pub use score::{Score, bound_above};
pub use topologies::{Half, Set};

/// Minutes of work after which an arm gives up.
const MINUTES_MAX: f64 = 75.0;
/// Multiples of the true mistake rate.
pub const LEVELS: [f64; 3] = [0.0, 1.0, 2.0];

/// A way of working.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Arm {
    /// The engine, condemning only what it isolates, with what its shop has learned.
    Tool,
    /// The same in a shop without a confirmed call: the circuit files' own odds.
    NewShop,
    /// A fixed list; the first reading out of spec condemns.
    Checklist,
    /// The technician's own first guess.
    NoReview,
    /// Bayes with the true rates.
    Oracle,
    /// Signatures of parts, without leads, heat or mistakes.
    Signature,
}

impl Arm {
    /// All of them, in the order of the report.
    pub const ALL: [Arm; 6] =
        [Arm::Tool, Arm::NewShop, Arm::Checklist, Arm::NoReview, Arm::Oracle, Arm::Signature];

    /// As the report calls it.
    pub fn word(self) -> &'static str {
        match self {
            Arm::Tool => "tool",
            Arm::NewShop => "new shop",
            Arm::Checklist => "checklist",
            Arm::NoReview => "no review",
            Arm::Oracle => "oracle",
            Arm::Signature => "signature",
        }
    }
}

/// How a job ended.
struct Ended {
    condemned: Option<usize>,
    /// Said to have nothing to replace.
    cleared: bool,
    stated: f64,
    lead: Option<usize>,
    why: &'static str,
}

/// A share that the tool stated on the way.
struct Stated {
    component: Option<usize>,
    share: f64,
}

/// One job by one arm at one level.
#[derive(Clone, Debug)]
pub struct Job {
    topology: usize,
    level: usize,
    arm: Arm,
    /// Some component really has a fault.
    faulty: bool,
    /// The other arms worked on this unit too.
    shared: bool,
    condemned: bool,
    /// The condemned component is faulty.
    right: bool,
    /// The condemned component is a costly one.
    major: bool,
    cleared: bool,
    minutes: f64,
    waiting_min: f64,
    tests: usize,
    /// Share that the leading component was said to hold at the end, and whether it is faulty.
    last: (f64, bool),
    /// The same after each step; the tool only.
    stated: Vec<(f64, bool)>,
    why: &'static str,
    /// The unit's story and the arm's, kept for single jobs.
    story: String,
}

/// What to run.
#[derive(Clone, Debug)]
pub struct Plan {
    /// Units per topology; each is worked on at every level by every arm.
    pub units: usize,
    /// Of these, how many the other arms than the tool work on too.
    pub others: usize,
    /// Confirmed calls that the tool's shop has of each tuning topology.
    pub confirmed: usize,
    /// Seed of the units.
    pub seed: u64,
    /// Only topologies of this half.
    pub half: Option<Half>,
    /// Only topologies whose name contains one of these; all where empty.
    pub names: Vec<String>,
    /// Arms to run.
    pub arms: Vec<Arm>,
    /// Threads.
    pub threads: usize,
}

/// Runs a trial; `progress` is told jobs done and jobs in all.
///
/// # Errors
/// ngspice or the engine failed on a job, with its topology and number.
pub fn run(plan: &Plan, progress: &(dyn Fn(&str, usize, usize) + Sync)) -> Result<Report, String> {
    let all = topologies::all();
    let learned = shop::rates(&all, plan.confirmed, plan.seed)?;
    let topologies: Vec<Topology> = all
        .into_iter()
        .filter(|topology| plan.half.is_none_or(|half| half == topology.half))
        .filter(|topology| {
            plan.names.is_empty() || plan.names.iter().any(|name| topology.name.contains(name))
        })
        .collect();
    let makes: Vec<Vec<world::Make>> =
        topologies.iter().map(|topology| world::makes(&topology.circuit)).collect();
    let made: Vec<(&Topology, &world::Make)> = topologies
        .iter()
        .zip(&makes)
        .flat_map(|(topology, makes)| makes.iter().map(move |make| (topology, make)))
        .collect();
    let tables: Vec<Table> = on_every_core(
        plan.threads,
        made.len(),
        &|place| {
            let (topology, make) = made[place];
            Table::new(topology, make).map_err(|error| format!("{}: {error}", topology.name))
        },
        &|done, all| progress("tables", done, all),
    )?;
    let jobs = on_every_core(
        plan.threads,
        topologies.len() * plan.units,
        &|place| {
            // Topologies take turns, so that progress means something.
            let (number, topology) = (place / topologies.len(), place % topologies.len());
            let known = &topologies[topology];
            let powered = known.states.is_some();
            let unit = world::unit(&known.circuit, powered, &makes[topology], plan.seed, number);
            let table = &tables[topology * world::MAKES + unit.make];
            let arms: Vec<Arm> = plan
                .arms
                .iter()
                .copied()
                .filter(|&arm| arm == Arm::Tool || number < plan.others)
                .collect();
            let shared = number < plan.others;
            let shop = Shop { arms: &arms, shared, learned: learned.as_ref() };
            unit_worked(&shop, topology, &topologies[topology], &unit, table)
                .map_err(|error| format!("{} unit {number}: {error}", topologies[topology].name))
        },
        &|done, all| progress("units", done, all),
    )?;
    let named = topologies
        .into_iter()
        .map(|topology| report::Named {
            powered: topology.states.is_some(),
            name: topology.name,
            half: topology.half,
        })
        .collect();
    Ok(Report::new(plan, named, jobs.into_iter().flatten().collect()))
}

/// Who works, and what the tool's shop has learned.
struct Shop<'s> {
    arms: &'s [Arm],
    shared: bool,
    learned: Option<&'s engine::rates::Rates>,
}

fn unit_worked(
    shop: &Shop<'_>,
    place: usize,
    topology: &Topology,
    unit: &world::Unit,
    table: &Table,
) -> Result<Vec<Job>, String> {
    let mut kept = Kept::default();
    let mut jobs = Vec::new();
    for (index, &level) in LEVELS.iter().enumerate() {
        for &arm in shop.arms {
            // The first readings are the same for every arm: same salt, same draws.
            let mut site = Site::new(topology, unit, &mut kept, table, level, 1);
            let mut habits = Seeded::new(seed_of(&[unit.seed, 13]));
            arms::first_readings(&mut site, table, &mut habits)?;
            let mut stated = Vec::new();
            let ended = match arm {
                Arm::Tool => arms::tool(&mut site, shop.learned, &mut stated)?,
                Arm::NewShop => arms::tool(&mut site, None, &mut stated)?,
                Arm::Checklist => arms::checklist(&mut site, table)?,
                Arm::NoReview => arms::no_review(&site, table),
                Arm::Oracle => bayes::work(&mut site, table, bayes::Knows::TrueRates, level)?,
                Arm::Signature => bayes::work(&mut site, table, bayes::Knows::PartsOnly, level)?,
            };
            let is_faulty = |component: Option<usize>| {
                component.is_some_and(|component| unit.faulty.contains(&component))
            };
            let name = |component: Option<usize>| {
                component.map_or("nothing", |known| topology.circuit.components[known].id.as_str())
            };
            jobs.push(Job {
                topology: place,
                level: index,
                arm,
                faulty: !unit.faulty.is_empty(),
                shared: shop.shared,
                condemned: ended.condemned.is_some(),
                right: is_faulty(ended.condemned),
                major: ended
                    .condemned
                    .is_some_and(|known| topology.circuit.components[known].major),
                cleared: ended.cleared,
                minutes: site.minutes,
                waiting_min: site.waiting_min,
                tests: site.tests,
                last: (ended.stated, is_faulty(ended.lead)),
                stated: stated
                    .iter()
                    .map(|known| (known.share, is_faulty(known.component)))
                    .collect(),
                why: ended.why,
                story: format!(
                    "{}{} ({} {:.0} °C, {:.0} min) -> condemned {} ({:.3}), {}\n    {}",
                    unit.story,
                    if unit.faulty.is_empty() { "no component at fault" } else { "" },
                    topology.name,
                    unit.celsius,
                    unit.stopped_min,
                    name(ended.condemned),
                    ended.stated,
                    ended.why,
                    site.trail.join("\n    ")
                ),
            });
        }
    }
    Ok(jobs)
}

/// Work on `count` places by `threads`, answers in the order of the places.
fn on_every_core<T: Send>(
    threads: usize,
    count: usize,
    work: &(dyn Fn(usize) -> Result<T, String> + Sync),
    progress: &(dyn Fn(usize, usize) + Sync),
) -> Result<Vec<T>, String> {
    let (next, done) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let answers: Mutex<Vec<(usize, Result<T, String>)>> = Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        for _ in 0..threads.max(1) {
            scope.spawn(|| {
                loop {
                    let place = next.fetch_add(1, Ordering::Relaxed);
                    if place >= count {
                        break;
                    }
                    let answer = work(place);
                    if let Ok(mut answers) = answers.lock() {
                        answers.push((place, answer));
                    }
                    progress(done.fetch_add(1, Ordering::Relaxed) + 1, count);
                }
            });
        }
    });
    let mut answers = answers.into_inner().map_err(|_| "a worker panicked".to_owned())?;
    answers.sort_by_key(|(place, _)| *place);
    answers.into_iter().map(|(_, answer)| answer).collect()
}
