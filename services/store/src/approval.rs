//! Approvals and refusals.
