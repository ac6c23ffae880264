//! Which way a value of the code must change for a rule to ask for more: what `locals = "stricter"` is decided by.

use super::plan::{Arithmetic, Bound, Expr, Keep, List, Otherwise, Quantifier, Quantify, Relation, Sign, SlotSource};
use super::plan::{Plan, Statement};
use super::rule::Rule;
use crate::book::{Book, EntryId, Value};
use crate::source::Span;

/// Which way a value must change for a rule to ask for more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// A smaller value asks for more: it is the most that may be found.
    Smaller,
    /// A larger value asks for more: it is the least that must be found.
    Larger,
}

impl Direction {
    fn opposite(self) -> Direction {
        match self {
            Direction::Smaller => Direction::Larger,
            Direction::Larger => Direction::Smaller,
        }
    }
}

/// A place where a rule reads an entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reading {
    /// Where the rule names the entry.
    pub span: Span,
    /// Which way asks for more; none where that can't be told, as of a scope, of a comparison for equality, of a list.
    pub stricter: Option<Direction>,
}

impl Rule {
    /// Returns how the rule reads an entry, place by place; nothing where it does not. The values of `book` tell the sign of
    /// factors.
    pub fn readings(&self, entry: EntryId, book: &Book) -> Vec<Reading> {
        let plan = self.plan();
        let mut walk = Walk {
            plan,
            book,
            slots: vec![Seen::Never; plan.slots.len()],
            tables: vec![Seen::Never; plan.tables.len()],
            locals: vec![Seen::Never; plan.locals.max(1)],
            lets: Vec::new(),
        };
        walk.statements(&plan.body);
        // A value with a name is read as its name is, and names are given before they are read.
        while let Some((local, value)) = walk.lets.pop() {
            match walk.locals.get(usize::from(local)).copied() {
                Some(Seen::So(way)) => walk.expr(value, way),
                Some(Seen::Never) => {}
                None => walk.expr(value, None),
            }
        }
        let slots = plan.slots.iter().zip(&walk.slots).filter_map(|(slot, seen)| match &slot.source {
            SlotSource::Entry(id) if *id == entry => Some(seen.reading(slot.span)),
            _ => None,
        });
        let tables = plan.tables.iter().zip(&walk.tables);
        let tables = tables.filter(|(used, _)| used.entry == entry).map(|(used, seen)| seen.reading(used.span));
        let lists = plan.lists.iter().filter(|used| used.entry == entry);
        let lists = lists.map(|used| Reading { span: used.span, stricter: None });
        slots.chain(tables).chain(lists).collect()
    }
}

/// How something has been read so far.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Seen {
    Never,
    So(Option<Direction>),
}

impl Seen {
    fn note(&mut self, way: Option<Direction>) {
        *self = match *self {
            Seen::So(before) if before != way => Seen::So(None),
            _ => Seen::So(way),
        };
    }

    /// What no part of the walk has met is read in a way that it does not know.
    fn reading(self, span: Span) -> Reading {
        let stricter = match self {
            Seen::So(way) => way,
            Seen::Never => None,
        };
        Reading { span, stricter }
    }
}

struct Walk<'p> {
    plan: &'p Plan,
    book: &'p Book,
    slots: Vec<Seen>,
    tables: Vec<Seen>,
    locals: Vec<Seen>,
    /// `let` values in the order in which they are written.
    lets: Vec<(u8, &'p Expr)>,
}

impl<'p> Walk<'p> {
    fn statements(&mut self, block: &'p [Statement]) {
        use Direction::{Larger, Smaller};
        for statement in block {
            match statement {
                Statement::Let { local, value, .. } => self.lets.push((*local, value)),
                Statement::If { condition, then, otherwise, .. } => {
                    self.expr(condition, None);
                    self.statements(then);
                    self.statements(otherwise);
                }
                Statement::Keep(keep) => self.keep(keep),
                Statement::OneOf { within, .. } => {
                    self.expr(&within.value, None);
                    self.list(&within.list);
                }
                // A condition that must hold asks for more the less it holds; a scope the more it holds.
                Statement::Need { condition, .. } | Statement::Except { condition, .. } => {
                    self.expr(condition, Some(Smaller));
                }
                Statement::Applies { condition, .. } => self.expr(condition, Some(Larger)),
                Statement::Look { .. } => {}
            }
        }
    }

    fn keep(&mut self, keep: &'p Keep) {
        use Direction::{Larger, Smaller};
        let (found, limit) = match keep.bound {
            Bound::AtMost => (Some(Larger), Some(Smaller)),
            Bound::AtLeast => (Some(Smaller), Some(Larger)),
            Bound::Between => (None, Some(Larger)),
            Bound::EqualAmount | Bound::Same => (None, None),
        };
        self.expr(&keep.found, found);
        self.expr(&keep.limit, limit);
        if let Some(upper) = &keep.upper {
            self.expr(upper, Some(Smaller));
        }
    }

