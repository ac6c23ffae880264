//! What following the current finds.

use crate::model::ItemIndex;
use crate::source::Span;

macro_rules! fault_kinds {
    ($($(#[doc = $doc:literal])+ $name:ident $word:literal;)+) => {
        /// A kind of mistake in the wiring.
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub enum FaultKind { $( $(#[doc = $doc])+ $name, )+ }

        impl FaultKind {
            /// All kinds with their words in machine-readable results.
            pub const ALL: &[(FaultKind, &'static str)] = &[ $( (FaultKind::$name, $word), )+ ];

            /// Returns the kind's word.
            pub fn word(self) -> &'static str {
                match self { $( FaultKind::$name => $word, )+ }
            }
        }
    };
}

fault_kinds! {
    /// Line joined to neutral.
    ShortToNeutral "short_to_neutral";
    /// Line joined to ground.
    ShortToGround "short_to_ground";
    /// The two legs joined.
    ShortLineToLine "short_line_to_line";
    /// Two circuits joined on one leg.
    CircuitsJoined "circuits_joined";
    /// Neutrals of two circuits joined.
    NeutralsJoined "neutrals_joined";
    /// Neutral joined to ground past the service.
    NeutralGrounded "neutral_grounded";
    /// A load returns over the neutral of another circuit.
    NeutralBorrowed "neutral_borrowed";
    /// A load is fed by the breaker of another circuit than its own.
    OtherCircuit "other_circuit";
    /// A switch opens the neutral.
    NeutralSwitched "neutral_switched";
    /// The neutral of a load leads nowhere.
    NeutralOpen "neutral_open";
    /// Taking a device out would open the neutral of a multiwire circuit.
    NeutralThroughDevice "neutral_through_device";
    /// Both circuits of a multiwire circuit are on one leg.
    SameLeg "same_leg";
    /// A load returns over the ground.
    GroundCarriesCurrent "ground_carries_current";
    /// A device, luminaire or metal box has no ground.
    GroundMissing "ground_missing";
    /// A switch opens the ground.
    GroundSwitched "ground_switched";
    /// A two-pole load that stays live while its switch is off.
    LiveWhenOff "live_when_off";
    /// An alarm that does not sound with the others.
    InterconnectBroken "interconnect_broken";
    /// Metal parts that become live.
    FrameLive "frame_live";
    /// Line on the grounded terminal.
    Reversed "reversed";
    /// A load in series with another.
    InSeries "in_series";
    /// A load between the wrong conductors.
    WrongVoltage "wrong_voltage";
    /// A load that never gets power.
    Dead "dead";
    /// A load that its switches don't control as intended.
    ControlWrong "control_wrong";
    /// A load that a switch controls which should not.
    SwitchedBySurprise "switched_by_surprise";
    /// A switch that changes nothing.
    SwitchDoesNothing "switch_does_nothing";
    /// The conductors in a cable don't carry equal currents both ways.
    NetCurrent "net_current";
    /// Conductors in parallel.
    Parallel "parallel";
    /// A white conductor used as an ungrounded one without a re-mark.
    WhiteNotMarked "white_not_marked";
    /// A re-marked white conductor used as the return of a switch.
    WhiteReturns "white_returns";
    /// A neutral that is not white.
    NeutralNotWhite "neutral_not_white";
    /// A bare conductor used for current.
    BareUsed "bare_used";
    /// The end of a conductor neither joined nor capped.
    Loose "loose";
    /// A GFCI fed from its load terminals.
    LineLoadReversed "line_load_reversed";
    /// A load meant to be protected by a GFCI device that is live while that one has tripped.
    NotBehindGfci "not_behind_gfci";
    /// A load behind a GFCI device whose neutral goes round it.
    NeutralPastGfci "neutral_past_gfci";
    /// Too many switches in one cluster to try all combinations.
    NotAllStates "not_all_states";
}

/// One mistake, at one item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WiringFault {
    /// What kind.
    pub kind: FaultKind,
    /// The device, luminaire, cable, box or circuit.
    pub item: ItemIndex,
    /// The box or panel where it is to be put right, where there is one.
    pub place: Option<ItemIndex>,
    /// The circuit.
    pub circuit: Option<ItemIndex>,
    /// The place in the job file to look at.
    pub span: Span,
    /// What is wrong, in one sentence.
    pub message: String,
    /// What to do, in the trade's words.
    pub fix: String,
}
