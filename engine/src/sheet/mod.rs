//! The papers of a job as plain data: what goes to the wall, to the supply house, to the inspector and to the owner.
//!
//! Every paper is made at a [`Desk`] from the job, the code in force and what the inspection found; renderers turn it into
//! text, CSV, drawings or a page and add nothing of their own. Figures of the shop (which point of a box the crew marks,
//! make-up allowance, waste) are read through the book; where the shop's book has none, the paper says what is missing.

mod desk;
mod directory;
mod evidence;
mod figure;
mod findings;
mod loads;
pub mod makeup;
pub mod markout;
mod masthead;
pub mod panel;
mod parts;
mod readings;
mod runs;
mod takeoff;
#[cfg(test)]
mod tests;
mod walk;

pub use desk::Desk;
pub use directory::{Directory, LegLoad, Slot, directories};
pub use evidence::{Closest, ExceptedRule, MetRule, excepted_rules, met_rules};
pub use figure::Figure;
pub use findings::{SourceLine, source_line};
pub use loads::{LoadSheet, load_sheets};
pub use makeup::{BoxSheet, make_ups};
pub use markout::{MarkOut, mark_out};
pub use masthead::{Amendment, CAUTIONS, Masthead, NOTICE, Unverified};
pub use panel::{PanelSheet, has_panel_sheets, panel_sheets};
pub use readings::{CircuitReadings, Limit, Reading, TestRecord, test_record};
pub use takeoff::{Amount, Group, RoomPart, TakeOff, TakeOffLine, take_off};
pub use walk::{Evidence, Question, ToLookAt, ToMeasure, ToPutRight, WalkList, WalkRoom, WalkStage, walk_list};
