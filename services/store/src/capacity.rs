//! Capacity of a shop: what a coming span is reckoned from, and what comes out.
//!
//! Belongs here: asking for an outlook, in the words of a span. [`setting`] keeps what a shop
//! says about waits and weather, [`days`] knows the hours of a span, [`people`] who is on duty,
//! [`past`] what was, [`places`] where it was, [`inputs`] puts them together. Does not belong here: the reckoning
//! ([`roster::capacity`]).

pub mod days;
pub mod inputs;
pub mod outlook;
pub mod past;
pub mod people;
pub mod places;
pub mod setting;

pub use days::SpanName;
pub use inputs::Inputs;
pub use outlook::{Cache, Forecast, forecast, forecast_lately};
pub use setting::{CapacitySetting, SettingChange, WeatherDay};
