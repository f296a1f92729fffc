//! Placeholder: customer.
