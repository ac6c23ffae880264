//! The papers as text for a terminal or a plain printer, and as CSV.

pub(crate) mod csv;
pub(crate) mod directory;
pub(crate) mod head;
pub(crate) mod makeup;
pub(crate) mod makeup_json;
pub(crate) mod markout;
pub(crate) mod panel;
pub(crate) mod panel_json;
pub(crate) mod readings;
pub(crate) mod table;
pub(crate) mod takeoff;
pub(crate) mod walk;
