//! Computations: what follows from a job and the code in force, each with its worksheet.
//!
//! Two layers. The pure computations ([`box_fill()`], [`ampacity()`], [`load`], [`coverage`], …) work on plain inputs and on [`Code`]; papers and other programs
//! use them straight. The derived fields of items gather those inputs from a job and hand the result to rules;
//! [`Library`] knows which function fills which field, and a program that embeds the engine adds its own.
//!
//! No number of any code stands here: every allowance, table and limit is asked of the book by its key. A value
//! that cannot be computed because nobody recorded an input names the fields that would decide it; one that cannot be
//! computed because the input or the code is at fault says so at the place. Nothing is extrapolated.

mod ampacity;
mod appliance_voltage;
mod arith;
mod basin;
mod book_code;
mod box_fill;
mod circuit_load;
mod code;
pub mod conductor;
pub mod configuration;
pub mod coverage;
mod derive;
mod electrodes;
mod given;
mod heights;
mod index;
mod inputs;
mod keys;
pub mod load;
mod operable;
mod outline;
mod panel;
pub mod protection;
mod protection_seen;
mod raceway_fill;
mod reach;
mod runs;
mod standard;
mod taken;
#[cfg(test)]
pub(crate) mod testing;
#[cfg(test)]
mod tests;
pub mod voltage_drop;
mod watched;
mod wired;
mod worksheet;

pub use ampacity::{
    Ampacity, CableConditions, Correction, Run, ampacity, ampacity_of_cable, cable_conditions, correction_by_formula,
    smallest_by_table, table_value,
};
pub use box_fill::{
    BoxContents, BoxFill, Family, Offered, Wires, Yoke, allowance, box_contents, box_fill, capacity, most_conductors,
    proposal, smallest_box,
};
pub use circuit_load::{leg_loads, stated_load};
pub use code::{Clause, Code, Datum, Known, Match};
pub use derive::{Ctx, DeriveFn, Derived, Library, facts};
pub use given::{Gap, Traced};
pub use heights::{BoxHeights, box_heights};
pub use index::Index;
pub use keys::may_ask;
pub use operable::{Operable, operable};
pub use outline::{Outline, Side, outline};
pub use raceway_fill::{
    Duct, RacewayFill, Strand, fill_of_raceway, most_in_raceway, raceway_fill, room_for, smallest_raceway,
};
pub use reach::{Approach, Obstruction, Reach, reach};
pub(crate) use taken::taken_for_granted;
pub use watched::{Watched, entries_asked};
pub use worksheet::{Line, Sheet};

use given::{count_of, shown};
