//! Conversions of the engine's plain data into what people and programs read; one small file each.

pub(crate) mod difference;
pub(crate) mod drawing;
pub(crate) mod excerpt;
pub(crate) mod fields;
pub(crate) mod grades;
pub(crate) mod guide;
pub(crate) mod json;
mod json_values;
pub(crate) mod junit;
mod measure_list;
pub(crate) mod packet;
pub(crate) mod paper;
pub(crate) mod report;
pub(crate) mod report_schema;
pub(crate) mod sarif;
pub(crate) mod since;
pub(crate) mod stream;
pub(crate) mod text;
pub(crate) mod working;
pub(crate) mod wrap;