    /// Walks an expression; `way` is which way its value must change for the rule to ask for more. A condition counts as larger
    /// where it holds.
    fn expr(&mut self, expr: &'p Expr, way: Option<Direction>) {
        let opposite = way.map(Direction::opposite);
        match expr {
            Expr::Slot(at) => {
                if let Some(seen) = self.slots.get_mut(usize::from(*at)) {
                    seen.note(way);
                }
            }
            Expr::Local(local) => {
                if let Some(seen) = self.locals.get_mut(usize::from(*local)) {
                    seen.note(way);
                }
            }
            Expr::Arithmetic(sum) => self.arithmetic(sum, way),
            Expr::Negative(of) => self.expr(&of.of, opposite),
            Expr::Extreme(extreme) => extreme.of.iter().for_each(|of| self.expr(of, way)),
            Expr::And(all) | Expr::Or(all) => all.iter().for_each(|of| self.expr(of, way)),
            Expr::Not(of) => self.expr(of, opposite),
            Expr::Compare(compare) => {
                let (left, right) = match compare.relation {
                    Relation::Less | Relation::LessOrEqual => (opposite, way),
                    Relation::Greater | Relation::GreaterOrEqual => (way, opposite),
                    Relation::Equal | Relation::Unequal => (None, None),
                };
                self.expr(&compare.left, left);
                self.expr(&compare.right, right);
            }
            Expr::Within(within) => {
                self.expr(&within.value, None);
                self.list(&within.list);
            }
            Expr::Row(row) => {
                self.expr(&row.key, None);
                if let Some(seen) = self.tables.get_mut(usize::from(row.table)) {
                    seen.note(way);
                }
            }
            Expr::Quantifier(quantifier) => self.quantifier(quantifier, way),
            Expr::Native(call) => call.arguments.iter().for_each(|of| self.expr(of, None)),
            Expr::Choose(choose) => {
                self.expr(&choose.condition, None);
                self.expr(&choose.then, way);
                self.expr(&choose.otherwise, way);
            }
            Expr::Bind(bind) => {
                self.expr(&bind.value, None);
                self.expr(&bind.body, way);
            }
            // An entry that stands in for what is not recorded is no limit.
            Expr::Presumed(_) | Expr::Field(_) | Expr::Linked(..) | Expr::Path(_) | Expr::Item(_) => {}
        }
    }

    fn arithmetic(&mut self, sum: &'p Arithmetic, way: Option<Direction>) {
        let (left, right) = match sum.sign {
            Sign::Plus => (way, way),
            Sign::Minus => (way, way.map(Direction::opposite)),
            Sign::Times => {
                (way.filter(|_| self.is_above_zero(&sum.right)), way.filter(|_| self.is_above_zero(&sum.left)))
            }
            Sign::Over => (way.filter(|_| self.is_above_zero(&sum.right)), None),
            Sign::Apart => (None, None),
        };
        self.expr(&sum.left, left);
        self.expr(&sum.right, right);
    }

    /// Returns whether a factor is known to be above zero: a literal or an entry that is. What a job records may be anything.
    fn is_above_zero(&self, factor: &Expr) -> bool {
        let Expr::Slot(at) = factor else { return false };
        match self.plan.slots.get(usize::from(*at)).map(|slot| &slot.source) {
            Some(SlotSource::Literal(bits)) => *bits > 0,
            Some(SlotSource::Entry(id)) => {
                matches!(self.book.entry(*id).map(|entry| &entry.value), Some(Value::Scalar(value)) if value.bits() > 0)
            }
            _ => false,
        }
    }

    fn quantifier(&mut self, quantifier: &'p Quantifier, way: Option<Direction>) {
        self.list(&quantifier.list);
        let (condition, of) = match quantifier.what {
            Quantify::Any | Quantify::Every | Quantify::Count => (way, None),
            Quantify::Sum | Quantify::Least | Quantify::Most => (None, way),
            Quantify::Distinct => (None, None),
        };
        if let Some(expr) = &quantifier.condition {
            self.expr(expr, condition);
        }
        if let Some(expr) = &quantifier.of {
            self.expr(expr, of);
        }
        if let Some(Otherwise::Value(expr)) = &quantifier.otherwise {
            self.expr(expr, way);
        }
    }

    fn list(&mut self, list: &'p List) {
        if let List::Value(expr) = list {
            self.expr(expr, None);
        }
    }
}
