//! Mail templates: text files with values in double braces.
//!
//! Belongs here: the list of templates and filling them in. Does not belong here: which values
//! there are; the outbox row brings them.
//!
//! A template's first line is `Subject: …`; after an empty line comes the text.

use serde_json::{Map, Value};

use crate::error::NotifyError;

/// Every template, by name.
const TEMPLATES: &[(&str, &str)] = &[
    ("second_read_asked", include_str!("../templates/second_read_asked.txt")),
    ("approval_asked", include_str!("../templates/approval_asked.txt")),
    ("request_decided", include_str!("../templates/request_decided.txt")),
    ("reader_missing", include_str!("../templates/reader_missing.txt")),
    ("read_differs", include_str!("../templates/read_differs.txt")),
    ("guest_code", include_str!("../templates/guest_code.txt")),
    ("guest_invited", include_str!("../templates/guest_invited.txt")),
    ("signin_locked", include_str!("../templates/signin_locked.txt")),
    ("mentioned", include_str!("../templates/mentioned.txt")),
    ("called_out", include_str!("../templates/called_out.txt")),
    ("remote_read_offered", include_str!("../templates/remote_read_offered.txt")),
    ("approval_delegated", include_str!("../templates/approval_delegated.txt")),
    ("neighbour_asked", include_str!("../templates/neighbour_asked.txt")),
    ("job_wanted", include_str!("../templates/job_wanted.txt")),
    ("job_unassigned", include_str!("../templates/job_unassigned.txt")),
    ("job_worse", include_str!("../templates/job_worse.txt")),
    ("holdover_told", include_str!("../templates/holdover_told.txt")),
    ("second_rota_open", include_str!("../templates/second_rota_open.txt")),
    ("swap_offered", include_str!("../templates/swap_offered.txt")),
    ("swap_settled", include_str!("../templates/swap_settled.txt")),
    ("leave_answered", include_str!("../templates/leave_answered.txt")),
];

/// A mail as it will be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// Subject.
    pub subject: String,
    /// Text.
    pub text: String,
}

/// Fills a template in.
///
/// # Errors
/// When there is no such template, or it needs a value that is not there.
pub fn write(template: &str, values: &Map<String, Value>) -> Result<Written, NotifyError> {
    let (_, file) = TEMPLATES
        .iter()
        .find(|(name, _)| *name == template)
        .ok_or_else(|| NotifyError::NoTemplate(template.to_owned()))?;
    let filled = fill(template, file, values)?;
    let (subject, text) = filled
        .strip_prefix("Subject: ")
        .and_then(|rest| rest.split_once("\n\n"))
        .ok_or_else(|| NotifyError::NoTemplate(template.to_owned()))?;
    Ok(Written { subject: subject.trim().to_owned(), text: text.trim_end().to_owned() + "\n" })
}

