//! Coverage: whether receptacles reach every point of the walls of a room and of its counters.

mod counter;
mod hall;
mod island;
pub mod line;
mod receptacles;
#[cfg(test)]
mod tests;
mod wall;

pub use counter::{CounterCoverage, CounterSpace, counter_coverage, counter_uncovered};
pub use hall::centre_line;
pub use island::{area_of_counter, counter_receptacles, receptacles_for_area, receptacles_needed};
pub use line::{Farthest, Stretch, fewest, stretches};
pub use receptacles::{Standing, counts_for_counter, counts_for_wall, counts_in_room};
pub use wall::{WallCoverage, WallSpace, longest_bare_wall, receptacles_counted, wall_coverage, wall_uncovered};
