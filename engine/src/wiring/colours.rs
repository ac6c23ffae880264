//! Which conductor of a cable takes which function.

use super::network::Colour;
use super::signal::Signal;

/// Gives functions to conductors; the rest of either stays without the other.
///
/// The grounded conductor is white. Where none is, white is re-marked for a traveller, or for the supply of a switch: never
/// for its return where another choice is left (the white of a switch loop may feed the switch, NEC 200.7(C)(1) of 2020).
pub(super) fn assign(signals: &[Signal], colours: &[Colour]) -> Vec<Option<Signal>> {
    let mut given: Vec<Option<Signal>> = vec![None; colours.len()];
    let mut rest: Vec<Signal> = Vec::new();
    let free = |given: &[Option<Signal>], white: bool| {
        colours.iter().enumerate().position(|(at, colour)| {
            given[at].is_none() && *colour != Colour::Bare && (*colour == Colour::White) == white
        })
    };
    let mut extra = Vec::new();
    for &signal in signals {
        if !signal.is_grounded() {
            rest.push(signal);
        } else if let Some(at) = free(&given, true) {
            given[at] = Some(signal);
        } else {
            extra.push(signal);
        }
    }
    rest.sort_by_key(|signal| order(*signal));
    rest.extend(extra);
    let dark = colours.iter().filter(|colour| !matches!(colour, Colour::White | Colour::Bare)).count();
    let mut for_white = rest.len().saturating_sub(dark);
    while for_white > 0 {
        let Some(victim) = (0..rest.len()).min_by_key(|&at| (remark_order(rest[at]), std::cmp::Reverse(at))) else {
            break;
        };
        let Some(at) = free(&given, true) else { break };
        given[at] = Some(rest.remove(victim));
        for_white -= 1;
    }
    for signal in rest {
        if let Some(at) = free(&given, false) {
            given[at] = Some(signal);
        }
    }
    given
}

/// Parts functions among runs that lie side by side, so that what comes back over a run also went out over it where that can be
/// told: both travellers and the leg of a group belong together, all else goes with the neutral.
pub(super) fn assign_runs(signals: &[Signal], runs: &[Vec<Colour>]) -> Vec<Vec<Option<Signal>>> {
    let room = |colours: &Vec<Colour>| colours.iter().filter(|colour| **colour != Colour::Bare).count();
    let group = |signal: &Signal| match *signal {
        Signal::Leg(group) | Signal::Traveller { group, .. } => Some(group),
        _ => None,
    };
    let closed = |number: u32| signals.iter().filter(|signal| group(signal) == Some(number)).count() == 3;
    let mut bundles: Vec<Vec<Signal>> = vec![Vec::new()];
    for &signal in signals {
        let number = group(&signal).filter(|number| closed(*number));
        match number
            .and_then(|number| bundles.iter_mut().skip(1).find(|bundle| bundle.first().and_then(group) == Some(number)))
        {
            Some(bundle) => bundle.push(signal),
            None if number.is_some() => bundles.push(vec![signal]),
            None => bundles[0].push(signal),
        }
    }
    let mut given: Vec<Vec<Signal>> = vec![Vec::new(); runs.len()];
    let mut rest = Vec::new();
    for bundle in bundles {
        let fits = (0..runs.len()).find(|&at| given[at].len() + bundle.len() <= room(&runs[at]));
        match fits {
            Some(at) => given[at].extend(bundle),
            None => rest.extend(bundle),
        }
    }
    rest.sort_by_key(|signal| (!signal.is_grounded(), order(*signal)));
    for signal in rest {
        if let Some(at) = (0..runs.len()).find(|&at| given[at].len() < room(&runs[at])) {
            given[at].push(signal);
        }
    }
    runs.iter().zip(given).map(|(colours, signals)| assign(&signals, colours)).collect()
}

/// Black for the hot one, red for the leg or traveller beside it.
fn order(signal: Signal) -> u8 {
    match signal {
        Signal::Hot(_, pole) => pole,
        Signal::LoadHot(_) => 2,
        Signal::Tied(_, pole) => 3 + pole,
        Signal::Leg(_) => 5,
        Signal::Traveller { .. } => 6,
        Signal::Interconnect(_) => 7,
        _ => 8,
    }
}

/// What is re-marked white first.
fn remark_order(signal: Signal) -> u8 {
    match signal {
        Signal::Traveller { second: true, .. } => 0,
        Signal::Traveller { .. } => 1,
        Signal::Hot(_, 1) | Signal::Tied(_, 1) => 2,
        Signal::Hot(..) => 3,
        Signal::LoadHot(_) | Signal::Tied(..) => 4,
        Signal::Interconnect(_) => 5,
        _ => 6,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::ItemIndex;

    const C: ItemIndex = ItemIndex(1);
    const LEG: Signal = Signal::Leg(0);
    const HOT: Signal = Signal::Hot(C, 0);
    const T1: Signal = Signal::Traveller { group: 0, hop: 0, second: false };
    const T2: Signal = Signal::Traveller { group: 0, hop: 0, second: true };

    fn colour(signals: &[Signal], count: usize, of: Signal) -> Colour {
        let colours = Colour::insulated(count);
        let at = assign(signals, &colours).iter().position(|given| *given == Some(of)).unwrap();
        colours[at]
    }

    #[test]
    fn the_white_of_a_switch_loop_feeds_the_switch_and_the_black_returns() {
        assert_eq!(colour(&[LEG, HOT], 2, HOT), Colour::White);
        assert_eq!(colour(&[LEG, HOT], 2, LEG), Colour::Black);
    }

    #[test]
    fn a_neutral_keeps_the_white_and_leg_and_hot_share_red_and_black() {
        let all = [LEG, HOT, Signal::Neutral(C)];
        assert_eq!(all.map(|of| colour(&all, 3, of)), [Colour::Red, Colour::Black, Colour::White]);
    }

    #[test]
    fn without_neutral_the_second_traveller_is_the_re_marked_white() {
        let all = [T1, T2, LEG];
        assert_eq!(all.map(|of| colour(&all, 3, of)), [Colour::Red, Colour::White, Colour::Black]);
    }

    #[test]
    fn functions_past_the_last_conductor_get_none() {
        let given = assign(&[HOT, T1, T2, Signal::Neutral(C)], &Colour::insulated(3));
        assert_eq!(given.iter().flatten().count(), 3);
    }
}
