//! How a value came about: the expression of the rule with the amounts that stood in it for one item.
//!
//! A finding carries this tree instead of a sentence, so that every renderer says the same thing in its own form and none of
//! them parses what another has printed.

use std::sync::Arc;

use super::detail::{OperandSource, Shown};
use super::machine::{NONE, of_cell};
use super::plan::{Arithmetic, Expr, List, Path, Quantifier, Quantify, Relation, Root, RowOf, Sign, SlotSource};
use super::reckon::wide;
use super::trace::{Trace, Tracer};
use super::types::Ty;
use super::value::{State, Val};
use crate::book::EntryId;
use crate::model::{FieldId, ItemIndex};
use crate::quantity::Dimension;
use crate::source::Span;

/// A value and how the rule makes it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Working {
    /// The value.
    pub value: Shown,
    /// The name that a `let` of the rule gives it.
    pub name: Option<Arc<str>>,
    /// How it is made.
    pub step: Step,
}

/// How a value is made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Step {
    /// Read from a field of an item.
    Field {
        /// The item.
        item: ItemIndex,
        /// The field.
        field: FieldId,
    },
    /// An item itself.
    Item,
    /// An entry of the code.
    Entry {
        /// The entry.
        entry: EntryId,
    },
    /// A row of a table of the code.
    Row {
        /// The table.
        entry: EntryId,
        /// The row by its position; none where the table has no such row.
        row: Option<usize>,
        /// The key that was looked up.
        key: Box<Working>,
    },
    /// Written in the rule.
    Literal {
        /// Where.
        span: Span,
    },
    /// Made from other values by an operator or function.
    Of {
        /// The operator or function.
        operator: Operator,
        /// What it was applied to. Of `&&` and `||` the part that decided, or all where none did alone.
        parts: Vec<Working>,
    },
    /// Made from the members of a list.
    Members {
        /// What was made of them.
        over: Over,
        /// Members that decided: those that broke an `every`, the one that fulfilled an `any`, those counted or added up, the
        /// one with the least or greatest value.
        parts: Vec<Part>,
        /// How many members the list has.
        of: usize,
        /// Where the list comes from, if it is a field or an entry.
        from: Option<OperandSource>,
    },
    /// Made in a way that this tree does not follow.
    Other {
        /// All that it was made from.
        sources: Vec<OperandSource>,
    },
}

/// An operator of the rule language, or a function.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Operator {
    /// `+`
    Plus,
    /// `-`
    Minus,
    /// `*`
    Times,
    /// `/`
    Over,
    /// The opposite amount.
    Negative,
    /// The least of several.
    Min,
    /// The greatest of several.
    Max,
    /// `==`
    Equal,
    /// `!=`
    Unequal,
    /// `<`
    Less,
    /// `<=`
    LessOrEqual,
    /// `>`
    Greater,
    /// `>=`
    GreaterOrEqual,
    /// `&&`
    And,
    /// `||`
    Or,
    /// `!`
    Not,
    /// Whether a value is in a list.
    In,
    /// A function that the program around the engine has added.
    Function(String),
}

impl Operator {
    /// Returns the sign or name of the operator as rules write it.
    pub fn sign(&self) -> &str {
        match self {
            Operator::Plus => "+",
            Operator::Minus | Operator::Negative => "-",
            Operator::Times => "*",
            Operator::Over => "/",
            Operator::Min => "min",
            Operator::Max => "max",
            Operator::Equal => "==",
            Operator::Unequal => "!=",
            Operator::Less => "<",
            Operator::LessOrEqual => "<=",
            Operator::Greater => ">",
            Operator::GreaterOrEqual => ">=",
            Operator::And => "&&",
            Operator::Or => "||",
            Operator::Not => "!",
            Operator::In => "in",
            Operator::Function(name) => name,
        }
    }
}

/// What is made of the members of a list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Over {
    /// Whether a condition holds of any.
    Any,
    /// Whether it holds of every one.
    Every,
    /// How many there are.
    Count,
    /// The sum of a value.
    Sum,
    /// The least value.
    Least,
    /// The greatest value.
    Most,
    /// How many different values there are.
    Distinct,
}

