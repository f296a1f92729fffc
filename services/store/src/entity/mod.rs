//! The sea-orm entities behind the nouns.
