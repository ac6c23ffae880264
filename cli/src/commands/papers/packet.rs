//! `packet`: all papers of a job in one HTML file.

use std::path::Path;

use crate::Answer;
use crate::args::Common;
use crate::args::PacketArgs;
use crate::render::packet;

pub(super) fn run(common: &Common, args: &PacketArgs) -> Result<Answer, String> {
    let opened = super::open(common, &args.job, args.stage.as_deref())?;
    let page = packet::page(&opened.desk(), &args.sheet);
    match &args.output {
        None => Ok(opened.answer(page)),
        Some(path) => {
            super::write(Path::new(path), &page)?;
            Ok(opened.answer(format!("{path}\n")))
        }
    }
}