impl Over {
    /// Returns the word of the rule language.
    pub fn word(self) -> &'static str {
        match self {
            Over::Any => "any",
            Over::Every => "every",
            Over::Count => "count",
            Over::Sum => "sum",
            Over::Least => "least",
            Over::Most => "most",
            Over::Distinct => "distinct",
        }
    }

    fn of(what: Quantify) -> Over {
        match what {
            Quantify::Any => Over::Any,
            Quantify::Every => Over::Every,
            Quantify::Count => Over::Count,
            Quantify::Sum => Over::Sum,
            Quantify::Least => Over::Least,
            Quantify::Most => Over::Most,
            Quantify::Distinct => Over::Distinct,
        }
    }
}

/// A member of a list and what it contributes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// The member.
    pub member: Shown,
    /// Its value, or the condition that it fulfils or breaks.
    pub says: Option<Working>,
}

impl Working {
    /// Calls a function with every step, this one first, in the order in which the rule names them.
    pub fn each<'w>(&'w self, with: &mut impl FnMut(&'w Working)) {
        with(self);
        match &self.step {
            Step::Of { parts, .. } => parts.iter().for_each(|part| part.each(with)),
            Step::Members { parts, .. } => {
                parts.iter().filter_map(|part| part.says.as_ref()).for_each(|w| w.each(with))
            }
            Step::Row { key, .. } => key.each(with),
            Step::Field { .. } | Step::Item | Step::Entry { .. } | Step::Literal { .. } | Step::Other { .. } => {}
        }
    }

    /// Returns whether the value is reckoned from others instead of read as it stands.
    pub fn is_reckoned(&self) -> bool {
        matches!(self.step, Step::Of { .. } | Step::Members { .. })
    }

    /// Returns the items of lists that decided, in order, each once.
    pub fn deciding_members(&self) -> Vec<ItemIndex> {
        let mut items = Vec::new();
        self.each(&mut |working| {
            if let Step::Members { over, parts, .. } = &working.step
                && *over != Over::Sum
            {
                for part in parts {
                    if let Shown::Item(item) = part.member
                        && !items.contains(&item)
                    {
                        items.push(item);
                    }
                }
            }
        });
        items
    }
}

/// The workings of one check.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Workings {
    /// Of what was found; for a `need`, of its condition.
    pub found: Option<Working>,
    /// Of what it was held against.
    pub allowed: Vec<Working>,
    /// Fields and entries that the check and the conditions before it have read, sorted.
    pub reads: Vec<OperandSource>,
}

/// A value on its way into the tree.
struct Made {
    step: Step,
    val: Val,
    ty: Ty,
}

impl Made {
    fn of(step: Step, val: Val, ty: Ty) -> Made {
        Made { step, val, ty }
    }
}

impl Tracer<'_, '_> {
    /// Returns how an expression comes to its value.
    pub(super) fn working(&mut self, expr: &Expr) -> Working {
        self.worked(expr).0
    }

    /// Returns how the members of a list come in.
    pub(super) fn working_of_list(&mut self, list: &List, ty: &Ty) -> Working {
        match list {
            List::Value(expr) => self.working(expr),
            List::Entry(at) => {
                // The type of its members is the list's own: the value may end at a link that leads nowhere.
                let own = self.plan.lists.get(usize::from(*at)).map_or(ty, |used| &used.key_type);
                let value = self.machine.entry_list(*at).map_or(Shown::Unknown, |members| {
                    Shown::List(members.iter().map(|&bits| Shown::of(bits, own, self.machine.facts)).collect())
                });
                let step = match self.plan.lists.get(usize::from(*at)) {
                    Some(used) => Step::Entry { entry: used.entry },
                    None => Step::Other { sources: Vec::new() },
                };
                Working { value, name: None, step }
            }
        }
    }

    fn worked(&mut self, expr: &Expr) -> (Working, Val, Ty) {
        if let Expr::Local(local) = expr
            && let Some(known) = self.workings.get(usize::from(*local)).cloned().flatten()
        {
            return (known, self.machine.local(*local), self.type_of_local(*local));
        }
        let made = self.made(expr);
        let value = self.shown(made.val, &made.ty);
        (Working { value, name: None, step: made.step }, made.val, made.ty)
    }

