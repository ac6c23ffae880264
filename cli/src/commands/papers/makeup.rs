//! `makeup`: what is spliced and landed in every box, as text or as drawings.

use std::path::Path;

use storystick_engine::model::ItemIndex;
use storystick_engine::sheet::{Desk, make_ups};

use super::next;
use crate::args::MakeupArgs;
use crate::args::{Common, TextOrJson};
use crate::render::drawing::makeup as drawing;
use crate::render::paper::{makeup, makeup_json};
use crate::{Answer, world};

pub(super) fn run(common: &Common, args: &MakeupArgs) -> Result<Answer, String> {
    let opened = super::open(common, &args.job, None)?;
    let desk = opened.desk();
    let boxes = args.boxes.iter().map(|id| named(&desk, id)).collect::<Result<Vec<ItemIndex>, String>>()?;
    let sheets = make_ups(&desk, &boxes);
    if args.format == TextOrJson::Json {
        return Ok(opened.answer(makeup_json::text(&sheets, &opened.inspected, desk.units)));
    }
    let Some(folder) = &args.svg else {
        return Ok(opened.paper("Make-up sheets", &desk, &makeup::text(&sheets, desk.units, world::columns())));
    };
    let folder = Path::new(folder);
    super::make_folder(folder)?;
    let mut list = String::new();
    for sheet in &sheets {
        let path = folder.join(super::file_name(&format!("make-up-{}", sheet.sheet.id)));
        super::write(&path, &drawing::draw(sheet, desk.units).standalone())?;
        list.push_str(&format!("{}\n", path.display()));
    }
    Ok(opened.answer(list))
}

fn named(desk: &Desk<'_>, id: &str) -> Result<ItemIndex, String> {
    let boxes = desk.items("box");
    boxes.iter().copied().find(|&it| desk.job.id(it) == id).ok_or_else(|| {
        let hint = storystick_engine::problem::did_you_mean(id, boxes.iter().map(|&it| desk.job.id(it)));
        let hint = hint.map_or_else(String::new, |hint| format!("; {hint}"));
        let all = format!("`storystick makeup {}` shows all boxes that a cable enters", desk.report.file);
        next::told(&format!("there is no box `{id}` in this job{hint}"), &[&all], world::columns()) + "\n"
    })
}
