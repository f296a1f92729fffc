//! Taking a call: plain questions, the class that the answers make, and what is said at once
//! where somebody may be in danger.
//!
//! Belongs here: the questions, the class with its reason, the words of safety, kinds of work
//! with the minutes they usually take. Does not belong here: who goes, when, and what is kept.

use serde::{Deserialize, Serialize};

use crate::queue::Urgency;

/// What a caller says to a plain question.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Answer {
    /// Yes.
    Yes,
    /// No.
    No,
    /// They cannot say. Counts as yes, since the other mistake is the worse one.
    Unsure,
}

impl Answer {
    /// Every answer.
    pub const ALL: [Answer; 3] = [Answer::Yes, Answer::No, Answer::Unsure];

    /// The identifier, as stored and sent.
    pub fn id(self) -> &'static str {
        match self {
            Answer::Yes => "yes",
            Answer::No => "no",
            Answer::Unsure => "unsure",
        }
    }

    /// Whether it counts as yes: it is, or they cannot say.
    pub fn counts(self) -> bool {
        matches!(self, Answer::Yes | Answer::Unsure)
    }
}

/// A plain question, in the order in which it is asked: danger first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Question {
    /// A smell of gas.
    GasSmell,
    /// Smoke, sparks, a smell of burning.
    Smoke,
    /// A carbon monoxide alarm that sounds.
    CoAlarm,
    /// No heat or no cooling at all.
    NoHeatCool,
    /// Somebody who cannot be without it.
    Vulnerable,
    /// Water coming out.
    Water,
    /// Food or medicine stored in it.
    Food,
}

impl Question {
    /// Every question, in the order in which it is asked.
    pub const ALL: [Question; 7] = [
        Question::GasSmell,
        Question::Smoke,
        Question::CoAlarm,
        Question::NoHeatCool,
        Question::Vulnerable,
        Question::Water,
        Question::Food,
    ];

    /// The identifier, as stored and sent.
    pub fn id(self) -> &'static str {
        match self {
            Question::GasSmell => "gas_smell",
            Question::Smoke => "smoke",
            Question::CoAlarm => "co_alarm",
            Question::NoHeatCool => "no_heat_cool",
            Question::Vulnerable => "vulnerable",
            Question::Water => "water",
            Question::Food => "food",
        }
    }

    /// As it is asked on the telephone.
    pub fn words(self) -> &'static str {
        match self {
            Question::GasSmell => "Do you smell gas?",
            Question::Smoke => "Do you see smoke or sparks, or does it smell burnt?",
            Question::CoAlarm => "Is a carbon monoxide alarm sounding?",
            Question::NoHeatCool => "Is there no heat or no cooling at all?",
            Question::Vulnerable => {
                "Is anyone in the house who can't be without heat or cooling: a baby, someone \
                 old or ill?"
            }
            Question::Water => "Is water coming out?",
            Question::Food => "Is food or medicine stored in it?",
        }
    }
}

/// What was answered; absent is not asked, and counts as no.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Answers {
    /// To [`Question::GasSmell`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gas_smell: Option<Answer>,
    /// To [`Question::Smoke`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub smoke: Option<Answer>,
    /// To [`Question::CoAlarm`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub co_alarm: Option<Answer>,
    /// To [`Question::NoHeatCool`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub no_heat_cool: Option<Answer>,
    /// To [`Question::Vulnerable`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vulnerable: Option<Answer>,
    /// To [`Question::Water`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub water: Option<Answer>,
    /// To [`Question::Food`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub food: Option<Answer>,
}

impl Answers {
    /// What was answered to one of them.
    pub fn to(&self, question: Question) -> Option<Answer> {
        match question {
            Question::GasSmell => self.gas_smell,
            Question::Smoke => self.smoke,
            Question::CoAlarm => self.co_alarm,
            Question::NoHeatCool => self.no_heat_cool,
            Question::Vulnerable => self.vulnerable,
            Question::Water => self.water,
            Question::Food => self.food,
        }
    }

    /// Whether a question counts as answered with yes: it was, or they could not say.
    pub fn counts(&self, question: Question) -> bool {
        self.to(question).is_some_and(Answer::counts)
    }

    /// Whether nothing was asked.
    pub fn is_empty(&self) -> bool {
        Question::ALL.into_iter().all(|question| self.to(question).is_none())
    }
}

/// What may hurt somebody while the call is still on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Danger {
    /// Gas in the air.
    Gas,
    /// Something burns, or is about to.
    Fire,
    /// Carbon monoxide.
    CarbonMonoxide,
}