    fn shown(&self, val: Val, ty: &Ty) -> Shown {
        if val.is_known() { Shown::of(val.bits, ty, self.machine.facts) } else { Shown::Unknown }
    }

    fn type_of_local(&self, local: u8) -> Ty {
        self.plan.names.get(usize::from(local)).map_or(Ty::Wrong, |(_, ty)| ty.clone())
    }

    fn made(&mut self, expr: &Expr) -> Made {
        match expr {
            Expr::Field(field) => self.field_made(self.machine.item, *field, self.machine.field(*field)),
            Expr::Linked(link, field) => self.path_made(&Path {
                root: Root::Item,
                links: [*link].into(),
                field: *field,
                empty_if_missing: false,
            }),
            Expr::Path(path) => self.path_made(path),
            Expr::Slot(at) => self.slot_made(*at),
            Expr::Item(root) => {
                let val = self.machine.root(*root);
                let job = self.machine.job;
                let is_one = val.is_known() && val.bits != NONE;
                let kind = is_one.then(|| job.item(ItemIndex(val.bits as u32)).kind);
                Made::of(Step::Item, val, kind.map_or(Ty::Wrong, Ty::Item))
            }
            Expr::Local(local) => Made::of(Step::Item, self.machine.local(*local), self.type_of_local(*local)),
            Expr::Arithmetic(arithmetic) => self.arithmetic_made(arithmetic),
            Expr::Negative(marked) => {
                let (part, val, ty) = self.worked(&marked.of);
                let step = Step::Of { operator: Operator::Negative, parts: vec![part] };
                Made::of(step, Val { bits: val.bits.wrapping_neg(), ..val }, ty)
            }
            Expr::Extreme(extreme) => {
                let operator = if extreme.greatest { Operator::Max } else { Operator::Min };
                let parts: Vec<_> = extreme.of.iter().map(|one| self.worked(one)).collect();
                let ty = parts.first().map_or(Ty::Wrong, |(_, _, ty)| ty.clone());
                let val = self.trace(expr).val;
                Made::of(Step::Of { operator, parts: parts.into_iter().map(|part| part.0).collect() }, val, ty)
            }
            Expr::Compare(compare) => {
                let (left, a, _) = self.worked(&compare.left);
                let (right, b, _) = self.worked(&compare.right);
                let val = match a.state.max(b.state) {
                    State::Known => Val::flag(compare.relation.holds(a.bits, b.bits)),
                    _ => Val::uncompared(a, b, compare.relation == Relation::Unequal),
                };
                Made::of(Step::Of { operator: relation(compare.relation), parts: vec![left, right] }, val, Ty::Flag)
            }
            Expr::And(operands) => self.joined(expr, operands, true),
            Expr::Or(operands) => self.joined(expr, operands, false),
            Expr::Not(operand) => {
                let (part, val, _) = self.worked(operand);
                let step = Step::Of { operator: Operator::Not, parts: vec![part] };
                Made::of(step, Val { bits: i64::from(val.bits == 0), ..val }.settled(), Ty::Flag)
            }
            Expr::Within(within) => {
                let (value, _, ty) = self.worked(&within.value);
                let list = self.working_of_list(&within.list, &ty);
                let val = self.trace(expr).val;
                Made::of(Step::Of { operator: Operator::In, parts: vec![value, list] }, val, Ty::Flag)
            }
            Expr::Row(row) => self.row_made(expr, row),
            Expr::Quantifier(quantifier) => self.quantifier_made(expr, quantifier),
            Expr::Native(call) => {
                let parts = call.arguments.iter().map(|argument| self.working(argument)).collect();
                let (name, ty) = match self.natives.get(call.function) {
                    Some(native) => (native.name.clone(), Ty::of(&native.returns, &self.machine.job.schema)),
                    None => (String::new(), Ty::Wrong),
                };
                let val = self.trace(expr).val;
                Made::of(Step::Of { operator: Operator::Function(name), parts }, val, ty)
            }
            Expr::Presumed(presumed) => match self.machine.owner(&presumed.of) {
                Ok(item) if self.machine.cell(item, presumed.of.field).is_missing() => {
                    let val = self.machine.stand_in(item, &presumed.value);
                    self.field_made(item, presumed.of.field, val)
                }
                _ => self.path_made(&presumed.of),
            },
            Expr::Choose(choose) => match self.trace(&choose.condition).val {
                condition if condition.holds() => self.made(&choose.then),
                condition if condition.fails() => self.made(&choose.otherwise),
                _ => {
                    let Trace { val, sources, .. } = self.trace(expr);
                    Made::of(Step::Other { sources }, val, Ty::Wrong)
                }
            },
            Expr::Bind(bind) => {
                let value = self.trace(&bind.value);
                self.machine.set(bind.local, value.val);
                if let Some(slot) = self.locals.get_mut(usize::from(bind.local)) {
                    *slot = value;
                }
                self.made(&bind.body)
            }
        }
    }

