//! Questions on the symbols of a plan: which is this, and how many of them are in a room.

use std::collections::BTreeMap;

use storystick_engine::sheet::Desk;
use storystick_engine::sheet::markout::{RoomMarks, Shape, Sign, mark_out};

use crate::render::drawing::svg::{At, Svg};
use crate::render::drawing::{plan, symbol};
use crate::teach::papers::Question;
use crate::teach::seed::Seed;

const READING: &str = "plan-reading";

/// How many symbols are asked for, and how many to choose from.
const ASKED: usize = 3;
const CHOICES: usize = 4;

/// Returns what the outline looks like: the text alternative of a drawing whose name is asked for.
fn looks(sign: &Sign) -> String {
    let shape = match sign.shape {
        Shape::SingleReceptacle => "a circle with one line across it",
        Shape::DuplexReceptacle => "a circle with two lines across it",
        Shape::SplitReceptacle => "a circle with two lines across it, half filled",
        Shape::SpecialReceptacle => "a circle with three lines across it",
        Shape::Switch => "the letter S",
        Shape::Luminaire => "a circle with four rays",
        Shape::WallLuminaire => "a circle with four rays on a short line",
        Shape::Recessed => "a circle in a square",
        Shape::CeilingFan => "a circle with three blades",
        Shape::Lettered => "a circle",
        Shape::Disconnect => "a square",
    };
    if sign.letters.is_empty() { shape.to_owned() } else { format!("{shape}, with {}", sign.letters) }
}

fn drawn(sign: &Sign) -> Svg {
    // Letters beside a symbol take room to its right.
    let mut svg = Svg::new(At(96.0, 34.0), format!("Symbol: {}", looks(sign)), "", "symbol");
    symbol::draw(&mut svg, sign, At(26.0, 17.0), 10.0);
    svg
}

/// Takes out what names the things of a drawing, since that is what is asked.
fn nameless(drawing: &str) -> String {
    let mut out = String::with_capacity(drawing.len());
    let mut rest = drawing;
    while let Some((before, after)) = rest.split_once("<title>") {
        out.push_str(before);
        rest = after.split_once("</title>").map_or("", |(_, after)| after);
    }
    out + rest
}

fn signs(room: &RoomMarks) -> impl Iterator<Item = &Sign> {
    room.walls.iter().flat_map(|wall| &wall.boxes).chain(&room.elsewhere).flat_map(|mark| &mark.signs)
}

/// Returns the questions for which the job has symbols.
pub(super) fn questions(desk: &Desk<'_>, seed: &mut Seed) -> Vec<Question> {
    let paper = mark_out(desk);
    let mut by_meaning: BTreeMap<&str, &Sign> = BTreeMap::new();
    for sign in paper.rooms.iter().flat_map(signs) {
        by_meaning.entry(&sign.meaning).or_insert(sign);
    }
    let mut all: Vec<&Sign> = by_meaning.into_values().collect();
    seed.shuffle(&mut all);
    let mut list = Vec::new();
    if all.len() > 1 {
        for (at, sign) in all.iter().enumerate().take(ASKED) {
            let mut choices: Vec<String> = vec![sign.meaning.clone()];
            let others =
                all.iter().enumerate().filter(|(other, _)| *other != at).map(|(_, other)| other.meaning.clone());
            choices.extend(others.take(CHOICES - 1));
            choices.sort();
            let asks = format!("What does this symbol of the plan stand for: {}?", looks(sign));
            let question = Question::new(READING, format!("symbol-{}", at + 1), asks, sign.meaning.clone());
            list.push(question.choose(choices).shows(drawn(sign).inline()));
        }
    }
    let mut rooms: Vec<&RoomMarks> = paper.rooms.iter().filter(|room| room.plan.is_some()).collect();
    seed.shuffle(&mut rooms);
    list.extend(rooms.into_iter().find_map(|room| counted(room, seed)));
    list
}

/// Returns a symbol as plans draw it: without the longer letters, which stand in the legend of an elevation.
fn on_plan(sign: &Sign) -> (Shape, &str) {
    (sign.shape, if sign.letters.len() > 2 { "" } else { &sign.letters })
}

/// Asks how many of a symbol are in a room; the plan goes with it, without a word of what is wrong there.
fn counted(room: &RoomMarks, seed: &mut Seed) -> Option<Question> {
    let mut kinds: Vec<&Sign> = signs(room).collect();
    kinds.sort();
    kinds.dedup_by_key(|sign| on_plan(sign));
    let sign = *seed.one(&kinds)?;
    let count = signs(room).filter(|other| on_plan(other) == on_plan(sign)).count();
    let mut drawing = room.plan.clone()?;
    drawing.boxes.iter_mut().for_each(|one| one.flagged = false);
    let picture = nameless(&plan::draw(&drawing, &room.name).inline());
    let (name, rest) = sign.meaning.split_once(", ").unwrap_or((&sign.meaning, ""));
    let name = if on_plan(sign).1 == sign.letters && !rest.is_empty() { sign.meaning.as_str() } else { name };
    let asks =
        format!("How many symbols of this kind are on the plan of room {}, whatever goes with it: {name}?", room.id);
    Some(Question::new(READING, "count", asks, count.to_string()).shows(picture))
}
