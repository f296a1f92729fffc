//! The row of table `unit`.

use chrono::{DateTime, NaiveDate, Utc};
use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "unit")]
pub(crate) struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub(crate) id: Uuid,
    pub(crate) shop_id: Uuid,
    pub(crate) site_id: Uuid,
    pub(crate) label: String,
    pub(crate) maker: String,
    pub(crate) model: String,
    pub(crate) serial: String,
    pub(crate) circuit: String,
    pub(crate) circuit_version: Option<i32>,
    pub(crate) refrigerant: Option<String>,
    pub(crate) flammable: bool,
    pub(crate) installed_on: Option<NaiveDate>,
    pub(crate) warranty_until: Option<NaiveDate>,
    #[sea_orm(column_type = "JsonBinary")]
    pub(crate) specs: Json,
    pub(crate) version: i32,
    pub(crate) created_at: DateTime<Utc>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub(crate) enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
