//! What a customer is told of a holdover.
//!
//! Belongs here: the values of the mail, and the same as something to read out. Does not belong
//! here: the mail's own text (notify's template).

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use roster::holdover::Measure;
use serde_json::{Value, json};

/// A time as a customer reads it, by the clock at their site.
pub(super) fn at(time: DateTime<Utc>, zone: Tz) -> String {
    time.with_timezone(&zone).format("%A %-d %B, %H:%M").to_string()
}

/// What is told.
pub(super) struct Words<'a> {
    pub(super) shop_name: &'a str,
    pub(super) shop_phone: Option<&'a str>,
    pub(super) number: i32,
    pub(super) unit_label: &'a str,
    pub(super) until: String,
    pub(super) measures: &'a [Measure],
    pub(super) note: &'a str,
}

impl Words<'_> {
    fn done(&self) -> String {
        let mut sentences: Vec<String> =
            self.measures.iter().map(|measure| format!("{}.", measure.says())).collect();
        if !self.note.is_empty() {
            sentences.push(self.note.to_owned());
        }
        if sentences.is_empty() {
            sentences.push("Nothing needs to be done until then.".to_owned());
        }
        sentences.join(" ")
    }

    fn mind(&self) -> String {
        let mut cautions: Vec<&str> = Vec::new();
        for caution in self.measures.iter().filter_map(|measure| measure.caution()) {
            if !cautions.contains(&caution) {
                cautions.push(caution);
            }
        }
        cautions.push(
            "If you smell gas or an alarm for carbon monoxide sounds, leave the building and \
             call the emergency number first.",
        );
        cautions.join(" ")
    }

    fn call(&self) -> String {
        match self.shop_phone {
            Some(phone) => format!("call {phone}"),
            None => "call the shop".to_owned(),
        }
    }

    /// The mail's values; `token` opens the customer's page.
    pub(super) fn data(&self, token: &str) -> Value {
        json!({
            "worse_token": token,
            "job_number": self.number,
            "unit_label": self.unit_label,
            "until": self.until,
            "done": self.done(),
            "mind": self.mind(),
            "call": self.call(),
        })
    }

    /// For the telephone.
    pub(super) fn read_out(&self) -> String {
        format!(
            "This is {} about job {}, {}. We come on {} at the earliest. {} {} If it gets worse \
             before, {}.",
            self.shop_name,
            self.number,
            self.unit_label,
            self.until,
            self.done(),
            self.mind(),
            self.call()
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_read_out_names_the_day_what_was_done_and_whom_to_call() {
        let words = Words {
            shop_name: "Harrow & Pike Cooling",
            shop_phone: Some("555 0100"),
            number: 41,
            unit_label: "heat pump, yard",
            until: at("2026-11-30T15:00:00Z".parse().unwrap(), Tz::America__Denver),
            measures: &[Measure::AuxiliaryHeat],
            note: "",
        };
        assert_eq!(
            words.read_out(),
            "This is Harrow & Pike Cooling about job 41, heat pump, yard. We come on Monday 30 \
             November, 08:00 at the earliest. The auxiliary heat is on. Auxiliary heat costs more \
             while it runs. If you smell gas or an alarm for carbon monoxide sounds, leave the \
             building and call the emergency number first. If it gets worse before, call 555 0100."
        );
    }

    #[test]
    fn a_caution_that_two_measures_share_is_said_once() {
        let words = Words {
            shop_name: "S",
            shop_phone: None,
            number: 1,
            unit_label: "u",
            until: String::new(),
            measures: &[Measure::SystemOff, Measure::TapsDripping],
            note: "",
        };
        assert_eq!(words.mind().matches("pipes can burst").count(), 1);
    }
}
