// Placeholder until the engine side is in: native only.
use crate::common::{Check, Reading, checks, nm};
/// Native.
pub fn native(items: &[Reading]) -> impl FnMut() -> usize + '_ { let checks=checks(); move || { let _=&checks; crate::common::failures(items) } }
/// Lowered.
pub fn lowered(items: &[Reading]) -> impl FnMut() -> usize + '_ { move || { let _ = Check::Ok; let _=nm(1); crate::common::failures(items) } }
/// Ref.
pub fn reference(items: &[Reading]) -> impl FnMut() -> usize + '_ { move || crate::common::failures(items) }
