//! The kinds of a dwelling: what a job file can say.
//!
//! Each kind is a module with the numbers of its fields as constants (`outlet_box::VOLUME`) and its `spec()`. The order of the
//! fields here is the order of the cells.

use super::{Default, Fact, FieldSpec, Filled, IdRule, KindSpec, Nest, Type};
use crate::quantity::Dimension;

/// Declares a kind: `CONSTANT "name" type filled [default] "doc";` a field.
macro_rules! kind {
    (
        $(#[doc = $doc:literal])+
        $module:ident $name:literal word $word:literal $nest:expr, $id:ident {
            $( $field:ident $key:literal $ty:expr, $filled:expr, $default:expr, $fdoc:literal; )+
        }
    ) => {
        $(#[doc = $doc])+
        pub mod $module {
            use super::*;
            use crate::model::FieldId;

            /// The kind's name.
            pub const NAME: &str = $name;

            #[allow(non_camel_case_types, clippy::upper_case_acronyms, reason = "only counts the fields")]
            enum At { $( $field, )+ }

            $( #[doc = $fdoc] pub const $field: FieldId = FieldId(At::$field as u16); )+

            /// Returns the kind's description.
            pub fn spec() -> KindSpec {
                KindSpec {
                    name: $name,
                    word: $word,
                    nest: $nest,
                    id: IdRule::$id,
                    doc: concat!($($doc),+).trim_ascii_start(),
                    fields: vec![ $( FieldSpec { name: $key, ty: $ty, filled: $filled, default: $default, doc: $fdoc }, )+ ],
                }
            }
        }
    };
}

mod outlets;
mod places;
mod records;
mod supply;
mod wires;
mod wiring;

pub use outlets::{appliance, device, luminaire, outlet_box};
pub use places::{basin, circuit, counter, counter_break, opening, panel, room, site, wall};
pub use records::{answer, inspection, measure, permission, pin};
pub use supply::{building, electrode, feeder};
pub use wires::{cable, cable_end, hole, raceway, raceway_conductor};
pub use wiring::{cap, landing, panel_landing, splice};

const fn written() -> Filled {
    Filled::Written { required: false, as_built: false }
}

const fn required() -> Filled {
    Filled::Written { required: true, as_built: false }
}

const fn as_built() -> Filled {
    Filled::Written { required: false, as_built: true }
}

const fn inverse(kind: &'static str, via: &'static str) -> Filled {
    Filled::Inverse { kind, via }
}

const fn through(chains: &'static [&'static str]) -> Filled {
    Filled::Through(chains)
}

fn list(ty: Type) -> Type {
    Type::List(Box::new(ty))
}

const fn q(dimension: Dimension) -> Type {
    Type::Quantity(dimension)
}

const NO: Default = Default::Flag(false);
const YES: Default = Default::Flag(true);
const UNSET: Default = Default::None;
/// Not written means that there is none: of links that most items do not have. A link that places an item is never one of them.
const NOTHING: Default = Default::NoItem;
/// Taken from what an item belongs to: see `job/existing.rs`.
const OWNER: Default = Default::Owner;

/// Rooms of which nobody can say whether they are finished: those that often are not, and rooms below ground for work and storage.
const MAY_BE_UNFINISHED: Default = Default::FlagUnless(
    true,
    &[
        &[Fact::Word("kind", &["basement", "attic"])],
        &[Fact::Number("storey", 0), Fact::Word("kind", &["storage", "utility", "workshop", "laundry", "other"])],
    ],
);
/// A bathroom nearly always has a tub or a shower, and not always.
const TUB_IN_A_BATHROOM: Default = Default::FlagUnless(false, &[&[Fact::Word("kind", &["bathroom"])]]);
/// Rooms that often have a sink.
const SINK_IN_A_WORK_ROOM: Default = Default::FlagUnless(false, &[&[Fact::Word("kind", &["kitchen", "utility"])]]);
/// A sink outside a kitchen may be one to prepare food at.
const FOOD_AT_A_SINK: Default = Default::FlagUnless(false, &[&[Fact::Yes("has_sink")]]);
/// Places where things are stored or equipment is put.
const STORED_IN: Default = Default::FlagUnless(false, &[&[Fact::Word("kind", &["basement", "attic", "crawl_space"])]]);
/// Rooms in which a washer is often hooked up before anybody writes it as an appliance.
const LAUNDRY_IN_A_WORK_ROOM: Default = Default::FlagUnless(false, &[&[Fact::Word("kind", &["utility", "basement"])]]);
/// Whoever gives the depth of cover, or what is above it, means a run underground.
const UNDER_COVER: Default = Default::FlagUnless(false, &[&[Fact::Written("burial_depth")], &[Fact::Written("under")]]);

/// How far the work on a box, cable, device or luminaire has come.
pub const STATES: &[&str] = &["planned", "set", "cabled", "made_up", "covered", "finished"];

/// Returns all kinds, in the order in which they are registered.
pub fn all() -> Vec<KindSpec> {
    vec![
        site::spec(),
        panel::spec(),
        circuit::spec(),
        room::spec(),
        wall::spec(),
        opening::spec(),
        counter::spec(),
        counter_break::spec(),
        outlet_box::spec(),
        device::spec(),
        luminaire::spec(),
        appliance::spec(),
        cable::spec(),
        cable_end::spec(),
        hole::spec(),
        raceway::spec(),
        raceway_conductor::spec(),
        inspection::spec(),
        permission::spec(),
        answer::spec(),
        measure::spec(),
        pin::spec(),
        splice::spec(),
        landing::spec(),
        cap::spec(),
        feeder::spec(),
        building::spec(),
        electrode::spec(),
        panel_landing::spec(),
        basin::spec(),
    ]
}
