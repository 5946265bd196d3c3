//! All that Hangtrue knows of measuring, making and hanging. Start with [`length`], then [`house`].
//!
//! Modules stand in the order of the house plan, lowest first; a module uses only those above it in this list.

#![forbid(unsafe_code)]
#![deny(missing_docs)]

pub mod apart;
pub mod buying;
pub mod care;
pub mod cloth;
pub mod cutlist;
pub mod fact;
pub mod fixing;
pub mod flag;
pub mod house;
pub mod json;
pub mod kit;
pub mod label;
pub mod length;
pub mod makeup;
pub mod money;
pub mod mount;
pub mod price;
pub mod settings;
pub mod sheet;
pub mod stand;
pub mod store;
pub mod sync;
pub mod truth;
pub mod walk;
pub mod work;
