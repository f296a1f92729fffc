//! Placeholder: private_pg.
