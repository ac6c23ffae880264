//! `takeoff`: what to order.

use storystick_engine::sheet::take_off;

use crate::args::Common;
use crate::args::{TakeoffArgs, TextOrCsv};
use crate::render::paper::{csv, takeoff};
use crate::{Answer, world};

pub(super) fn run(common: &Common, args: &TakeoffArgs) -> Result<Answer, String> {
    let opened = super::open(common, &args.job, None)?;
    let desk = opened.desk();
    let paper = take_off(&desk);
    Ok(match args.format {
        TextOrCsv::Csv => opened.answer(csv::takeoff(&paper, desk.units)),
        TextOrCsv::Text => {
            let body = takeoff::text(&paper, desk.units, args.by_room, world::columns());
            opened.paper("Take-off", &desk, &body)
        }
    })
}
