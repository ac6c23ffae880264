//! Walls of rectangular rooms, made from length and width.

use super::loader::{Loader, Origin};
use crate::model::kinds::{room, wall};
use crate::model::{Cell, FieldId, ItemIndex};

/// The walls of a rectangular room, clockwise as seen from above. The first and third have the room's length.
const WALLS: [&str; 4] = ["north", "east", "south", "west"];

impl<'a> Loader<'a> {
    /// Makes the four walls of a room that states length and width. Their places are those of the two values.
    pub(super) fn make_walls(&mut self, item: ItemIndex) {
        let Some(kind) = self.shape.wall else { return };
        let (Some(length), Some(width)) = (self.side(item, room::LENGTH), self.side(item, room::WIDTH)) else { return };
        let mut made = [item; 4];
        for (at, (name, slot)) in WALLS.into_iter().zip(&mut made).enumerate() {
            let side = if at % 2 == 0 { length } else { width };
            let id = format!("{}/{name}", self.builder.job().id(item));
            let made = self.add(kind, &id, side.span(), Origin { id: side.span(), parent: Some(item) });
            let name = self.builder.intern(name);
            self.builder.set(made, wall::NAME_, Cell::text(name, side.span()));
            self.builder.set(made, wall::ROOM, Cell::item(item, side.span()));
            self.builder.set(made, wall::LENGTH, side);
            *slot = made;
        }
        self.made_walls.insert(item, made);
    }

    fn side(&self, item: ItemIndex, field: FieldId) -> Option<Cell> {
        let cell = self.cell(item, field);
        if !cell.is_missing() {
            return Some(cell);
        }
        self.default_cell(item, field).filter(|_| !self.faulty.contains(&(item, field)))
    }
}
