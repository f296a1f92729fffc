//! The proposal for a day or a weekend: who goes where, and when.
//!
//! Belongs here: putting a roster's jobs, people and windows to the routing library, and its
//! answer back into ours. Does not belong here: rest rules and fairness (the roster's), rows
//! and requests.
