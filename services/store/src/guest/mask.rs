//! What is taken out of every text before a guest sees it: whose house it is.
//!
//! Belongs here: finding a customer's name, address, telephone and e-mail in free text. Does
//! not belong here: which texts a guest sees.
//!
//! Fields that hold such things are never sent to a guest at all; this is for what people
//! wrote where nobody asked for it: "Mrs Quill is home until four".

use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::Value;
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::person::Caller;
use crate::thread::Message;

/// What stands where something was taken out.
pub const TAKEN_OUT: &str = "[customer]";

/// Letters of a word of the customer's name from which on it is looked for by itself; shorter
/// ones ("of", "and") are too common.
const NAME_WORD_LETTERS_MIN: usize = 3;

/// Digits of a telephone number from which on it is looked for; fewer would meet readings.
const PHONE_DIGITS_MIN: usize = 6;

/// What a customer's details look like in text.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Mask {
    /// Looked for as they stand, whatever their case; longest first.
    phrases: Vec<String>,
    /// Looked for as whole words, with their capitals.
    words: Vec<String>,
    /// Telephone numbers, digits only.
    phones: Vec<String>,
}

#[derive(FromQueryResult)]
struct Row {
    name: String,
    phone: Option<String>,
    email: Option<String>,
    address: String,
    town: String,
}

impl Mask {
    /// For the customer of a job.
    ///
    /// # Errors
    /// `NotFound`, or when the database fails.
    pub async fn of_job<C: ConnectionTrait>(conn: &C, job_id: Uuid) -> Result<Self, StoreError> {
        let row = Row::find_by_statement(sql(
            "SELECT customer.name, customer.phone, customer.email, site.address, site.town \
             FROM job JOIN unit ON unit.id = job.unit_id JOIN site ON site.id = unit.site_id \
             JOIN customer ON customer.id = site.customer_id WHERE job.id = $1",
            [job_id.into()],
        ))
        .one(conn)
        .await?
        .ok_or(StoreError::NotFound { what: "job" })?;
        let phrases = [Some(row.name.clone()), row.email, Some(row.address)];
        Ok(Mask::new(phrases.into_iter().flatten(), &[&row.name, &row.town], row.phone.as_deref()))
    }

    /// From phrases, texts whose capitalised words count by themselves, and a number.
    pub fn new(
        phrases: impl IntoIterator<Item = String>,
        wordy: &[&str],
        phone: Option<&str>,
    ) -> Self {
        let mut phrases: Vec<String> =
            phrases.into_iter().map(|phrase| phrase.trim().to_lowercase()).collect();
        phrases.retain(|phrase| phrase.chars().count() >= NAME_WORD_LETTERS_MIN);
        phrases.sort_by_key(|phrase| std::cmp::Reverse(phrase.len()));
        let words = wordy
            .iter()
            .flat_map(|text| text.split(|char: char| !char.is_alphanumeric()))
            .filter(|word| word.chars().count() >= NAME_WORD_LETTERS_MIN)
            .filter(|word| word.chars().next().is_some_and(char::is_uppercase))
            .map(str::to_owned)
            .collect();
        let digits: String =
            phone.unwrap_or_default().chars().filter(char::is_ascii_digit).collect();
        let phones = if digits.len() >= PHONE_DIGITS_MIN { vec![digits] } else { Vec::new() };
        Mask { phrases, words, phones }
    }

    /// Every text in a value without them; ids stay as they are.
    pub fn value(&self, value: &mut Value) {
        match value {
            Value::String(text) => *text = self.text(text),
            Value::Array(all) => all.iter_mut().for_each(|one| self.value(one)),
            Value::Object(fields) => fields
                .iter_mut()
                .filter(|(name, _)| *name != "id" && !name.ends_with("_id"))
                .for_each(|(_, one)| self.value(one)),
            Value::Null | Value::Bool(_) | Value::Number(_) => {}
        }
    }

    /// The text without them.
    pub fn text(&self, text: &str) -> String {
        let mut text = text.to_owned();
        for phrase in &self.phrases {
            text = without_phrase(&text, phrase);
        }
        for digits in &self.phones {
            text = without_number(&text, digits);
        }
        without_words(&text, &self.words)
    }
}

/// Masks messages for a caller who is a guest; everybody else's stay as they are.
pub(crate) async fn messages(
    store: &Store,
    caller: &Caller,
    messages: &mut [Message],
) -> Result<(), StoreError> {
    let Some(guest) = caller.guest else { return Ok(()) };
    let mask = Mask::of_job(store.conn(), guest.job_id).await?;
    for message in messages {
        // By its stored form, so that a text which a message learns to carry is masked too.
        let corrupt = |error| StoreError::corrupt("message", error);
        let mut body = serde_json::to_value(&message.body).map_err(corrupt)?;
        mask.value(&mut body);
        message.body = serde_json::from_value(body).map_err(corrupt)?;
    }
    Ok(())
}

