//! Shapes that several nouns share.
//!
//! Belongs here: a person's name beside an id. Does not belong here: a noun's own shape.

use serde::{Deserialize, Deserializer, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// A person, as named beside what they did.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct PersonRef {
    /// Id.
    pub id: Uuid,
    /// Name.
    pub name: String,
}

impl PersonRef {
    /// From an id and a name that are both there or both absent.
    pub fn from_parts(id: Option<Uuid>, name: Option<String>) -> Option<Self> {
        Some(PersonRef { id: id?, name: name? })
    }
}

/// Reads a value that may be left alone (absent), cleared (null) or set.
///
/// # Errors
/// When the value is there and wrong.
pub fn absent_or<'de, T, D>(deserializer: D) -> Result<Option<Option<T>>, D::Error>
where
    T: Deserialize<'de>,
    D: Deserializer<'de>,
{
    Option::<T>::deserialize(deserializer).map(Some)
}
