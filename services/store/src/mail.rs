//! Placeholder: mail.
