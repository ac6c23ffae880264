//! `directory`: the circuit directory of every panel.

use storystick_engine::sheet::directories;

use crate::args::Common;
use crate::args::{DirectoryArgs, TextOrCsv};
use crate::render::paper::{csv, directory};
use crate::{Answer, world};

pub(super) fn run(common: &Common, args: &DirectoryArgs) -> Result<Answer, String> {
    let opened = super::open(common, &args.job, None)?;
    let desk = opened.desk();
    let papers = directories(&desk);
    Ok(match args.format {
        TextOrCsv::Csv => opened.answer(csv::directory(&papers, desk.units)),
        TextOrCsv::Text => {
            let panels: Vec<String> =
                papers.iter().map(|paper| directory::text(paper, desk.units, world::columns())).collect();
            let body = if panels.is_empty() {
                String::from("No panel of this job feeds a circuit.\n")
            } else {
                panels.concat()
            };
            opened.paper("Circuit directory", &desk, &body)
        }
    })
}
