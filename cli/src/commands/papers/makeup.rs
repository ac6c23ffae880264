//! `makeup`: what is spliced and landed in every box and panel, as text or as drawings.

use std::path::Path;

use storystick_engine::model::ItemIndex;
use storystick_engine::sheet::{Desk, has_panel_sheets, make_ups, panel_sheets};

use super::next;
use crate::args::MakeupArgs;
use crate::args::{Common, TextOrJson};
use crate::render::drawing::{makeup as drawing, panel as panel_drawing};
use crate::render::paper::{makeup, makeup_json, panel};
use crate::{Answer, world};

pub(super) fn run(common: &Common, args: &MakeupArgs) -> Result<Answer, String> {
    let opened = super::open(common, &args.job, None)?;
    let desk = opened.desk();
    let named = args.items.iter().map(|id| named(&desk, id)).collect::<Result<Vec<ItemIndex>, String>>()?;
    let (panels, boxes): (Vec<ItemIndex>, Vec<ItemIndex>) = named.iter().partition(|&&item| desk.is(item, "panel"));
    let all = named.is_empty();
    let panels = if all || !panels.is_empty() { panel_sheets(&desk, &panels) } else { Vec::new() };
    let boxes_asked = all || !boxes.is_empty();
    let sheets = if boxes_asked { make_ups(&desk, &boxes) } else { Vec::new() };
    if args.format == TextOrJson::Json {
        return Ok(opened.answer(makeup_json::text(&panels, &sheets, &opened.inspected, desk.units)));
    }
    let Some(folder) = &args.svg else {
        let mut body = panel::text(&panels, desk.units, world::columns());
        if boxes_asked {
            body.push_str(&makeup::text(&sheets, desk.units, world::columns()));
        }
        return Ok(opened.paper("Make-up sheets", &desk, &body));
    };
    let folder = Path::new(folder);
    super::make_folder(folder)?;
    let mut list = String::new();
    let panels = panels.iter().map(|sheet| (format!("panel-{}", sheet.id), panel_drawing::draw(sheet, desk.units)));
    let boxes = sheets.iter().map(|one| (format!("make-up-{}", one.sheet.id), drawing::draw(one, desk.units)));
    for (name, drawing) in panels.chain(boxes) {
        let path = folder.join(super::file_name(&name));
        super::write(&path, &drawing.standalone())?;
        list.push_str(&format!("{}\n", path.display()));
    }
    Ok(opened.answer(list))
}

/// Finds a box or panel by its id.
fn named(desk: &Desk<'_>, id: &str) -> Result<ItemIndex, String> {
    let all = || desk.items("box").iter().chain(desk.items("panel")).copied();
    let found = all().find(|&it| desk.job.id(it) == id).ok_or_else(|| {
        let known: Vec<&str> = all().map(|it| desk.job.id(it)).collect();
        let hint = storystick_engine::problem::did_you_mean(id, known.iter().copied());
        let hint = hint.map_or_else(String::new, |hint| format!("; {hint}"));
        let all =
            format!("`storystick makeup {}` shows all panels, and all boxes that a cable enters", desk.report.file);
        next::told(&format!("there is no box or panel `{id}` in this job{hint}"), &[&all], world::columns()) + "\n"
    })?;
    if desk.is(found, "panel") && !has_panel_sheets(desk) {
        let message =
            format!("no ruleset in force says how the positions of panel `{id}` are numbered: there is no sheet of it");
        let code = format!("`storystick code {} panel` lists what is in force", desk.report.file);
        return Err(next::told(&message, &[&code], world::columns()) + "\n");
    }
    Ok(found)
}
