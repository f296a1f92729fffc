//! The trial told: a table, JSON, a page.
//!
//! Belongs here: words and layout. Does not belong here: figures ([`super::score`]) and the
//! picture ([`super::picture`]).

use std::fmt::Write as _;

use serde_json::{Value, json};

use super::score::{EDGES, Score};
use super::{Arm, Half, Job, LEVELS, Plan, Set, picture, topologies, world};

/// Bins with fewer statements say too little to be held against the aim.
const BIN_LEAST: usize = 150;

/// What reading under power means here.
const POWERED: &str = "\"Bench ohms\" are circuits with power off but for volts at the supply, as the trial began. \
    \"Under power too\" are shipped circuits whose states are commanded as well: volts between points and amps on leads, \
    by ngspice at the supply's frequency. Other than the engine's on purpose: supplies 5 % to either side, \
    their own resistance, contact ohms, impedances by load and make, pull-in volts, sizes of faults; \
    conductors have capacitance to their neighbours, voltmeters 10 megohm (15 % a few kilohm, and say so); \
    a transformer's load weighs on its primary; a motor turns where its windings make torque enough, and a seized one \
    never; whoever calls may find no call. A technician notes the state that he sees, not the one asked for: \
    a state that says \"running\" cannot be had of a motor that stands. A ground fault trips no breaker, \
    and a thermistor is read at a known temperature. \
    The checklist reads volts at supplies only; the other arms use all of them. \
    Left out is the inverter's circuit: its diodes and direct volts are no network of phasors.";

/// A topology that took part.
pub(super) struct Named {
    pub(super) name: String,
    pub(super) half: Half,
    pub(super) powered: bool,
}

/// A finished trial.
pub struct Report {
    plan: Plan,
    topologies: Vec<Named>,
    jobs: Vec<Job>,
}

impl Report {
    pub(super) fn new(plan: &Plan, topologies: Vec<Named>, jobs: Vec<Job>) -> Self {
        Report { plan: plan.clone(), topologies, jobs }
    }

    /// One arm at one level (an index into [`LEVELS`]) on one half, or on a set of it.
    pub fn score(&self, half: Half, set: Set, level: usize, arm: Arm) -> Score {
        self.score_where(level, arm, &|job| self.is_in(job.topology, half, set))
    }

    /// The same on the jobs that all arms worked on.
    fn score_shared(&self, half: Half, set: Set, level: usize, arm: Arm) -> Score {
        self.score_where(level, arm, &|job| job.shared && self.is_in(job.topology, half, set))
    }

    fn is_in(&self, topology: usize, half: Half, set: Set) -> bool {
        let known = &self.topologies[topology];
        known.half == half && (set == Set::All || known.powered == (set == Set::Powered))
    }

    fn score_where(&self, level: usize, arm: Arm, wanted: &dyn Fn(&Job) -> bool) -> Score {
        let of = |job: &&Job| job.level == level && job.arm == arm && wanted(job);
        Score::of(arm, &self.jobs.iter().filter(of).collect::<Vec<_>>())
    }

    /// Sets that took part on a half; only all of it, where that is one set.
    fn sets(&self, half: Half) -> Vec<Set> {
        let mut powered = self.topologies.iter().filter(|t| t.half == half).map(|t| t.powered);
        let first = powered.next();
        if powered.any(|other| Some(other) != first) {
            vec![Set::All, Set::Bench, Set::Powered]
        } else {
            vec![Set::All]
        }
    }

    fn halves(&self) -> Vec<Half> {
        [Half::Report, Half::Tune]
            .into_iter()
            .filter(|half| self.topologies.iter().any(|known| known.half == *half))
            .collect()
    }

