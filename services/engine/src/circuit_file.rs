//! Reading and validating circuit files, and the ones that ship.

use crate::circuit::Circuit;
use crate::problem::{Problem, Problems};

/// A circuit file that ships with the engine.
#[derive(Clone, Copy, Debug)]
pub struct Shipped {
    /// The circuit's name, which is also the file's.
    pub name: &'static str,
    /// The file's text (TOML).
    pub text: &'static str,
}

/// The circuits that ship, by name.
pub fn shipped() -> &'static [Shipped] {
    &[]
}

/// Reads a circuit file (TOML) and validates it; `file` is what problems call it.
///
/// # Errors
/// Each problem names file, line and part.
pub fn parse(file: &str, text: &str) -> Result<Circuit, Problems> {
    toml::from_str(text).map_err(|error| Problem::new(file, error.to_string()).into())
}