    fn field_made(&self, item: ItemIndex, field: FieldId, val: Val) -> Made {
        let job = self.machine.job;
        let ty = Ty::of(&job.schema.field_spec(job.item(item).kind, field).ty, &job.schema);
        Made::of(Step::Field { item, field }, val, ty)
    }

    fn path_made(&self, path: &Path) -> Made {
        let root = self.machine.root(path.root);
        if !root.is_known() || root.bits == NONE {
            let root = if root.is_known() { Val::NOTHING } else { root };
            return Made::of(Step::Other { sources: Vec::new() }, root, Ty::Wrong);
        }
        let mut item = ItemIndex(root.bits as u32);
        for &link in &path.links {
            let cell = self.machine.cell(item, link);
            if cell.is_missing() {
                return self.field_made(item, link, Val::UNKNOWN);
            }
            if cell.bits() == NONE {
                return self.field_made(item, link, Val::NOTHING);
            }
            item = cell.to_item();
        }
        let cell = self.machine.cell(item, path.field);
        let val = if cell.is_missing() && path.empty_if_missing { Val::known(0) } else { of_cell(cell) };
        self.field_made(item, path.field, val)
    }

    fn slot_made(&self, at: u16) -> Made {
        let val = self.machine.slot(at);
        match self.plan.slots.get(usize::from(at)) {
            Some(slot) => {
                let step = match slot.source {
                    SlotSource::Entry(entry) => Step::Entry { entry },
                    SlotSource::Literal(_) | SlotSource::Text(..) | SlotSource::Exception(_) => {
                        Step::Literal { span: slot.span }
                    }
                };
                Made::of(step, val, slot.ty.clone())
            }
            None => Made::of(Step::Other { sources: Vec::new() }, val, Ty::Wrong),
        }
    }

    fn arithmetic_made(&mut self, arithmetic: &Arithmetic) -> Made {
        let (left, a, _) = self.worked(&arithmetic.left);
        let (right, b, _) = self.worked(&arithmetic.right);
        let operator = match arithmetic.sign {
            Sign::Plus => Operator::Plus,
            Sign::Minus => Operator::Minus,
            Sign::Times => Operator::Times,
            Sign::Over => Operator::Over,
            Sign::Apart => Operator::Function(String::from("distance")),
        };
        let step = Step::Of { operator, parts: vec![left, right] };
        let state = a.state.max(b.state);
        match (state, wide(arithmetic, a.bits, b.bits)) {
            (State::Known, Ok(result)) => Made::of(step, Val::known(result.amount()), Ty::Quantity(result.dimension())),
            (State::Known, Err(_)) => Made::of(step, Val::FAULT, Ty::Wrong),
            _ => Made::of(step, Val::of_both(a, b), Ty::Wrong),
        }
    }

    fn joined(&mut self, expr: &Expr, operands: &[Expr], all: bool) -> Made {
        let operator = if all { Operator::And } else { Operator::Or };
        let mut parts = Vec::new();
        let mut state = State::Known;
        for operand in operands {
            let (part, val, _) = self.worked(operand);
            let settles = if all { val.fails() } else { val.holds() };
            if settles || val.state == State::Fault {
                return Made::of(Step::Of { operator, parts: vec![part] }, self.trace(expr).val, Ty::Flag);
            }
            state = state.max(val.state);
            parts.push(part);
        }
        Made::of(Step::Of { operator, parts }, Val { bits: i64::from(all), state }, Ty::Flag)
    }

