//! Condemn requests.
