//! Placeholder: site.
