//! The condemn request's states and moves, as a pure machine.
