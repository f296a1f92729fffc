//! Placeholder: board.
