//! Placeholder: job.
