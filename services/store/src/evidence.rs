//! Readings, strikes and observations of a job.
