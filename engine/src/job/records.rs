//! What must be there: required fields, and the items that permissions and answers name by their ids.

use super::loader::Loader;
use super::words::or;
use crate::model::{Cell, FieldId, IdRule, ItemIndex, KindId, Type};
use crate::problem::{Problem, Topic};

/// Text fields that hold ids of items of any kind.
const IDS: &[(&str, &str)] = &[("permission", "items"), ("answer", "item")];

impl<'a> Loader<'a> {
    /// Looks for required fields that nothing has filled.
    pub(super) fn check_required(&mut self) {
        for at in 0..self.origins.len() as u32 {
            let item = ItemIndex(at);
            let kind = self.kind_of(item);
            for &field in &self.shape.kind(kind).required {
                if self.cell(item, field).is_missing() && !self.faulty.contains(&(item, field)) {
                    let problem = self.missing(item, kind, field);
                    self.consequence(problem);
                }
            }
        }
    }

    fn missing(&self, item: ItemIndex, kind: KindId, field: FieldId) -> Problem {
        let field = self.shape.schema.field_spec(kind, field);
        let header = self.builder.job().item(item).header;
        let problem = Problem::new(header, format!("{} has no `{}`", self.called(item), field.name));
        let about = match &field.ty {
            Type::Word(words) if words.len() <= 12 => {
                format!("one of {}", or(&words.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>()))
            }
            Type::Quantity(dimension) => format!("{}, such as {}", dimension.with_article(), dimension.examples()),
            _ => uncapitalized(field.doc.trim_end_matches('.')),
        };
        let problem = problem.label(format!("no `{}`", field.name)).help(format!("add `{}`: {about}", field.name));
        let only = self.shape.schema.spec(kind).id == IdRule::Only;
        if only { problem.about(Topic::JobHead) } else { problem }
    }

    /// Looks up the ids that are kept as text.
    pub(super) fn check_records(&mut self) {
        let schema = self.shape.schema;
        for &(kind, field) in IDS {
            let Some(kind) = schema.kind(kind) else { continue };
            let Some(field) = schema.field(kind, field) else { continue };
            for item in self.builder.job().of_kind(kind).to_vec() {
                let cell = self.cell(item, field);
                let cells = match &schema.field_spec(kind, field).ty {
                    _ if cell.is_missing() => Vec::new(),
                    Type::List(_) => self.builder.job().list(cell.to_list()).to_vec(),
                    _ => vec![cell],
                };
                cells.into_iter().for_each(|cell| self.check_id(item, cell));
            }
        }
    }

    fn check_id(&mut self, from: ItemIndex, cell: Cell) {
        let name = self.builder.job().symbols.text(cell.to_symbol()).to_owned();
        if self.builder.job().find(&name).is_none() {
            let problem = self.dangling(&name, cell.span(), &[], from);
            self.consequence(problem);
        }
    }
}

fn uncapitalized(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map(|first| first.to_lowercase().chain(chars).collect()).unwrap_or_default()
}
