//! Small helps with texts.
//!
//! Belongs here: hashing a secret for keeping, hexadecimal, and the checks that every free
//! text goes through. Does not belong here: what one noun's text must look like.

use std::fmt::Write as _;

use sha2::{Digest as _, Sha256};

use crate::error::Fault;

/// Bytes as lower-case hexadecimal.
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(bytes.len() * 2), |mut text, byte| {
        // Writing to a String cannot fail.
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// SHA-256 of a text, in hexadecimal: how a token is kept.
pub fn sha256_hex(text: &str) -> String {
    hex(&Sha256::digest(text.as_bytes()))
}

/// A word as a pattern that finds it anywhere in a text of lower-case letters.
pub(crate) fn like(word: &str) -> String {
    let mut pattern = String::with_capacity(word.len() + 2);
    pattern.push('%');
    for letter in word.to_lowercase().chars() {
        if matches!(letter, '%' | '_' | '\\') {
            pattern.push('\\');
        }
        pattern.push(letter);
    }
    pattern.push('%');
    pattern
}

/// Collects what is wrong with an input, so that it can be mended in one go.
#[derive(Debug, Default)]
pub struct Faults(Vec<Fault>);

impl Faults {
    /// Notes one more.
    pub fn add(&mut self, pointer: &str, says: impl Into<String>) {
        self.0.push(Fault::new(pointer, says));
    }

    /// A text that must say something: trimmed, 1 to `chars_max` characters.
    pub fn text(&mut self, pointer: &str, text: &str, chars_max: usize) -> String {
        let trimmed = text.trim();
        if trimmed.is_empty() {
            self.add(pointer, "This is empty; it needs a few words.");
        }
        self.text_or_empty(pointer, trimmed, chars_max)
    }

    /// A text that may be empty: trimmed, at most `chars_max` characters.
    pub fn text_or_empty(&mut self, pointer: &str, text: &str, chars_max: usize) -> String {
        let trimmed = text.trim();
        let chars = trimmed.chars().count();
        if chars > chars_max {
            self.add(
                pointer,
                format!("This has {chars} characters; at most {chars_max} can be kept."),
            );
        }
        if trimmed.chars().any(|char| char.is_control() && char != '\n' && char != '\t') {
            self.add(pointer, "This holds a character that cannot be shown; take it out.");
        }
        trimmed.to_owned()
    }

    /// A text that may be absent.
    pub fn text_opt(
        &mut self,
        pointer: &str,
        text: Option<&str>,
        chars_max: usize,
    ) -> Option<String> {
        let text = self.text_or_empty(pointer, text?, chars_max);
        (!text.is_empty()).then_some(text)
    }

    /// An e-mail address, by its form.
    pub fn email(&mut self, pointer: &str, text: &str) -> String {
        let trimmed = text.trim();
        let sound = trimmed.len() <= 254
            && trimmed.split_once('@').is_some_and(|(local, domain)| {
                !local.is_empty()
                    && domain.contains('.')
                    && !domain.contains('@')
                    && !domain.starts_with('.')
                    && !domain.ends_with('.')
            })
            && !trimmed.chars().any(|char| char.is_whitespace() || char.is_control());
        if !sound {
            self.add(pointer, "This is not an e-mail address; one looks like name@shop.example.");
        }
        trimmed.to_owned()
    }

    /// Goes on when there is nothing wrong.
    ///
    /// # Errors
    /// Everything noted.
    pub fn done(self) -> Result<(), crate::StoreError> {
        if self.0.is_empty() { Ok(()) } else { Err(crate::StoreError::InvalidMany(self.0)) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_fault_is_told_at_once() {
        let mut faults = Faults::default();

        faults.text("/name", "  ", 10);
        faults.text("/notes", "far too long", 3);
        faults.email("/email", "nobody");
        faults.text("/town", "a\u{0}b", 10);

        let Err(crate::StoreError::InvalidMany(faults)) = faults.done() else {
            panic!("nothing was found")
        };
        let pointers: Vec<_> = faults.iter().map(|fault| fault.pointer.as_str()).collect();
        assert_eq!(pointers, ["/name", "/notes", "/email", "/town"]);
    }

    #[test]
    fn what_is_typed_is_looked_for_as_it_stands() {
        assert_eq!(like("Kiln"), "%kiln%");
        assert_eq!(like("100%_\\"), "%100\\%\\_\\\\%");
    }

    #[test]
    fn an_ordinary_address_is_accepted() {
        let mut faults = Faults::default();
        assert_eq!(faults.email("/email", " ada@shop.example "), "ada@shop.example");
        faults.done().unwrap();
    }
}
