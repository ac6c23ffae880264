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
