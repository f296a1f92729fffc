//! The row of table `person`.

use chrono::{DateTime, Utc};
use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "person")]
pub(crate) struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub(crate) id: Uuid,
    pub(crate) shop_id: Uuid,
    pub(crate) email: String,
    pub(crate) name: String,
    pub(crate) password_hash: String,
    pub(crate) roles: Vec<String>,
    pub(crate) qualifications: Vec<String>,
    pub(crate) phone: Option<String>,
    pub(crate) licence: Option<String>,
    pub(crate) active: bool,
    pub(crate) created_at: DateTime<Utc>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub(crate) enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