/// Compares character by character, since lower case can be longer than upper.
fn without_phrase(text: &str, phrase_lower: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        match length_of_match(rest, phrase_lower) {
            Some(length) => {
                out.push_str(TAKEN_OUT);
                rest = &rest[length..];
            }
            None => {
                out.push(first);
                rest = &rest[first.len_utf8()..];
            }
        }
    }
    out
}

/// Bytes at the start of `text` that say the phrase in any case.
fn length_of_match(text: &str, phrase_lower: &str) -> Option<usize> {
    let mut wanted = phrase_lower.chars().peekable();
    for (at, char) in text.char_indices() {
        if wanted.peek().is_none() {
            return Some(at);
        }
        for lower in char.to_lowercase() {
            if wanted.next() != Some(lower) {
                return None;
            }
        }
    }
    wanted.peek().is_none().then_some(text.len())
}

/// Takes out runs of digits, spaces and the like that end in this number.
fn without_number(text: &str, digits: &str) -> String {
    let within = |char: char| char.is_ascii_digit() || " -./()+".contains(char);
    let mut out = String::with_capacity(text.len());
    let mut run = String::new();
    for char in text.chars().map(Some).chain([None]) {
        match char {
            Some(char) if within(char) => run.push(char),
            other => {
                let dialled: String = run.chars().filter(char::is_ascii_digit).collect();
                if dialled.contains(digits) {
                    let lead = run.len() - run.trim_start().len();
                    let tail = run.trim_end().len();
                    out.push_str(&run[..lead]);
                    out.push_str(TAKEN_OUT);
                    out.push_str(&run[tail..]);
                } else {
                    out.push_str(&run);
                }
                run.clear();
                out.extend(other);
            }
        }
    }
    out
}

fn without_words(text: &str, words: &[String]) -> String {
    let mut out = String::with_capacity(text.len());
    let mut word = String::new();
    for char in text.chars().map(Some).chain([None]) {
        match char {
            Some(char) if char.is_alphanumeric() => word.push(char),
            other => {
                out.push_str(if words.contains(&word) { TAKEN_OUT } else { &word });
                word.clear();
                out.extend(other);
            }
        }
    }
    // A word taken out beside one already taken out is one customer.
    out.replace("[[customer]]", TAKEN_OUT)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mask() -> Mask {
        let phrases = ["Orsolya Quill", "9 Kiln Row", "quill@post.example"].map(str::to_owned);
        Mask::new(phrases, &["Orsolya Quill", "Fernwick"], Some("+47 555 01 42"))
    }

    #[test]
    fn names_addresses_and_numbers_are_taken_out_however_they_are_written() {
        let check = |text: &str, seen: &str| assert_eq!(mask().text(text), seen);

        check("Mrs Quill is home until 4.", "Mrs [customer] is home until 4.");
        check("ORSOLYA QUILL, 9 kiln row!", "[customer], [customer]!");
        check("Call +47 55-501 42 now", "Call [customer] now");
        check("mail QUILL@post.example", "mail [customer]");
        check("In Fernwick, behind Quill's shed", "In [customer], behind [customer]'s shed");
    }

    #[test]
    fn what_is_no_customer_stays_as_it_is() {
        for text in ["A quill pen", "C to S 1.3 ohm, 5550 rpm", "", "r4: 55 50 14", "İstanbul ß"]
        {
            assert_eq!(mask().text(text), text);
        }
        assert_eq!(Mask::default().text("Mrs Quill"), "Mrs Quill");
    }

    #[test]
    fn every_text_of_a_value_is_masked_and_no_id() {
        let mut value = serde_json::json!({ "text": "Quill called", "photo_id": "Quill",
            "people": [{ "name": "Orsolya Quill", "id": "Quill" }], "seconds": 3 });
        mask().value(&mut value);
        let expected = serde_json::json!({ "text": "[customer] called", "photo_id": "Quill",
            "people": [{ "name": "[customer]", "id": "Quill" }], "seconds": 3 });
        assert_eq!(value, expected);
    }

    #[test]
    fn a_masked_text_masks_to_itself() {
        let once = mask().text("Orsolya Quill, 9 Kiln Row, Fernwick, 47 555 0142");
        assert_eq!(mask().text(&once), once);
        assert!(!once.contains("Kiln") && !once.contains("0142"), "{once}");
    }
}
