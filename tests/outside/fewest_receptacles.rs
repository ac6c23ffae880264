//! The fewest receptacles of a proposal against an integer program, solved by an outside library, on random rooms.
//!
//! Lengths are in steps of 6 in. Places and reach are whole steps, so that a wall is covered exactly when every step of it lies
//! between some receptacle and its reach: the program has one unknown for each place and one condition for each step.

use good_lp::{Expression, Solution, SolverModel, constraint, microlp, variable, variables};
use storystick_engine::calc::coverage::{Stretch, stretches};
use storystick_engine::layout::cover::{evened, fewest_places};

use crate::random::Random;

/// 6 ft, the reach of the model code along walls (210.52(A)(1)), in steps.
const REACH: i64 = 12;

/// Returns the fewest receptacles for a stretch by an integer program, or nothing where the places do not suffice.
fn by_program(stretch: &Stretch, stand: &[i64], places: &[i64]) -> Option<usize> {
    let covers = |at: i64, step: i64| {
        let turns: &[i64] = if stretch.closed { &[-1, 0, 1] } else { &[0] };
        turns.iter().any(|turn| {
            let at = at + turn * stretch.length;
            at - REACH <= step && at + REACH > step
        })
    };
    let mut unknowns = variables!();
    let chosen: Vec<_> = places.iter().map(|_| unknowns.add(variable().binary())).collect();
    let mut conditions = Vec::new();
    for step in (0..stretch.length).filter(|&step| !stand.iter().any(|&at| covers(at, step))) {
        let near: Vec<_> = places.iter().zip(&chosen).filter(|(at, _)| covers(**at, step)).map(|(_, it)| *it).collect();
        if near.is_empty() {
            return None;
        }
        conditions.push(constraint!(near.into_iter().sum::<Expression>() >= 1));
    }
    let mut program = unknowns.minimise(chosen.iter().sum::<Expression>()).using(microlp);
    for condition in conditions {
        program.add_constraint(condition);
    }
    let solved = program.solve().unwrap();
    Some(chosen.iter().filter(|it| solved.value(**it) > 0.5).count())
}

#[test]
fn no_choice_of_places_needs_fewer() {
    let mut random = Random::new(20_261_125);
    let (mut rooms, mut compared, mut refused) = (0, 0, 0);
    while rooms < 150 {
        let (length, width) = (random.within(14, 44), random.within(14, 36));
        let outline = 2 * (length + width);
        let breaks: Vec<(i64, i64)> = (0..random.within(0, 4))
            .map(|_| {
                let at = random.within(0, outline - 13);
                (at, at + random.within(4, 12))
            })
            .collect();
        rooms += 1;
        // Every place, every third (studs at 18 in), or now and then too few.
        let every = [1, 1, 3, 29][random.within(0, 3) as usize];
        for stretch in stretches(outline, true, &breaks) {
            let places: Vec<i64> = (0..=stretch.length)
                .filter(|at| at % every == 0 && !(stretch.closed && *at == stretch.length))
                .collect();
            let stand: Vec<i64> = if random.once_in(3) { vec![random.within(0, stretch.length)] } else { Vec::new() };
            let found = fewest_places(stretch.length, stretch.closed, &stand, &places, REACH);
            let fewest = by_program(&stretch, &stand, &places);
            assert_eq!(found.as_ref().map(Vec::len), fewest, "{stretch:?} {stand:?} every {every}: {found:?}");
            compared += 1;
            let Some(found) = found else {
                refused += 1;
                continue;
            };
            let mut all: Vec<i64> = found.iter().chain(&stand).copied().collect();
            all.sort_unstable();
            assert_eq!(stretch.uncovered(&all, REACH), [], "{stretch:?} {all:?}");
            if stand.is_empty() && !stretch.closed {
                let even = evened(stretch.length, &places, found.clone(), REACH);
                assert_eq!(even.len(), found.len());
                assert_eq!(stretch.uncovered(&even, REACH), [], "{stretch:?} {even:?}");
            }
        }
    }
    assert!(compared >= 250 && refused > 0, "{compared} stretches, {refused} without enough places");
}
