//! The load worksheet of the dwelling.

use super::Desk;
pub use crate::calc::load::LoadSheet;
use crate::calc::load::load_worksheets;

/// Returns the parts of the load worksheet, each with its lines, or with what is missing.
pub fn load_sheets(desk: &Desk<'_>) -> Vec<LoadSheet> {
    load_worksheets(&desk.ctx)
}
