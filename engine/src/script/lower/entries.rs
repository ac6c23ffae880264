//! Entries of the book: `code.nm.secured_from_box`, `code.gfci.places`, `code.ampacity.copper.at_60[cable.size]`.

use std::collections::BTreeSet;

use rhai::{Expr as Ast, Position};

use super::super::place::join;
use super::super::plan::{Expr, List, RowOf, SlotSource, Use};
use super::super::types::Ty;
use super::chains::{Step, take_apart};
use super::{Lowering, Typed};
use crate::book::{Entry, EntryId, EntryType, Matching, Scalar, ScalarType, Table, Value};
use crate::problem::{Problem, nearest};
use crate::quantity::parse;
use crate::source::Span;

/// An entry that a rule names, with the steps behind its name.
struct Named<'a, 'e, 's> {
    id: EntryId,
    entry: &'a Entry,
    span: Span,
    rest: &'s [Step<'e>],
}

/// Returns the type of a value of the code.
pub(super) fn type_of(ty: ScalarType) -> Ty {
    match ty {
        ScalarType::Quantity(dimension) => Ty::Quantity(dimension),
        ScalarType::Flag => Ty::Flag,
        ScalarType::Text => Ty::Text,
    }
}

impl<'a> Lowering<'a> {
    /// Lowers a single entry or a row of a table.
    pub(super) fn entry(&mut self, code: Span, steps: &[Step<'_>]) -> Typed {
        let Some(named) = self.named(code, steps) else { return Typed::wrong(code) };
        let span = named.span;
        match (&named.entry.ty, named.rest) {
            (EntryType::Scalar(ty), []) => self.slot(SlotSource::Entry(named.id), type_of(*ty), span),
            (EntryType::Table { .. }, [Step::Row(key, position)]) => self.row(&named, key, *position),
            (EntryType::Table { .. }, [Step::Row(..), next, ..]) => {
                let at = self.step_place(next);
                self.report(Problem::new(at, "nothing can follow a value of the code").mark(span, "this is the table"))
            }
            (EntryType::Table { .. }, []) => self.report(
                Problem::new(span, format!("`{}` is a table", self.code_name(&named)))
                    .label("which row?")
                    .help("name the row in square brackets, such as `code.ampacity.copper.at_60[cable.size]`"),
            ),
            (EntryType::List(_), []) => self.report(
                Problem::new(span, format!("`{}` is a list", self.code_name(&named)))
                    .label("a list here")
                    .help("ask whether a value is in it, such as `room.kind in code.gfci.places`"),
            ),
            (_, [Step::Row(_, position), ..]) => {
                let place = self.places.token(*position);
                let what = named.entry.ty.described();
                let name = self.code_name(&named);
                self.report(
                    Problem::new(place, format!("`{name}` has no rows"))
                        .mark(span, what)
                        .help("leave the square brackets out"),
                )
            }
            (_, [Step::Call(name, position), ..]) => {
                let place = self.places.token(*position);
                self.report(
                    Problem::new(place, format!("`.{name}(…)` is not part of the rule language"))
                        .help("an entry of the code is only read"),
                )
            }
            (_, rest) => {
                let at = rest.first().map_or(span, |step| self.step_place(step));
                self.report(Problem::new(at, "nothing can follow a value of the code").mark(span, "this is the value"))
            }
        }
    }

    /// Lowers a list of the code, if the expression is one.
    pub(super) fn entry_list(&mut self, ast: &Ast) -> Option<(List, Ty, Span)> {
        let (start, steps) = take_apart(ast);
        let Ast::Variable(variable, _, position) = start else { return None };
        if variable.1.as_str() != "code" || !variable.2.is_empty() {
            return None;
        }
        let code = self.places.token(*position);
        let wrong = |span| Some((List::Entry(0), Ty::Wrong, span));
        let Some(named) = self.named(code, &steps) else { return wrong(code) };
        match (&named.entry.ty, named.rest) {
            (EntryType::List(ty), []) => {
                let ty = type_of(*ty);
                let list = self.lists.len() as u16;
                let span = named.span;
                let used = self.used(&named, ty.clone(), Ty::Wrong);
                self.lists.push(used);
                Some((List::Entry(list), ty, span))
            }
            (ty, _) => {
                let described = ty.described();
                let name = self.code_name(&named);
                self.report(
                    Problem::new(named.span, format!("a list is due here, and `{name}` is {described}"))
                        .label(described),
                );
                wrong(named.span)
            }
        }
    }

    /// Checks the members of a list of the code against the words that a field may hold.
    pub(super) fn check_members(&mut self, words: &'static [&'static str], list: &List) {
        let List::Entry(at) = list else { return };
        let Some(used) = self.lists.get(usize::from(*at)) else { return };
        let (entry, span, key) = (used.entry, used.span, used.key.clone());
        let Some(Value::List(members)) = self.ground.book.entry(entry).map(|entry| &entry.value) else { return };
        let wrong: Vec<_> = members
            .iter()
            .filter(|member| matches!(member.value, Scalar::Text(_)) && !words.contains(&member.text.as_str()))
            .map(|member| (member.span, member.text.clone()))
            .collect();
        for (place, text) in wrong {
            let problem = Problem::new(place, format!("`{text}` is none of the words that `{key}` is held against"))
                .label("never met")
                .mark(span, "held against the list here");
            self.report(match nearest(&text, words.iter().copied()) {
                Some(word) => problem.help(format!("did you mean `{word}`?")),
                None => problem.help("a word of one vocabulary can't stand in a list for another"),
            });
        }
    }

