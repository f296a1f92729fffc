//! Holdovers: what makes a site safe until a working day, what must be true before one goes,
//! and what a customer who says "it got worse" is asked.
//!
//! Belongs here: measures, questions, cautions, the class that answers make. Does not belong
//! here: keeping a holdover (the store's), when the shop opens again.
//!
//! Local codes and the fuel and water suppliers' rules come before anything that stands here.

use serde::{Deserialize, Serialize};

use crate::intake::Answer;
use crate::queue::Urgency;

/// What was done.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// Auxiliary or emergency heat carries the house.
    AuxiliaryHeat,
    /// The water is shut off.
    WaterShutOff,
    /// A portable heater or cooler was left.
    PortableUnit,
    /// Food and medicine were moved.
    FoodMoved,
    /// The system is off and tagged.
    SystemOff,
    /// Taps drip, and cupboards over pipes stand open.
    TapsDripping,
    /// The condensate pan was emptied, or drains into a bucket.
    PanEmptied,
}

impl Measure {
    /// Every measure, as they are offered.
    pub const ALL: [Measure; 7] = [
        Measure::AuxiliaryHeat,
        Measure::PortableUnit,
        Measure::SystemOff,
        Measure::WaterShutOff,
        Measure::TapsDripping,
        Measure::PanEmptied,
        Measure::FoodMoved,
    ];

    /// As stored and sent.
    pub fn id(self) -> &'static str {
        match self {
            Measure::AuxiliaryHeat => "auxiliary_heat",
            Measure::WaterShutOff => "water_shut_off",
            Measure::PortableUnit => "portable_unit",
            Measure::FoodMoved => "food_moved",
            Measure::SystemOff => "system_off",
            Measure::TapsDripping => "taps_dripping",
            Measure::PanEmptied => "pan_emptied",
        }
    }

    /// The measure with that name.
    pub fn from_id(id: &str) -> Option<Measure> {
        Measure::ALL.into_iter().find(|measure| measure.id() == id)
    }

    /// For people, as a sentence without its stop.
    pub fn says(self) -> &'static str {
        match self {
            Measure::AuxiliaryHeat => "The auxiliary heat is on",
            Measure::WaterShutOff => "The water is shut off",
            Measure::PortableUnit => "A portable heater or cooler is left with you",
            Measure::FoodMoved => "Food and medicine are moved to another cold place",
            Measure::SystemOff => "The system is off and tagged; leave it off",
            Measure::TapsDripping => "Let the taps drip and keep the cupboards over pipes open",
            Measure::PanEmptied => "The drip pan is emptied",
        }
    }

    /// What whoever lives with it must mind.
    pub fn caution(self) -> Option<&'static str> {
        match self {
            Measure::AuxiliaryHeat => Some("Auxiliary heat costs more while it runs."),
            Measure::PortableUnit => Some(
                "Keep a portable heater 3 ft from anything that can burn, plug it into the wall \
                 and not into a cord or a strip, and turn it off when you sleep or go out. Never \
                 heat with an oven, a grill or a generator: carbon monoxide kills without a \
                 smell.",
            ),
            Measure::SystemOff | Measure::TapsDripping => Some(
                "Where it freezes outside, pipes can burst. Know where your water is shut off.",
            ),
            Measure::FoodMoved => {
                Some("Throw food away that stood above 41 °F for more than four hours.")
            }
            Measure::WaterShutOff | Measure::PanEmptied => None,
        }
    }

    /// Where the numbers in the caution come from.
    pub fn source(self) -> Option<&'static str> {
        match self {
            Measure::PortableUnit => {
                Some("3 ft: the fire-safety tip sheets on heating of the NFPA, from memory")
            }
            Measure::FoodMoved => Some(
                "41 °F and four hours: FDA Food Code, sections 3-501.16 and 3-501.19, from memory",
            ),
            _ => None,
        }
    }
}

/// A question that must be answered with yes before a job is deferred.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Check {
    /// As stored and sent.
    pub id: &'static str,
    /// The question.
    pub asks: &'static str,
}

const TOLD: Check =
    Check { id: "told", asks: "Does somebody in the house know what stays off and whom to call?" };
const WARM: Check = Check {
    id: "warm",
    asks: "Will everyone in the house be warm enough, or cool enough, until then?",
};
const ALARM: Check = Check {
    id: "alarm",
    asks: "Is there a carbon monoxide alarm that works, where anything burns fuel?",
};
const CLEAR: Check = Check {
    id: "clear",
    asks: "Does the portable unit stand clear of anything that burns, on a wall outlet?",
};
const FROST: Check = Check {
    id: "frost",
    asks: "Will the pipes stay above freezing, or is the water off and drained?",
};
const STOPPED: Check =
    Check { id: "stopped", asks: "Has the water stopped, and is nothing electric in it?" };
const COLD: Check =
    Check { id: "cold", asks: "Is all food and medicine somewhere that is cold enough?" };

/// Every question there is.
pub const CHECKS: [Check; 7] = [TOLD, WARM, ALARM, CLEAR, FROST, STOPPED, COLD];

