//! Placeholder: unit.
