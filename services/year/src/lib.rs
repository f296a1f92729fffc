//! A year of weekends, simulated: what rules and ladders are worth, shown on the same calls.
//!
//! Belongs here: a synthetic shop ([`world`]), its weekends played with a clock of their own
//! ([`weekend`]), and the numbers and the picture of it ([`tally`], [`picture`], [`words`]). Does
//! not belong here: rules, ladders, the order of readers, plans and rest, which are the roster's
//! and the planner's and are called as the service calls them; clocks, files and the command.
//!
//! Whatever is drawn depends on the seed and on what it is drawn for, never on what was drawn
//! before: each way of working meets the same calls, weather, sickness and tempers.

pub mod approvals;
pub mod late;
pub mod picture;
mod reads;
pub mod tally;
mod watch;
pub mod weekend;
pub mod words;
pub mod world;

use serde::Serialize;

use tally::{Report, Tally};
use world::World;

/// Most weekends of one simulation: two years.
pub const WEEKENDS_MAX: u32 = 104;

/// A way of working.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// Somebody notices when a call has waited longer than it may, and telephones.
    Telephone,
    /// Ladders ask on when nobody answers; no rules.
    Ladders,
    /// Ladders, and the rules that ship.
    Rules,
}

impl Way {
    /// From the least to the most.
    pub const ALL: [Way; 3] = [Way::Telephone, Way::Ladders, Way::Rules];

    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Way::Telephone => "by telephone",
            Way::Ladders => "ladders, rules off",
            Way::Rules => "ladders, rules on",
        }
    }
}

/// Plays `weekends` weekends (1 to [`WEEKENDS_MAX`]; more are cut) in each way of working.
#[must_use]
pub fn simulate(seed: u64, weekends: u32) -> Report {
    let world = World::new(seed, weekends.clamp(1, WEEKENDS_MAX));
    let mut report = Report::new(&world);
    let mut played = Vec::new();
    for way in Way::ALL {
        let mut shop = weekend::Shop::new(&world, way);
        let weekends: Vec<weekend::Played> =
            (0..world.weekends.len()).map(|index| shop.play(index)).collect();
        report.ways.push(Tally::of(&world, way, &weekends));
        played.push(weekends);
    }
    report.rules = tally::rules(&world, &played);
    report.by_weekend = tally::by_weekend(&world, &played);
    report
}
