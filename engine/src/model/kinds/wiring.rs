//! The make-up of a box as it was built: what is spliced, landed and capped. Where a box has any of it, it stands in place of the
//! make-up that is derived from cables and devices, and is compared with it.

use super::*;

kind! {
    /// A splice in a box: conductors under one connector, with pigtails to the terminals named in it.
    splice "splice" word "splice" Nest::Inside { parent: "box", keys: &["splice"], many: true, short: None }, Made {
        BOX "box" Type::Item("box"), Filled::Nesting, UNSET, "Its box.";
        JOINS "joins" list(Type::Text), required(), UNSET, "What it joins: conductors such as `C1/to.black`, terminals reached by a pigtail such as `R1.brass`.";
    }
}

kind! {
    /// A conductor that lands straight on a terminal.
    landing "landing" word "landing" Nest::Inside { parent: "box", keys: &["landing"], many: true, short: None }, Made {
        BOX "box" Type::Item("box"), Filled::Nesting, UNSET, "Its box.";
        CONDUCTOR "conductor" Type::Text, required(), UNSET, "The conductor: `C1/to.black`.";
        TERMINAL "terminal" Type::Text, required(), UNSET, "The terminal: `R1.brass`.";
    }
}

kind! {
    /// A conductor that is not used and has a cap of its own.
    cap "cap" word "cap" Nest::Inside { parent: "box", keys: &["cap"], many: true, short: None }, Made {
        BOX "box" Type::Item("box"), Filled::Nesting, UNSET, "Its box.";
        CONDUCTOR "conductor" Type::Text, required(), UNSET, "The conductor: `C1/to.red`.";
    }
}

kind! {
    /// A conductor in a panel, where somebody saw it land. Conductors without one are taken to land as planned.
    panel_landing "panel_landing" word "landed" Nest::Inside { parent: "panel", keys: &["landing"], many: true, short: None }, Made {
        PANEL "panel" Type::Item("panel"), Filled::Nesting, UNSET, "Its panel.";
        CONDUCTOR "conductor" Type::Text, required(), UNSET, "The conductor: `C1/from.black`.";
        TERMINAL "terminal" Type::Text, required(), UNSET, "Where it lands: `1.breaker` or `1.breaker_2` for a pole of the breaker of circuit 1, `1.neutral` for the neutral terminal of that breaker, `neutral_bar` or `ground_bar`, with the number of the screw where it is known (`neutral_bar.7`), `lug`, `lug_2` or `neutral_lug` for a feeder, `cap` for one with a cap of its own.";
    }
}