    /// Every figure, as JSON.
    pub fn json(&self) -> Value {
        let mut rows = Vec::new();
        let sets = self
            .halves()
            .into_iter()
            .flat_map(|half| self.sets(half).into_iter().map(move |set| (half, set)));
        for (half, set) in sets {
            for (level, times) in LEVELS.iter().enumerate() {
                for &arm in &self.plan.arms {
                    let score = self.score(half, set, level, arm);
                    let bins: Vec<Value> = score
                        .bins
                        .iter()
                        .zip(EDGES.windows(2))
                        .map(|(bin, edge)| {
                            json!({"from": edge[0], "to": edge[1].min(1.0), "count": bin.count,
                                   "stated": bin.stated, "observed": bin.observed,
                                   "error": bin.error})
                        })
                        .collect();
                    rows.push(json!({
                        "half": word(half), "set": set_word(set), "mistakes": times, "arm": arm.word(),
                        "jobs": score.jobs, "faulty": score.faulty,
                        "condemned": score.condemned, "false_condemned": score.wrong,
                        "false_condemn_rate": score.wrong_share(),
                        "false_condemn_bound_95": score.wrong_bound(),
                        "major_condemned": score.major.0, "major_false": score.major.1,
                        "caught": score.caught, "missed": score.missed,
                        "abstained": score.abstained, "minutes": score.minutes,
                        "waiting_min": score.waiting_min,
                        "minutes_to_condemn": score.minutes_to_condemn,
                        "tests_to_condemn": score.tests_to_condemn,
                        "brier": score.brier, "bins": bins,
                    }));
                }
            }
        }
        json!({"seed": self.plan.seed, "units_per_topology": self.plan.units,
               "units_of_other_arms": self.plan.others.min(self.plan.units),
               "confirmed_calls_per_tuning_topology": self.plan.confirmed,
               "topologies": self.topologies.iter().map(|known| json!({"name": known.name, "half": word(known.half), "powered": known.powered})).collect::<Vec<_>>(),
               "rows": rows})
    }

    /// The table, as Markdown.
    pub fn table(&self) -> String {
        let mut text = String::new();
        let mut line = |line: String| {
            text.push_str(&line);
            text.push('\n');
        };
        let sets = self
            .halves()
            .into_iter()
            .flat_map(|half| self.sets(half).into_iter().map(move |set| (half, set)));
        for (half, set) in sets {
            line(format!("\n### {} half, {}\n", capital(word(half)), set_word(set)));
            line("| mistakes | arm | jobs | condemned | false | rate | 95 % bound | costly: false/condemned | caught | missed | abstained | min/job | wait/job | min to condemn | tests | Brier |".into());
            line("|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|".into());
            for (level, times) in LEVELS.iter().enumerate() {
                for &arm in &self.plan.arms {
                    let score = self.score(half, set, level, arm);
                    line(format!(
                        "| ×{times:.0} | {} | {} | {} | {} | {} | {} | {}/{} | {} | {} | {} | {:.1} | {:.0} | {:.1} | {:.1} | {:.3} |",
                        arm.word(),
                        score.jobs,
                        score.condemned,
                        score.wrong,
                        percent(score.wrong_share()),
                        percent(score.wrong_bound()),
                        score.major.1,
                        score.major.0,
                        percent(score.caught_share()),
                        percent(score.missed as f64 / score.faulty.max(1) as f64),
                        percent(score.abstained as f64 / score.jobs.max(1) as f64),
                        score.minutes,
                        score.waiting_min,
                        score.minutes_to_condemn,
                        score.tests_to_condemn,
                        score.brier
                    ));
                }
            }
        }
        text
    }

    /// The aims beside what was reached, on the reporting half and on each set of it.
    pub fn aims(&self) -> String {
        let of = |set: Set| format!("### {}\n\n{}", capital(set_word(set)), self.aims_of(set));
        self.sets(Half::Report).into_iter().map(of).collect::<Vec<_>>().join("\n")
    }

    fn aims_of(&self, set: Set) -> String {
        let mut text = String::from("| aim | reached | |\n|---|---|---|\n");
        let mut row = |aim: &str, reached: String, met: bool| {
            let met = if met { "met" } else { "missed" };
            writeln!(text, "| {aim} | {reached} | {met} |").expect("a string takes text");
        };
        let of = |level, arm| self.score(Half::Report, set, level, arm);
        for (level, limit) in [(1, 0.01), (2, 0.03)] {
            let tool = of(level, Arm::Tool);
            row(
                &format!("false condemnations under {} at ×{}", percent(limit), LEVELS[level]),
                format!(
                    "{} of {}, bound {}",
                    tool.wrong,
                    tool.condemned,
                    percent(tool.wrong_bound())
                ),
                tool.wrong_bound() < limit,
            );
        }
        for (level, times) in LEVELS.iter().enumerate() {
            let tool = of(level, Arm::Tool);
            // Arms are held against each other on the same jobs.
            let shared = |arm| self.score_shared(Half::Report, set, level, arm);
            let (same, oracle, list) =
                (shared(Arm::Tool), shared(Arm::Oracle), shared(Arm::Checklist));
            row(
                &format!("caught within 5 points of the oracle at ×{times}"),
                format!(
                    "{} against {} on the same {} jobs",
                    percent(same.caught_share()),
                    percent(oracle.caught_share()),
                    same.jobs
                ),
                same.caught_share() >= oracle.caught_share() - 0.05,
            );
            row(
                &format!("at least 25 % fewer minutes than the checklist at ×{times}"),
                format!(
                    "{:.1} against {:.1} per job on the same {} jobs",
                    same.minutes, list.minutes, same.jobs
                ),
                same.minutes <= 0.75 * list.minutes,
            );
            row(
                &format!("stated and observed within 0.03 per bin at ×{times}"),
                format!("worst {:.3} (bins of {BIN_LEAST} or more)", tool.worst_bin(BIN_LEAST)),
                tool.worst_bin(BIN_LEAST) <= 0.03,
            );
        }
        text
    }

