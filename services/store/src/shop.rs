//! Placeholder: shop.