fn fill(
    template: &str,
    mut rest: &str,
    values: &Map<String, Value>,
) -> Result<String, NotifyError> {
    let mut filled = String::with_capacity(rest.len() * 2);
    while let Some((before, after)) = rest.split_once("{{") {
        filled.push_str(before);
        let Some((name, after)) = after.split_once("}}") else {
            filled.push_str("{{");
            rest = after;
            continue;
        };
        let name = name.trim();
        let missing =
            || NotifyError::NoValue { template: template.to_owned(), name: name.to_owned() };
        match values.get(name).ok_or_else(missing)? {
            // A value stays on its line: a break in the subject would start another header.
            Value::String(text) => filled.push_str(&text.replace(['\r', '\n'], " ")),
            Value::Number(number) => filled.push_str(&number.to_string()),
            _ => return Err(missing()),
        }
        rest = after;
    }
    filled.push_str(rest);
    Ok(filled)
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn values() -> Map<String, Value> {
        let values = json!({
            "to_name": "Ines Alder",
            "shop_name": "Harrow & Pike Cooling",
            "job_number": 41,
            "unit_label": "walk-in cooler, east wall",
            "decision": "approved",
            "tries": 5,
            "how": "The proof, the second read and the cost are on one page:",
            "code": "204816",
            "hours": 24,
            "invited_by": "Rasmus Oake",
            "minutes": 15,
            "waiting": 2,
            "longest": "1 h 10",
            "rule_name": "Half an hour is long enough",
            "amount": "2,500.00",
            "name": "Northgate Heating",
            "message": "Could you take two no-heat calls tonight?",
            "urgency": "no heat with a vulnerable occupant",
            "until": "Monday 30 November, 08:00",
            "done": "The auxiliary heat is on.",
            "mind": "Auxiliary heat costs more while it runs.",
            "call": "call 555 0100",
            "duty_from": "Sat 5 Dec, 08:00",
            "duty_until": "Sun 6 Dec, 20:00",
            "from_name": "Rasmus Oake",
            "other_name": "Rasmus Oake",
            "duty": "Fri 4 Dec, 17:00 to Mon 7 Dec, 08:00 (on call)",
            "wants": "in return for yours Fri 11 Dec, 17:00 to Mon 14 Dec, 08:00 (on call)",
            "state": "accepted",
            "answer": "granted",
            "days": "Mon 14 Dec, 00:00 to Fri 18 Dec, 00:00",
            "words": "Have a good rest.",
            "why": "Four calls without heat and one van.",
            "link": "https://shop.example/jobs/0192e4a0-7c1b-7d52-9f0e-3a54c1f0a1b2",
        });
        values.as_object().unwrap().clone()
    }

    #[test]
    fn every_mail_reads_as_its_golden_copy() {
        let golden = [
            ("second_read_asked", include_str!("../golden/second_read_asked.txt")),
            ("approval_asked", include_str!("../golden/approval_asked.txt")),
            ("request_decided", include_str!("../golden/request_decided.txt")),
            ("reader_missing", include_str!("../golden/reader_missing.txt")),
            ("read_differs", include_str!("../golden/read_differs.txt")),
            ("guest_code", include_str!("../golden/guest_code.txt")),
            ("guest_invited", include_str!("../golden/guest_invited.txt")),
            ("signin_locked", include_str!("../golden/signin_locked.txt")),
            ("mentioned", include_str!("../golden/mentioned.txt")),
            ("called_out", include_str!("../golden/called_out.txt")),
            ("remote_read_offered", include_str!("../golden/remote_read_offered.txt")),
            ("approval_delegated", include_str!("../golden/approval_delegated.txt")),
            ("neighbour_asked", include_str!("../golden/neighbour_asked.txt")),
            ("job_wanted", include_str!("../golden/job_wanted.txt")),
            ("job_unassigned", include_str!("../golden/job_unassigned.txt")),
            ("job_worse", include_str!("../golden/job_worse.txt")),
            ("holdover_told", include_str!("../golden/holdover_told.txt")),
            ("second_rota_open", include_str!("../golden/second_rota_open.txt")),
            ("swap_offered", include_str!("../golden/swap_offered.txt")),
            ("swap_settled", include_str!("../golden/swap_settled.txt")),
            ("leave_answered", include_str!("../golden/leave_answered.txt")),
        ];
        let names: Vec<&str> = TEMPLATES.iter().map(|(name, _)| *name).collect();
        assert_eq!(golden.map(|(name, _)| name).to_vec(), names);
        for (name, expected) in golden {
            let written = write(name, &values()).unwrap();
            let seen = format!("Subject: {}\n\n{}", written.subject, written.text);
            assert_eq!(seen, expected, "{name}");
        }
    }

    #[test]
    fn no_mail_about_a_second_read_can_leak_the_claim_and_none_to_a_guest_the_customer() {
        let of_job = ["to_name", "shop_name", "job_number", "unit_label", "link"].as_slice();
        let to_guest = ["invited_by", "shop_name", "code", "minutes", "hours", "link"].as_slice();
        for (template, neutral) in [
            ("second_read_asked", of_job),
            ("reader_missing", of_job),
            ("read_differs", of_job),
            ("remote_read_offered", of_job),
            ("guest_code", to_guest),
            ("guest_invited", to_guest),
        ] {
            let (_, text) = TEMPLATES.iter().find(|(name, _)| *name == template).unwrap();
            for name in text.split("{{").skip(1) {
                let name = name.split("}}").next().unwrap();
                assert!(neutral.contains(&name), "{template}: {name} could say too much");
            }
        }
    }

    #[test]
    fn a_missing_value_is_named() {
        let error = write("request_decided", &Map::new()).unwrap_err();
        assert!(error.to_string().contains("needs a value for"), "{error}");
    }

    #[test]
    fn a_value_cannot_add_a_header() {
        let mut values = values();
        values.insert("job_number".to_owned(), json!("41\nBcc: someone@else.example"));
        let written = write("second_read_asked", &values).unwrap();
        assert!(!written.subject.contains('\n'));
    }
}
