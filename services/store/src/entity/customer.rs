//! The row of table `customer`.

use chrono::{DateTime, Utc};
use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "customer")]
pub(crate) struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub(crate) id: Uuid,
    pub(crate) shop_id: Uuid,
    pub(crate) name: String,
    pub(crate) phone: Option<String>,
    pub(crate) email: Option<String>,
    pub(crate) notes: String,
    pub(crate) version: i32,
    pub(crate) created_at: DateTime<Utc>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub(crate) enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
