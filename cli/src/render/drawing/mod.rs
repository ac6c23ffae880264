//! Drawings as SVG. What they show is decided in the engine's papers; here it is only put to scale.

pub(crate) mod elevation;
pub(crate) mod makeup;
pub(crate) mod panel;
pub(crate) mod plan;
pub(crate) mod spread;
pub(crate) mod stick;
pub(crate) mod svg;
pub(crate) mod symbol;
