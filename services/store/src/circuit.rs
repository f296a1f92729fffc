//! Circuits: the ones that ship and the shop's own.