    /// The tool by topology, as Markdown.
    pub fn by_topology(&self) -> String {
        let mut text = String::from(
            "| half | topology | read | mistakes | jobs | condemned | false | caught | missed | abstained | min/job |\n|---|---|---|---|---|---|---|---|---|---|---|\n",
        );
        for (place, known) in self.topologies.iter().enumerate() {
            for (level, times) in LEVELS.iter().enumerate() {
                let score = self.score_where(level, Arm::Tool, &|job| job.topology == place);
                writeln!(
                    text,
                    "| {} | {} | {} | ×{times:.0} | {} | {} | {} | {} | {} | {} | {:.1} |",
                    word(known.half),
                    known.name,
                    if known.powered { "under power too" } else { "power off" },
                    score.jobs,
                    score.condemned,
                    score.wrong,
                    percent(score.caught_share()),
                    percent(score.missed as f64 / score.faulty.max(1) as f64),
                    percent(score.abstained as f64 / score.jobs.max(1) as f64),
                    score.minutes,
                )
                .expect("a string takes text");
            }
        }
        text
    }

    /// Calibration of the tool, as a table, each half apart.
    pub fn calibration(&self) -> String {
        let of =
            |half: Half| format!("{} half\n\n{}", capital(word(half)), self.calibration_of(half));
        self.halves().into_iter().map(of).collect::<Vec<_>>().join("\n")
    }

    fn calibration_of(&self, half: Half) -> String {
        let mut text = String::from(
            "| mistakes | bin | statements | stated | observed | ± |\n|---|---|---|---|---|---|\n",
        );
        for (level, times) in LEVELS.iter().enumerate() {
            let score = self.score(half, Set::All, level, Arm::Tool);
            for (bin, edge) in score.bins.iter().zip(EDGES.windows(2)) {
                writeln!(
                    text,
                    "| ×{times} | {:.2}–{:.2} | {} | {:.3} | {:.3} | {:.3} |",
                    edge[0],
                    edge[1].min(1.0),
                    bin.count,
                    bin.stated,
                    bin.observed,
                    bin.error
                )
                .expect("a string takes text");
            }
        }
        text
    }

    /// The picture of the calibration (SVG).
    pub fn picture(&self) -> String {
        let scores: Vec<Score> = (0..LEVELS.len())
            .map(|level| self.score(Half::Report, Set::All, level, Arm::Tool))
            .collect();
        picture::calibration(&scores)
    }

