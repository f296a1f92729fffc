//! Threads and their messages.