    fn used(&self, named: &Named<'_, '_, '_>, key_type: Ty, value_type: Ty) -> Use {
        Use { entry: named.id, key: named.entry.key.clone(), key_type, value_type, span: named.span }
    }

    fn code_name(&self, named: &Named<'_, '_, '_>) -> String {
        format!("code.{}", named.entry.key)
    }

    fn step_place(&self, step: &Step<'_>) -> Span {
        match step {
            Step::Field(_, at) | Step::Row(_, at) | Step::Call(_, at) | Step::Perhaps(at) => self.places.token(*at),
        }
    }

    /// Finds the entry that the steps name.
    fn named<'e, 's>(&mut self, code: Span, steps: &'s [Step<'e>]) -> Option<Named<'a, 'e, 's>> {
        let names: Vec<(&str, Position)> = steps
            .iter()
            .map_while(|step| match step {
                Step::Field(name, position) => Some((*name, *position)),
                _ => None,
            })
            .collect();
        let Some(&(_, last)) = names.last() else {
            self.report(
                Problem::new(code, "`code` alone is no value")
                    .help("name an entry, such as `code.nm.secured_from_box`"),
            );
            return None;
        };
        let key = names.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(".");
        let span = join(code, self.places.token(last));
        let book = self.ground.book;
        match book.id(&key).and_then(|id| Some((id, book.entry(id)?))) {
            Some((id, entry)) => Some(Named { id, entry, span, rest: steps.get(names.len()..).unwrap_or(&[]) }),
            None => {
                self.no_entry(&key, &names, span);
                None
            }
        }
    }

    /// Points at the first part of a name that no entry begins with.
    fn no_entry(&mut self, key: &str, names: &[(&str, Position)], whole: Span) {
        let keys: BTreeSet<&str> = self.ground.book.keys().map(|(key, _)| key).collect();
        let mut start = String::new();
        let mut wrong = whole;
        for (name, position) in names {
            start.push_str(name);
            let deeper = format!("{start}.");
            if !keys.iter().any(|key| *key == start || key.starts_with(&deeper)) {
                let last = names.last().map_or(*position, |(_, last)| *last);
                wrong = join(self.places.token(*position), self.places.token(last));
                break;
            }
            start = deeper;
        }
        let problem = Problem::new(wrong, format!("the code in force has no entry `{key}`")).label("no such entry");
        self.report(match nearest(key, keys.iter().copied()) {
            Some(near) => problem.help(format!("did you mean `code.{near}`?")),
            None => problem.help("`storystick code` prints the entries that are in force"),
        });
    }

    fn row(&mut self, named: &Named<'_, '_, '_>, key: &Ast, _bracket: Position) -> Typed {
        let Value::Table(table) = &named.entry.value else { return Typed::wrong(named.span) };
        let (key_type, value_type) = (type_of(table.key_type()), type_of(table.value_type()));
        let key = self.key(key, &key_type, table);
        let span = self.places.until(named.span, key.span, ']');
        if key.ty == Ty::Wrong {
            return Typed { expr: Expr::Local(0), ty: value_type, span };
        }
        if !key.ty.same_sort(&key_type) {
            let (found, due) = (key.ty.says(self.ground.schema), key_type.says(self.ground.schema));
            let name = self.code_name(named);
            self.report(
                Problem::new(key.span, format!("the rows of `{name}` are found by {due}, not by {found}"))
                    .label(found)
                    .mark(named.span, format!("rows by {due}")),
            );
        }
        let number = self.tables.len() as u16;
        let used = self.used(named, key_type.clone(), value_type.clone());
        self.tables.push(used);
        let row = RowOf { table: number, key: key.expr, key_type: key.ty, span };
        Typed { expr: Expr::Row(Box::new(row)), ty: value_type, span }
    }

    /// Lowers a row's key. A literal is read as the table's keys are, and its row must be there.
    fn key(&mut self, ast: &Ast, due: &Ty, table: &Table) -> Typed {
        let Ast::StringConstant(text, position) = ast else { return self.expr(ast) };
        let span = self.places.token(*position);
        let (typed, scalar) = match due {
            Ty::Quantity(dimension) => match parse(text, *dimension) {
                Ok(quantity) => {
                    let typed = self.slot(SlotSource::Literal(quantity.amount()), due.clone(), span);
                    (typed, Some(Scalar::Quantity(quantity)))
                }
                Err(error) => {
                    let problem = Problem::new(span, error.message);
                    return self.report(match error.help {
                        Some(help) => problem.help(help),
                        None => problem,
                    });
                }
            },
            _ => {
                let typed = self.expr(ast);
                (typed, self.symbols.find(text).map(Scalar::Text))
            }
        };
        if scalar.is_none_or(|scalar| table.find(scalar).is_none()) {
            let rows: Vec<&str> = table.rows().iter().map(|row| row.key_text.as_str()).collect();
            let problem = Problem::new(span, format!("the table has no row `{text}`"));
            let near = nearest(text, rows.iter().copied()).filter(|_| table.matching() == Matching::Exact);
            return self.report(match near {
                Some(near) => problem.help(format!("did you mean `{near}`?")),
                None => problem.help(table.extent()),
            });
        }
        typed
    }
}
