//! `markout`: every wall with its boxes, as text or as drawings.

use std::path::Path;

use storystick_engine::sheet::{Desk, MarkOut, mark_out};

use crate::args::Common;
use crate::args::MarkoutArgs;
use crate::render::drawing::{elevation, plan, stick};
use crate::render::paper::markout;
use crate::{Answer, world};

pub(super) fn run(common: &Common, args: &MarkoutArgs) -> Result<Answer, String> {
    let opened = super::open(common, &args.job, None)?;
    let desk = opened.desk();
    super::check_rooms(&desk, &args.room)?;
    let paper = mark_out(&desk);
    match &args.svg {
        Some(folder) => Ok(opened.answer(drawings(&desk, &paper, &args.room, Path::new(folder))?)),
        None => {
            let body = markout::text(&paper, desk.units, &args.room, world::columns());
            Ok(opened.paper("Mark-out", &desk, &body))
        }
    }
}

/// Writes every drawing into a folder and returns the list of them.
fn drawings(desk: &Desk<'_>, paper: &MarkOut, rooms: &[String], folder: &Path) -> Result<String, String> {
    super::make_folder(folder)?;
    let mut list = String::new();
    let mut save = |name: String, text: String| -> Result<(), String> {
        let path = folder.join(super::file_name(&name));
        super::write(&path, &text)?;
        list.push_str(&format!("{}\n", path.display()));
        Ok(())
    };
    save(String::from("story-stick"), stick::draw(paper, desk.units).standalone())?;
    for room in paper.rooms.iter().filter(|room| rooms.is_empty() || rooms.contains(&room.id)) {
        if let Some(plan) = &room.plan {
            save(format!("plan-{}", room.id), plan::draw(plan, &room.name).standalone())?;
        }
        for wall in room.walls.iter().filter(|wall| wall.has_work()) {
            save(wall.id.clone(), elevation::draw(wall, &room.name, paper.mark, desk.units).standalone())?;
        }
    }
    Ok(list)
}