    /// The whole page, as Markdown; `picture` is the picture's file beside it.
    pub fn page(&self, picture: &str) -> String {
        let all = topologies::all();
        let names = |half: Half| -> String {
            let of: Vec<&str> = all
                .iter()
                .filter(|topology| topology.half == half)
                .map(|topology| topology.name.as_str())
                .collect();
            of.join(", ")
        };
        format!(
            "# The condemnation trial\n\nWritten by `{}`; do not edit.\n\n\
             Seed {}, {} units per topology by the tool, {} of them by the other arms too, which are held against the tool on those, at mistake rates ×0, ×1 and ×2. \
             Truth by ngspice. A condemnation is false when the condemned component has no fault. \
             Bounds: one-sided 95 %, exact (Clopper and Pearson), of false among condemnations.\n\n\
             True rates, other than the engine's on purpose: {} of jobs hot motors with a good winding (where there is an overload), {} nothing wrong, \
             {} of faults in leads, plugs and terminals, {} of open or resistive contacts come and go, {} of units wired unlike the drawing, \
             {} bridged in a way no file lists, {} with a second fault, {} mistakes per reading at ×1 (the engine believes 2 %). \
             One technician in four notes neither warmth nor standing time with a reading, unless it was asked for after cooling; \
             the oracle knows of the rest in any case.\n\n\
             The tool's shop has {} confirmed calls of each tuning topology behind it, drawn by the same true rates and none of them a job of this trial: \
             what they were found to be moves the odds of its circuit files (`engine::rates`), by kind of part and effect, on circuits that it has never seen. \
             \"New shop\" is the same tool without them.\n\n\
             Tuned on: {}.\nReported on: {}.\n\n{POWERED}\n\n## Aims, on the reporting half\n\n{}\n## The tool by topology\n\n{}\n## Figures\n{}\n## Calibration of the tool, reporting half\n\n\
             The leading component's share at every step, beside how often that component was at fault; ± is two standard errors, jobs counted as one each, however often they say the same.\n\n![Calibration]({picture})\n\n{}\n\n\
             What the oracle knows: the true rates of faults and mistakes, what comes and goes, the make's values. It knows two faults at once, bridges and swapped leads as one broad unknown only.\n",
            self.command(),
            self.plan.seed,
            self.plan.units,
            self.plan.others.min(self.plan.units),
            percent(world::HOT),
            percent(world::SOUND),
            percent(world::WIRING_FAULTS),
            percent(world::INTERMITTENT),
            percent(world::MISWIRED),
            percent(world::BRIDGED),
            percent(world::SECOND),
            percent(super::site::MISTAKES),
            self.plan.confirmed,
            names(Half::Tune),
            names(Half::Report),
            self.aims(),
            self.by_topology(),
            self.table(),
            self.calibration_of(Half::Report),
        )
    }

    /// The command that writes this report again.
    fn command(&self) -> String {
        let plan = &self.plan;
        let mut text = format!(
            "cargo run --release -p countersign-tests --bin condemn_trial -- units={} others={} confirmed={} seed={}",
            plan.units,
            plan.others.min(plan.units),
            plan.confirmed,
            plan.seed
        );
        match plan.half {
            Some(Half::Tune) => text.push_str(" half=tune"),
            Some(Half::Report) => text.push_str(" half=report"),
            None => {}
        }
        text.push_str(" write=tests/referees");
        text
    }

    /// Single jobs of one arm in words: the false condemnations, why it gave up,
    /// then what was right.
    pub fn stories(&self, arm: Arm) -> String {
        let mut text = String::new();
        let mut put = |line: std::fmt::Arguments<'_>| {
            text.write_fmt(line).expect("a string takes text");
        };
        for job in self.jobs.iter().filter(|job| job.arm == arm && job.condemned && !job.right) {
            put(format_args!("FALSE ×{} {}\n", LEVELS[job.level], job.story));
        }
        let mut ends: std::collections::BTreeMap<(usize, &str, bool), (usize, f64)> =
            Default::default();
        for job in self.jobs.iter().filter(|job| job.arm == arm) {
            let (count, minutes) = ends.entry((job.level, job.why, job.faulty)).or_default();
            *count += 1;
            *minutes += job.minutes;
        }
        for ((level, why, faulty), (count, minutes)) in ends {
            let (times, each) = (LEVELS[level], minutes / count as f64);
            put(format_args!("END ×{times} {why} faulty={faulty}: {count}, {each:.1} min each\n"));
        }
        for job in self.jobs.iter().filter(|job| job.arm == arm && job.faulty && !job.condemned) {
            put(format_args!("UNCAUGHT ×{} {}\n", LEVELS[job.level], job.story));
        }
        for job in self.jobs.iter().filter(|job| job.arm == arm && (job.right || !job.faulty)) {
            put(format_args!("RIGHT ×{} {}\n", LEVELS[job.level], job.story));
        }
        text
    }
}

fn set_word(set: Set) -> &'static str {
    match set {
        Set::All => "all circuits",
        Set::Bench => "bench ohms",
        Set::Powered => "under power too",
    }
}

fn word(half: Half) -> &'static str {
    match half {
        Half::Tune => "tuning",
        Half::Report => "reporting",
    }
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters
        .next()
        .map_or(String::new(), |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

fn percent(share: f64) -> String {
    format!("{:.2} %", share * 100.0)
}
