//! What the pages about the house claim, checked.
//!
//! Belongs here: claims about the tree as a whole: who depends on whom, what every file must
//! have, what no file may have. Does not belong here: what the code does.

mod dependencies;
mod files;
mod pages;
