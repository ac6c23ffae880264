//! Fields with a value of the job format's own that computations read: what a verdict may rest on without any rule naming it.

use crate::model::kinds::{
    appliance, cable, circuit, device, opening, outlet_box, raceway, raceway_conductor, site, wall,
};
use crate::model::{FieldId, KindId, Schema};

/// The fields, by the name of their kind.
const READ: &[(&str, FieldId)] = &[
    (appliance::NAME, appliance::CONTINUOUS),
    (appliance::NAME, appliance::IS_MOTOR),
    (cable::NAME, cable::GROUND),
    (circuit::NAME, circuit::AFCI),
    (circuit::NAME, circuit::GFCI),
    (circuit::NAME, circuit::POLES),
    (circuit::NAME, circuit::TANDEM),
    (device::NAME, device::AFCI),
    (device::NAME, device::BEHIND_APPLIANCE),
    (device::NAME, device::CONFIGURATION),
    (device::NAME, device::GANGS),
    (device::NAME, device::GFCI),
    (device::NAME, device::IN_CABINET),
    (device::NAME, device::PART_OF_APPLIANCE),
    (device::NAME, device::SWITCHED),
    (opening::NAME, opening::KIND),
    (outlet_box::NAME, outlet_box::FIXTURE_STUDS),
    (outlet_box::NAME, outlet_box::FIXTURE_WIRES),
    (outlet_box::NAME, outlet_box::GANGS),
    (outlet_box::NAME, outlet_box::LOOPED),
    (outlet_box::NAME, outlet_box::MOUNTED),
    (outlet_box::NAME, outlet_box::PASSING_THROUGH),
    (outlet_box::NAME, outlet_box::TERMINAL_BLOCKS),
    (raceway::NAME, raceway::NIPPLE),
    (raceway::NAME, raceway::UNDERGROUND),
    (raceway::NAME, raceway::WET),
    (raceway_conductor::NAME, raceway_conductor::CURRENT_CARRYING),
    (raceway_conductor::NAME, raceway_conductor::IS_GROUND),
    (raceway_conductor::NAME, raceway_conductor::MATERIAL),
    (raceway_conductor::NAME, raceway_conductor::THROUGH_FROM),
    (raceway_conductor::NAME, raceway_conductor::THROUGH_TO),
    (site::NAME, site::HEIGHTS_FROM),
    (wall::NAME, wall::KIND),
];

/// Returns the fields with a value of the job format's own that computations read.
pub(crate) fn taken_for_granted(schema: &Schema) -> impl Iterator<Item = (KindId, FieldId)> + '_ {
    READ.iter().filter_map(|&(kind, field)| Some((schema.kind(kind)?, field)))
}
