//! Conversions of the engine's plain data into what people and programs read; one small file each.

pub mod json;
pub mod junit;
pub mod report;
pub mod sarif;
pub mod source;
pub mod text;
pub mod wrap;