/// The questions for a job of a class, with these measures taken. Common practice, no source.
pub fn checks(urgency: Urgency, measures: &[Measure]) -> Vec<Check> {
    let mut asked = match urgency {
        Urgency::NoHeatVulnerable | Urgency::NoHeatCool => vec![TOLD, WARM, ALARM, FROST],
        Urgency::Water => vec![TOLD, STOPPED],
        Urgency::FoodStorage => vec![TOLD, COLD],
        Urgency::Comfort => Vec::new(),
    };
    let has = |measure| measures.contains(&measure);
    if has(Measure::PortableUnit) {
        asked.extend([CLEAR, ALARM]);
    }
    if has(Measure::WaterShutOff) {
        asked.push(STOPPED);
    }
    let mut once: Vec<Check> = Vec::new();
    for check in asked {
        if !once.contains(&check) {
            once.push(check);
        }
    }
    once
}

/// Whether deferring a job of this class takes a manager's reason.
pub fn needs_manager(urgency: Urgency) -> bool {
    matches!(urgency, Urgency::NoHeatVulnerable | Urgency::Water)
}

/// What a customer answers when it got worse. Somebody on the telephone may not know: that counts
/// as yes, since the other mistake is the worse one, and is kept as it was said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Worse {
    /// A smell of gas, smoke, or an alarm for carbon monoxide.
    pub danger: Answer,
    /// No heat, or no cooling, at all.
    pub none_at_all: Answer,
    /// A baby, or somebody old or ill, who cannot be without it.
    pub vulnerable: Answer,
    /// Water comes out.
    pub water: Answer,
    /// Food or medicine gets warm.
    pub food: Answer,
}

/// What to do first, before anybody of the shop can help.
pub const DANGER_SAYS: &str = "Leave the building now, everyone. Do not switch anything on or \
    off. From outside, call the emergency number or your gas supplier. Then call us.";

/// How urgent a job is after such answers: never less than it was.
pub fn worse(before: Urgency, answers: Worse) -> Urgency {
    // Whoever has left the building in the cold is called first.
    let said =
        if answers.danger.counts() || answers.none_at_all.counts() && answers.vulnerable.counts() {
            Urgency::NoHeatVulnerable
        } else if answers.water.counts() {
            Urgency::Water
        } else if answers.food.counts() {
            Urgency::FoodStorage
        } else if answers.none_at_all.counts() {
            Urgency::NoHeatCool
        } else {
            before
        };
    said.min(before)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The answers of one of the 243 combinations.
    fn answered(which: usize) -> Worse {
        let answer = |place: u32| Answer::ALL[which / 3_usize.pow(place) % 3];
        Worse {
            danger: answer(0),
            none_at_all: answer(1),
            vulnerable: answer(2),
            water: answer(3),
            food: answer(4),
        }
    }

    #[test]
    fn every_combination_of_answers_makes_a_class_and_none_makes_it_less_urgent() {
        for which in 0..243 {
            let answers = answered(which);
            let yes = |answer: Answer| answer != Answer::No;
            for before in Urgency::ALL {
                let after = worse(before, answers);
                assert!(after <= before);
                let top =
                    yes(answers.danger) || yes(answers.none_at_all) && yes(answers.vulnerable);
                assert_eq!(
                    after == Urgency::NoHeatVulnerable,
                    top || before == Urgency::NoHeatVulnerable
                );
                if !top && yes(answers.water) {
                    assert!(after <= Urgency::Water);
                }
            }
        }
        let none = Worse {
            danger: Answer::No,
            none_at_all: Answer::No,
            vulnerable: Answer::No,
            water: Answer::No,
            food: Answer::No,
        };
        assert_eq!(worse(Urgency::Comfort, none), Urgency::Comfort);
    }

    #[test]
    fn not_sure_makes_the_class_that_yes_makes() {
        let sure = |answer| if answer == Answer::Unsure { Answer::Yes } else { answer };
        for which in 0..243 {
            let unsure = answered(which);
            let yes = Worse {
                danger: sure(unsure.danger),
                none_at_all: sure(unsure.none_at_all),
                vulnerable: sure(unsure.vulnerable),
                water: sure(unsure.water),
                food: sure(unsure.food),
            };
            for before in Urgency::ALL {
                assert_eq!(worse(before, unsure), worse(before, yes), "{unsure:?}");
            }
        }
    }

    #[test]
    fn questions_follow_the_class_and_what_was_done_and_are_asked_once() {
        let ids = |urgency, measures: &[Measure]| -> Vec<&str> {
            checks(urgency, measures).into_iter().map(|check| check.id).collect()
        };
        assert_eq!(ids(Urgency::Comfort, &[]), Vec::<&str>::new());
        assert_eq!(ids(Urgency::Comfort, &[Measure::PortableUnit]), ["clear", "alarm"]);
        assert_eq!(
            ids(Urgency::NoHeatCool, &[Measure::PortableUnit]),
            ["told", "warm", "alarm", "frost", "clear"]
        );
        assert_eq!(ids(Urgency::Water, &[Measure::WaterShutOff]), ["told", "stopped"]);
        for urgency in Urgency::ALL {
            assert!(checks(urgency, &Measure::ALL).iter().all(|check| CHECKS.contains(check)));
        }
    }

    #[test]
    fn a_caution_with_a_number_names_its_source() {
        for measure in Measure::ALL {
            let numbered = measure
                .caution()
                .is_some_and(|caution| caution.chars().any(|char| char.is_ascii_digit()));
            assert_eq!(numbered, measure.source().is_some(), "{measure:?}");
            assert_eq!(Measure::from_id(measure.id()), Some(measure));
        }
    }
}
