//! `walk --print`: the walk list with room to write.

use storystick_engine::sheet::walk_list;

use crate::args::Common;
use crate::args::WalkArgs;
use crate::render::paper::walk;
use crate::{Answer, world};

pub(super) fn run(common: &Common, args: &WalkArgs) -> Result<Answer, String> {
    let opened = super::open(common, &args.job, args.stage.as_deref())?;
    let desk = opened.desk();
    let body = walk::text(&walk_list(&desk), args.evidence, world::columns());
    Ok(opened.paper("Walk list", &desk, &body))
}
