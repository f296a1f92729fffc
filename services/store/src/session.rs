//! Placeholder: session.
