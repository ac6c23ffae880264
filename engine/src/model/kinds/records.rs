//! What was seen, measured, permitted and signed on site.

use super::*;

kind! {
    /// An inspection that took place.
    inspection "inspection" word "inspection" Nest::Top("inspection"), Made {
        STAGE "stage" Type::Word(&["layout", "rough_in", "trim_out", "final"]), required(), UNSET, "Stage that was inspected.";
        ON "on" q(Dimension::Date), required(), UNSET, "Day.";
        RESULT "result" Type::Word(&["passed", "corrections", "not_ready"]), required(), UNSET, "Result.";
        ROOM "room" Type::Item("room"), written(), NOTHING, "Room, where only part of the dwelling was seen.";
        BY "by" Type::Text, written(), UNSET, "Who inspected.";
        NOTES "notes" Type::Text, written(), UNSET, "What was said.";
    }
}

kind! {
    /// A written special permission: one rule, on named items, by whom, why and until when.
    permission "permission" word "permission" Nest::Top("permission"), Made {
        RULE "rule" Type::Text, required(), UNSET, "Id of the rule.";
        ITEMS "items" list(Type::Text), required(), UNSET, "Ids of the items.";
        GRANTED_BY "granted_by" Type::Text, required(), UNSET, "Who granted it.";
        REASON "reason" Type::Text, required(), UNSET, "Why.";
        UNTIL "until" q(Dimension::Date), required(), UNSET, "Last day on which it holds.";
        CITES "cites" Type::Text, written(), UNSET, "Number or letter of the written permission.";
    }
}

kind! {
    /// A signed answer to something that only eyes on site can decide.
    answer "answer" word "answer" Nest::Top("answer"), Made {
        RULE "rule" Type::Text, required(), UNSET, "Id of the rule that asks.";
        ITEM "item" Type::Text, required(), UNSET, "Id of the item.";
        OK "ok" Type::Flag, required(), UNSET, "Whether it is as it should be.";
        BY "by" Type::Text, required(), UNSET, "Who looked.";
        ON "on" q(Dimension::Date), required(), UNSET, "Day.";
        NOTE "note" Type::Text, written(), UNSET, "What was seen.";
    }
}

kind! {
    /// A value measured on site. It stands in place of the planned one, which is kept.
    measure "measure" word "measure" Nest::Top("measure"), Made {
        ITEM "item" Type::Text, required(), UNSET, "Id of the item.";
        FIELD "field" Type::Text, required(), UNSET, "Its field.";
        VALUE "value" Type::Text, required(), UNSET, "The value, in the field's own form.";
        BY "by" Type::Text, written(), UNSET, "Who measured.";
        ON "on" q(Dimension::Date), written(), UNSET, "Day.";
    }
}

kind! {
    /// A ruleset that the job insists on: its version and the hash of its content.
    pin "pin" word "pin" Nest::Top("pin"), Made {
        RULESET "ruleset" Type::Text, required(), UNSET, "Ruleset.";
        VERSION "version" Type::Text, written(), UNSET, "Version.";
        CONTENT "content" Type::Text, written(), UNSET, "Content hash, as `storystick code` prints it.";
    }
}
