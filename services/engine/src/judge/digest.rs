//! What a countersignature is pinned to.
//!
//! Belongs here: the digest over everything that a judgement depends on. Does not belong here: who
//! signs it.

use std::collections::BTreeMap;

use serde::Serialize;
use sha2::{Digest, Sha256};

use super::ENGINE_VERSION;
use crate::case::{Case, Claim, Observation, Reading, Spec};
use crate::policy::Policy;
use crate::rates::Rates;

/// Everything that a judgement depends on.
#[derive(Serialize)]
struct Evidence<'a> {
    engine: &'a str,
    circuit: &'a str,
    circuit_sha256: &'a str,
    specs: &'a BTreeMap<String, Spec>,
    claim: &'a Option<Claim>,
    readings: &'a [Reading],
    observations: &'a [Observation],
    policy: &'a Policy,
    // A case without them keeps the digest that it always had.
    #[serde(skip_serializing_if = "Option::is_none")]
    rates: &'a Option<Rates>,
}

/// SHA-256 (hex) of it as canonical JSON (RFC 8785).
pub(super) fn evidence_digest(case: &Case, policy: &Policy, circuit_digest: &str) -> String {
    let evidence = Evidence {
        engine: ENGINE_VERSION,
        circuit: &case.circuit,
        circuit_sha256: circuit_digest,
        specs: &case.specs,
        claim: &case.claim,
        readings: &case.readings,
        observations: &case.observations,
        policy,
        rates: &case.rates,
    };
    // Validated input has finite numbers and string keys only, the two things that could fail.
    let canonical = serde_json_canonicalizer::to_vec(&evidence).unwrap_or_default();
    sha256_hex(&canonical)
}

pub(super) fn sha256_hex(bytes: &[u8]) -> String {
    let digits = Sha256::digest(bytes).into_iter().flat_map(|byte| [byte >> 4, byte & 15]);
    digits.filter_map(|digit| char::from_digit(u32::from(digit), 16)).collect()
}
