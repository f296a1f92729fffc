//! The row of table `shop`.

use chrono::{DateTime, Utc};
use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "shop")]
pub(crate) struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub(crate) id: Uuid,
    pub(crate) name: String,
    pub(crate) zone: String,
    pub(crate) currency: String,
    pub(crate) phone: Option<String>,
    pub(crate) approval_limit_cents: i64,
    #[sea_orm(column_type = "JsonBinary")]
    pub(crate) policy: Json,
    #[sea_orm(column_type = "JsonBinary")]
    pub(crate) approval_rules: Json,
    pub(crate) created_at: DateTime<Utc>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub(crate) enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
