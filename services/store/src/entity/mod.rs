//! The sea-orm entities of the nouns that are plain rows: read, added and changed by id.
//!
//! Belongs here: columns and their types. Does not belong here: anything a caller sees; each
//! noun turns its row into a struct of its own.

pub(crate) mod customer;
pub(crate) mod person;
pub(crate) mod shop;
pub(crate) mod site;
pub(crate) mod unit;
