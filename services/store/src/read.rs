//! Blind reads.