impl Danger {
    /// The identifier, as sent.
    pub fn id(self) -> &'static str {
        match self {
            Danger::Gas => "gas",
            Danger::Fire => "fire",
            Danger::CarbonMonoxide => "carbon_monoxide",
        }
    }

    /// What to say to the caller before anything else is asked.
    pub fn says(self) -> &'static str {
        match self {
            Danger::Gas => {
                "Everyone leaves the building now and stays out. Touch no switch, light no flame, \
                 do not telephone inside. From a safe distance call the gas supplier's emergency \
                 number or the emergency number."
            }
            Danger::Fire => {
                "Everyone leaves the building now and stays out. Call the emergency number from \
                 outside. Nobody goes back in to switch anything off."
            }
            Danger::CarbonMonoxide => {
                "Everyone goes out into fresh air now; make sure that nobody is missing. Call the \
                 emergency number from outside, and say so if anyone has a headache, is dizzy or \
                 feels sick. Nobody goes back in before it has been measured."
            }
        }
    }
}

/// Where the words of [`Danger::says`] come from, shown beside them.
pub const SAFETY_SOURCE: &str = "As fire services and gas suppliers advise, from memory. What \
     local rules and the emergency services say goes before this page.";

/// A class, with why and what to say first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Classed {
    /// How pressing.
    pub urgency: Urgency,
    /// In one sentence or two, what made it so.
    pub because: String,
    /// What to say at once, most dangerous first; mostly empty.
    pub dangers: Vec<Danger>,
}

/// The class that the answers make.
///
/// In the order of [`Urgency`]: no heat or cooling with somebody who cannot be without it;
/// water; stored food or medicine; no heat or cooling; comfort. Where there is danger the unit
/// stays off until it has been looked at, so that counts as no heat or cooling.
pub fn class_of(answers: &Answers) -> Classed {
    let dangers: Vec<Danger> = [
        (Question::GasSmell, Danger::Gas),
        (Question::CoAlarm, Danger::CarbonMonoxide),
        (Question::Smoke, Danger::Fire),
    ]
    .into_iter()
    .filter(|(question, _)| answers.counts(*question))
    .map(|(_, danger)| danger)
    .collect();
    let without = answers.counts(Question::NoHeatCool) || !dangers.is_empty();
    let vulnerable = answers.counts(Question::Vulnerable);

    let (urgency, because) = if without && vulnerable {
        (
            Urgency::NoHeatVulnerable,
            "No heat or cooling, and somebody in the house who cannot be without it.",
        )
    } else if answers.counts(Question::Water) {
        (Urgency::Water, "Water is coming out.")
    } else if answers.counts(Question::Food) {
        (Urgency::FoodStorage, "Food or medicine is stored in it.")
    } else if without {
        (Urgency::NoHeatCool, "No heat or cooling, and nobody named who cannot be without it.")
    } else {
        (Urgency::Comfort, "It still heats or cools, and nothing that cannot wait was named.")
    };
    let mut because = because.to_owned();
    if !dangers.is_empty() {
        because.push_str(" It stays off until it has been looked at.");
    }
    if Question::ALL.into_iter().any(|question| answers.to(question) == Some(Answer::Unsure)) {
        because.push_str(" Not sure counts as yes.");
    }
    Classed { urgency, because, dangers }
}

/// What kind of work a call is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Work {
    /// Finding out what is wrong; most calls.
    #[default]
    Diagnosis,
    /// A repair that is already known.
    Repair,
    /// Service by the calendar.
    Maintenance,
    /// Putting a unit in.
    Installation,
    /// Coming back with a part, or to look again.
    ReturnVisit,
}

impl Work {
    /// Every kind.
    pub const ALL: [Work; 5] =
        [Work::Diagnosis, Work::Repair, Work::Maintenance, Work::Installation, Work::ReturnVisit];

    /// The identifier, as stored and sent.
    pub fn id(self) -> &'static str {
        match self {
            Work::Diagnosis => "diagnosis",
            Work::Repair => "repair",
            Work::Maintenance => "maintenance",
            Work::Installation => "installation",
            Work::ReturnVisit => "return_visit",
        }
    }

    /// The kind with that identifier.
    pub fn from_id(id: &str) -> Option<Work> {
        Work::ALL.into_iter().find(|work| work.id() == id)
    }

    /// For people.
    pub fn words(self) -> &'static str {
        match self {
            Work::Diagnosis => "Diagnosis",
            Work::Repair => "Repair",
            Work::Maintenance => "Maintenance",
            Work::Installation => "Installation",
            Work::ReturnVisit => "Return visit",
        }
    }

    /// Minutes on site where nobody says otherwise. Source: [`MINUTES_SOURCE`].
    pub fn expected_min(self) -> i32 {
        match self {
            Work::Diagnosis => 90,
            Work::Repair => 120,
            Work::Maintenance | Work::ReturnVisit => 60,
            Work::Installation => 480,
        }
    }
}

/// Where the minutes of [`Work::expected_min`] come from, shown beside them.
pub const MINUTES_SOURCE: &str = "common practice, no source";

#[cfg(test)]
mod tests;
