//! Countersignatures.
