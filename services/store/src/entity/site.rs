//! The row of table `site`.

use chrono::{DateTime, Utc};
use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "site")]
pub(crate) struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub(crate) id: Uuid,
    pub(crate) shop_id: Uuid,
    pub(crate) customer_id: Uuid,
    pub(crate) address: String,
    pub(crate) town: String,
    pub(crate) altitude_ft: Option<i32>,
    pub(crate) zone: String,
    pub(crate) latitude: Option<f64>,
    pub(crate) longitude: Option<f64>,
    pub(crate) notes: String,
    pub(crate) version: i32,
    pub(crate) created_at: DateTime<Utc>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub(crate) enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