    fn row_made(&mut self, expr: &Expr, row: &RowOf) -> Made {
        let (key, key_val, _) = self.worked(&row.key);
        let Some(used) = self.plan.tables.get(usize::from(row.table)) else {
            return Made::of(Step::Other { sources: Vec::new() }, Val::FAULT, Ty::Wrong);
        };
        let (entry, ty) = (used.entry, used.value_type.clone());
        let trace = self.trace(expr);
        let place = match key_val.is_known() {
            true => trace.sources.iter().find_map(|source| match *source {
                OperandSource::Entry(of, place) if of == entry => place,
                _ => None,
            }),
            false => None,
        };
        Made::of(Step::Row { entry, row: place, key: Box::new(key) }, trace.val, ty)
    }

    fn quantifier_made(&mut self, expr: &Expr, quantifier: &Quantifier) -> Made {
        let val = self.trace(expr).val;
        let from = match &quantifier.list {
            List::Entry(at) => self.plan.lists.get(usize::from(*at)).map(|used| OperandSource::Entry(used.entry, None)),
            List::Value(list) => match self.working(list).step {
                Step::Field { item, field } => Some(OperandSource::Field(item, field)),
                _ => None,
            },
        };
        let members: Vec<Val> = match &quantifier.list {
            List::Entry(at) => {
                self.machine.entry_list(*at).unwrap_or_default().iter().map(|&b| Val::known(b)).collect()
            }
            List::Value(list) => {
                let list = self.trace(list).val;
                let cells = if list.is_known() { self.machine.members(list) } else { &[] };
                cells.iter().map(|cell| of_cell(*cell)).collect()
            }
        };
        let member_type = self.type_of_local(quantifier.local);
        let (over, of) = (Over::of(quantifier.what), members.len());
        let mut ty = match over {
            Over::Any | Over::Every => Ty::Flag,
            Over::Count | Over::Distinct => Ty::Quantity(Dimension::Number),
            Over::Sum | Over::Least | Over::Most => Ty::Wrong,
        };
        let mut parts = Vec::new();
        for member in members {
            self.turn_local_to(quantifier.local, member);
            let condition = quantifier.condition.as_ref().map(|condition| self.trace(condition).val);
            let holds = condition.is_none_or(Val::holds);
            let decides = match over {
                Over::Every => condition.is_some_and(Val::fails),
                Over::Any | Over::Count | Over::Sum | Over::Least | Over::Most | Over::Distinct => holds,
            };
            if !decides {
                continue;
            }
            let says = match (over, &quantifier.of, &quantifier.condition) {
                (Over::Sum | Over::Least | Over::Most, Some(of), _) => {
                    let (working, amount, of_type) = self.worked(of);
                    // Only the member with the least or greatest value decided.
                    if matches!(over, Over::Least | Over::Most) && (!amount.is_known() || amount.bits != val.bits) {
                        ty = of_type;
                        continue;
                    }
                    ty = of_type;
                    Some(working)
                }
                (Over::Any | Over::Every, _, Some(condition)) => Some(self.working(condition)),
                _ => None,
            };
            parts.push(Part { member: self.shown(member, &member_type), says });
            if matches!(over, Over::Any | Over::Least | Over::Most) {
                break;
            }
        }
        Made::of(Step::Members { over, parts, of, from }, val, ty)
    }

    fn turn_local_to(&mut self, local: u8, member: Val) {
        self.machine.set(local, member);
        if let Some(slot) = self.locals.get_mut(usize::from(local)) {
            *slot = Trace::of(member);
        }
    }

    /// Keeps how a `let` came to its value, under its name.
    pub(super) fn keep_working(&mut self, local: u8, value: &Expr) {
        let mut working = self.working(value);
        working.name = self.plan.names.get(usize::from(local)).map(|(name, _)| Arc::clone(name));
        if let Some(slot) = self.workings.get_mut(usize::from(local)) {
            *slot = Some(working);
        }
    }
}

fn relation(relation: Relation) -> Operator {
    match relation {
        Relation::Equal => Operator::Equal,
        Relation::Unequal => Operator::Unequal,
        Relation::Less => Operator::Less,
        Relation::LessOrEqual => Operator::LessOrEqual,
        Relation::Greater => Operator::Greater,
        Relation::GreaterOrEqual => Operator::GreaterOrEqual,
    }
}
