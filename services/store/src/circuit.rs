//! Circuits: the ones that ship, read once.
//!
//! Belongs here: finding a circuit by name. Does not belong here: reading the file's text,
//! which is the engine's.

use std::sync::OnceLock;

use engine::circuit::Circuit;
use engine::circuit_file;

use crate::error::StoreError;

/// A circuit with the text it was read from, which a condemn request keeps.
#[derive(Clone, Debug)]
pub struct Known {
    /// As read.
    pub circuit: Circuit,
    /// Its file.
    pub text: &'static str,
}

/// Every circuit that can be chosen, by name.
///
/// # Errors
/// When a shipped file does not read; the engine's tests keep that from happening.
pub fn list() -> Result<&'static [Known], StoreError> {
    static KNOWN: OnceLock<Result<Vec<Known>, engine::problem::Problems>> = OnceLock::new();
    let known = KNOWN.get_or_init(|| {
        circuit_file::shipped()
            .iter()
            .map(|shipped| {
                let file = format!("{}.toml", shipped.name);
                let circuit = circuit_file::parse(&file, shipped.text)?;
                Ok(Known { circuit, text: shipped.text })
            })
            .collect()
    });
    match known {
        Ok(known) => Ok(known),
        Err(problems) => Err(StoreError::corrupt("circuit", problems.clone())),
    }
}

/// The circuit of that name.
///
/// # Errors
/// `NotFound` when there is none.
pub fn find(name: &str) -> Result<&'static Known, StoreError> {
    list()?
        .iter()
        .find(|known| known.circuit.name == name)
        .ok_or(StoreError::NotFound { what: "circuit" })
}
