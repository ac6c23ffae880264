//! `readings`: the test record.

use storystick_engine::sheet::test_record;

use crate::args::Common;
use crate::args::ReadingsArgs;
use crate::render::paper::readings;
use crate::{Answer, world};

pub(super) fn run(common: &Common, args: &ReadingsArgs) -> Result<Answer, String> {
    let opened = super::open(common, &args.job, None)?;
    let desk = opened.desk();
    let body = readings::text(&test_record(&desk), world::columns());
    Ok(opened.paper("Test record", &desk, &body))
}
