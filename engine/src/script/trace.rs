//! Values that remember what they were made from.

use super::detail::OperandSource;
use super::machine::{Machine, NONE, of_cell};
use super::native::{Call, Natives};
use super::plan::{
    Arithmetic, Choose, Expr, List, NativeCall, Otherwise, Path, Plan, Presumed, Quantifier, Quantify, Relation, Root,
    RowOf, Slot, SlotSource, Stand, Within,
};
use super::quantify::{Tally, datum, perhaps};
use super::reads::ReadLog;
use super::reckon::{is_member, wide};
use super::types::Ty;
use super::value::{State, Val};
use super::working::Working;
use crate::book::{EntryId, Value};
use crate::model::{FieldId, ItemIndex};
use crate::problem::Problem;
use crate::quantity::{Quantity, UnitSystem};
use crate::source::Span;

/// A value, all that it was made from, and what is missing or wrong.
#[derive(Clone, Debug)]
pub(super) struct Trace {
    pub(super) val: Val,
    /// Why it is not known, if it is not.
    pub(super) missing: Vec<(ItemIndex, FieldId)>,
    pub(super) sources: Vec<OperandSource>,
    /// Why it can't be made, if it can't.
    pub(super) fault: Option<Problem>,
    /// The members of a list.
    pub(super) members: Option<Vec<i64>>,
}

/// Adds what is not yet there.
pub(super) fn merge<T: PartialEq + Copy>(into: &mut Vec<T>, more: &[T]) {
    for one in more {
        if !into.contains(one) {
            into.push(*one);
        }
    }
}

impl Trace {
    pub(super) fn of(val: Val) -> Trace {
        Trace { val, missing: Vec::new(), sources: Vec::new(), fault: None, members: None }
    }

    pub(super) fn fault(problem: Problem) -> Trace {
        Trace { fault: Some(problem), ..Trace::of(Val::FAULT) }
    }

    /// Adds another operand's sources, and what is missing or wrong with it.
    fn with(mut self, other: &Trace) -> Trace {
        merge(&mut self.missing, &other.missing);
        merge(&mut self.sources, &other.sources);
        self.fault = self.fault.or_else(|| other.fault.clone());
        self
    }

    /// Gives it another value. What is missing is of no account once the value is known.
    fn becomes(mut self, val: Val) -> Trace {
        self.val = val;
        if val.state != State::Unknown {
            self.missing.clear();
        }
        self
    }
}

/// Goes through expressions and remembers.
pub(super) struct Tracer<'r, 'a> {
    pub(super) machine: &'r mut Machine<'a>,
    pub(super) plan: &'r Plan,
    pub(super) natives: &'r Natives,
    /// What stands behind each local value.
    pub(super) locals: Vec<Trace>,
    /// What has been presumed so far for the item that is looked at.
    pub(super) presumed: Vec<(u8, ItemIndex, FieldId)>,
    /// How each `let` came to its value.
    pub(super) workings: Vec<Option<Working>>,
    /// What has been read.
    pub(super) reads: ReadLog,
}

impl Tracer<'_, '_> {
    /// Returns the value of an expression with all that stands behind it.
    pub(super) fn trace(&mut self, expr: &Expr) -> Trace {
        match expr {
            Expr::Field(field) => self.cell(self.machine.item, *field, self.machine.field(*field)),
            Expr::Slot(slot) => self.slot(*slot),
            Expr::Local(local) => {
                self.reads.note_local(*local);
                self.locals.get(usize::from(*local)).cloned().unwrap_or(Trace::of(Val::FAULT))
            }
            Expr::Linked(link, field) => {
                self.path(&Path { root: Root::Item, links: [*link].into(), field: *field, empty_if_missing: false })
            }
            Expr::Path(path) => self.path(path),
            Expr::Item(root) => Trace::of(self.machine.root(*root)),
            Expr::Compare(compare) => {
                let (left, right) = (self.trace(&compare.left), self.trace(&compare.right));
                let (a, b) = (left.val, right.val);
                let val = match a.state.max(b.state) {
                    State::Known => Val::flag(compare.relation.holds(a.bits, b.bits)),
                    _ => Val::uncompared(a, b, compare.relation == Relation::Unequal),
                };
                left.with(&right).becomes(val)
            }
            Expr::And(operands) => self.all_or_any(operands, true),
            Expr::Or(operands) => self.all_or_any(operands, false),
            Expr::Not(operand) => {
                let trace = self.trace(operand);
                let val = Val { bits: i64::from(trace.val.bits == 0), state: trace.val.state }.settled();
                trace.becomes(val)
            }
            Expr::Arithmetic(arithmetic) => self.arithmetic(arithmetic),
            Expr::Negative(marked) => {
                let trace = self.trace(&marked.of);
                match (trace.val.is_known(), trace.val.bits.checked_neg()) {
                    (false, _) => trace,
                    (true, Some(bits)) => trace.becomes(Val::known(bits)),
                    (true, None) => Trace::fault(Problem::new(marked.span, "the result is too large")),
                }
            }
            Expr::Extreme(extreme) => self.extreme(extreme.greatest, &extreme.of),
            Expr::Within(within) => {
                let list = self.list(&within.list);
                if list.val.state == State::Fault {
                    return list;
                }
                let value = self.trace(&within.value);
                let val = self.contains(within, &list, &value);
                value.with(&list).becomes(val)
            }
            Expr::Row(row) => self.row(row),
            Expr::Quantifier(quantifier) => self.quantifier(quantifier),
            Expr::Native(call) => self.native(call),
            Expr::Presumed(presumed) => self.presume(presumed),
            Expr::Choose(choose) => self.choose(choose),
            Expr::Bind(bind) => {
                let value = self.trace(&bind.value);
                self.machine.set(bind.local, value.val);
                if let Some(slot) = self.locals.get_mut(usize::from(bind.local)) {
                    *slot = value;
                }
                self.trace(&bind.body)
            }
        }
    }

    /// Returns a field's trace, or that of what the rule presumes where it is not recorded.
    fn presume(&mut self, presumed: &Presumed) -> Trace {
        let item = match self.machine.owner(&presumed.of) {
            Ok(item) => item,
            Err(_) => return self.path(&presumed.of),
        };
        let field = presumed.of.field;
        if !self.machine.cell(item, field).is_missing() {
            return self.path(&presumed.of);
        }
        let mut trace = self.stands(item, &presumed.value);
        if !trace.val.is_settled() {
            return self.path(&presumed.of);
        }
        self.machine.presumed = true;
        merge(&mut self.presumed, &[(presumed.number, item, field)]);
        trace.sources.insert(0, OperandSource::Presumed(presumed.number, item, field));
        trace
    }

    /// Returns the trace of what stands in for a field of an item.
    fn stands(&mut self, item: ItemIndex, stand: &Stand) -> Trace {
        match stand {
            Stand::Slot(slot) => self.slot(*slot),
            Stand::Field(links, field, in_turn) => {
                if let (Some(in_turn), Ok(item)) = (in_turn, self.machine.follow(item, links))
                    && self.machine.cell(item, *field).is_missing()
                {
                    let (number, stand) = &**in_turn;
                    let trace = self.stands(item, stand);
                    if trace.val.is_settled() {
                        merge(&mut self.presumed, &[(*number, item, *field)]);
                    }
                    return trace;
                }
                let root = Val::known(i64::from(item.0));
                self.reach(
                    root,
                    &Path { root: Root::Item, links: links.clone(), field: *field, empty_if_missing: false },
                )
            }
        }
    }

    /// Returns the trace of one of two values.
    fn choose(&mut self, choose: &Choose) -> Trace {
        let condition = self.trace(&choose.condition);
        match condition.val.state {
            State::Fault => condition,
            State::Unknown => {
                let (then, otherwise) = (self.trace(&choose.then), self.trace(&choose.otherwise));
                let val = super::reckon::either(then.val, otherwise.val);
                if val.state == State::Fault && then.val.state != State::Fault {
                    return otherwise;
                }
                let mut trace = then.with(&otherwise);
                merge(&mut trace.missing, &condition.missing);
                trace.becomes(val)
            }
            _ if condition.val.bits != 0 => self.trace(&choose.then),
            _ => self.trace(&choose.otherwise),
        }
    }

    fn all_or_any(&mut self, operands: &[Expr], all: bool) -> Trace {
        let mut so_far = Trace::of(Val::flag(all));
        for operand in operands {
            let trace = self.trace(operand);
            let settles = if all { trace.val.fails() } else { trace.val.holds() };
            if trace.val.state == State::Fault || settles {
                let val = trace.val.settled();
                return trace.becomes(val);
            }
            let state = if trace.val.state == State::Unknown { State::Unknown } else { so_far.val.state };
            let val = Val { state, ..so_far.val };
            so_far = so_far.with(&trace);
            so_far.val = val;
        }
        so_far
    }

    /// Returns a field's trace. What a derived field lacks is what it is computed from.
    fn cell(&self, item: ItemIndex, field: FieldId, val: Val) -> Trace {
        let mut trace = Trace::of(val);
        self.reads.note(OperandSource::Field(item, field));
        trace.sources.push(OperandSource::Field(item, field));
        if val.state == State::Unknown {
            let behind = self.machine.facts.missing_for(item, field);
            match behind.is_empty() {
                true => trace.missing.push((item, field)),
                false => trace.missing.extend_from_slice(behind),
            }
        }
        trace
    }

    fn path(&self, path: &Path) -> Trace {
        if let Root::Local(local) = path.root {
            self.reads.note_local(local);
        }
        let root = match path.root {
            Root::Local(local) => match self.locals.get(usize::from(local)) {
                Some(trace) if trace.val.is_known() && trace.val.bits == NONE => {
                    return Trace { val: Val::NOTHING, ..trace.clone() };
                }
                Some(trace) if trace.val.is_known() => trace.val,
                Some(trace) => return trace.clone(),
                None => return Trace::of(Val::FAULT),
            },
            root => self.machine.root(root),
        };
        self.reach(root, path)
    }

    /// Returns the trace of the field that a path leads to from an item.
    fn reach(&self, root: Val, path: &Path) -> Trace {
        if !root.is_known() {
            return Trace::of(root);
        }
        if root.bits == NONE {
            return Trace::of(Val::NOTHING);
        }
        let mut item = ItemIndex(root.bits as u32);
        for &link in &path.links {
            let cell = self.machine.cell(item, link);
            if cell.is_missing() {
                return self.cell(item, link, Val::UNKNOWN);
            }
            if cell.bits() == NONE {
                return self.cell(item, link, Val::NOTHING);
            }
            self.reads.note(OperandSource::Field(item, link));
            item = cell.to_item();
        }
        let cell = self.machine.cell(item, path.field);
        let val = if cell.is_missing() && path.empty_if_missing { Val::known(0) } else { of_cell(cell) };
        self.cell(item, path.field, val)
    }

    fn slot(&self, at: u16) -> Trace {
        let Some(slot) = self.plan.slots.get(usize::from(at)) else { return Trace::of(Val::FAULT) };
        let val = self.machine.slot(at);
        if let SlotSource::Entry(id) = slot.source {
            self.reads.note(OperandSource::Entry(id, None));
        }
        match (&slot.source, val.state) {
            (SlotSource::Entry(id), State::Fault) => Trace::fault(self.not_what_was_due(*id, slot)),
            (SlotSource::Entry(id), _) => Trace { sources: vec![OperandSource::Entry(*id, None)], ..Trace::of(val) },
            _ => Trace { sources: vec![OperandSource::Literal(slot.span)], ..Trace::of(val) },
        }
    }

    fn not_what_was_due(&self, id: EntryId, slot: &Slot) -> Problem {
        match self.machine.book.entry(id) {
            Some(entry) => {
                let due = slot.ty.says(&self.machine.job.schema);
                let found = entry.ty.described();
                Problem::new(slot.span, format!("`code.{}` is {found} here, and the rule takes {due}", entry.key))
            }
            None => Problem::new(slot.span, "this entry is not in force here")
                .help("a place that takes it out of force must omit the rule as well"),
        }
    }

    /// Returns what is wrong with a list or table that is not there, or holds something else.
    fn not_in_force(&self, id: EntryId, key: &str, span: Span) -> Problem {
        match self.machine.book.entry(id) {
            Some(entry) => Problem::new(
                span,
                format!("`code.{key}` is {} here, which the rule was not written for", entry.ty.described()),
            ),
            None => Problem::new(span, format!("`code.{key}` is not in force here"))
                .help("a place that takes it out of force must omit the rule as well"),
        }
    }

    fn arithmetic(&mut self, arithmetic: &Arithmetic) -> Trace {
        let (left, right) = (self.trace(&arithmetic.left), self.trace(&arithmetic.right));
        let (a, b) = (left.val, right.val);
        let both = left.with(&right);
        match a.state.max(b.state) {
            State::Known => match wide(arithmetic, a.bits, b.bits) {
                Ok(result) => both.becomes(Val::known(result.amount())),
                Err(error) => Trace::fault(Problem::new(arithmetic.span, error.message)),
            },
            _ => both.becomes(Val::of_both(a, b)),
        }
    }

    fn extreme(&mut self, greatest: bool, of: &[Expr]) -> Trace {
        let mut so_far: Option<Trace> = None;
        for expr in of {
            let trace = self.trace(expr);
            if trace.val.state == State::Fault {
                return trace;
            }
            so_far = Some(match so_far {
                None => trace,
                Some(best) => {
                    let (a, b) = (best.val, trace.val);
                    let val = match a.state.max(b.state) {
                        State::Known => Val::known(if greatest { a.bits.max(b.bits) } else { a.bits.min(b.bits) }),
                        _ => Val::of_both(a, b),
                    };
                    best.with(&trace).becomes(val)
                }
            });
        }
        so_far.unwrap_or(Trace::of(Val::FAULT))
    }

    /// Returns the trace of a list of the code.
    fn entry_list(&mut self, at: u16) -> Trace {
        let Some(used) = self.plan.lists.get(usize::from(at)) else { return Trace::of(Val::FAULT) };
        self.reads.note(OperandSource::Entry(used.entry, None));
        match self.machine.slots.lists.get(usize::from(at)) {
            Some(Some(members)) => Trace {
                members: Some(members.to_vec()),
                sources: vec![OperandSource::Entry(used.entry, None)],
                ..Trace::of(Val::known(0))
            },
            _ => Trace::fault(self.not_in_force(used.entry, &used.key, used.span)),
        }
    }

    /// Returns the trace of a list.
    fn list(&mut self, list: &List) -> Trace {
        match list {
            List::Entry(at) => self.entry_list(*at),
            List::Value(expr) => self.list_value(expr),
        }
    }

    fn list_value(&mut self, expr: &Expr) -> Trace {
        let mut trace = self.trace(expr);
        if trace.val.is_known() {
            let cells = self.machine.members(trace.val);
            trace.members = Some(cells.iter().map(|cell| cell.bits()).collect());
        }
        trace
    }

    /// Returns the trace of a list and whether a value is in it.
    pub(super) fn is_in(&mut self, within: &Within, value: &Trace) -> (Trace, Val) {
        let list = self.list(&within.list);
        let val = self.contains(within, &list, value);
        (list, val)
    }

    fn contains(&self, within: &Within, list: &Trace, value: &Trace) -> Val {
        let state = list.val.state.max(value.val.state);
        match (&within.list, state) {
            (List::Entry(_), State::Known) => {
                Val::flag(list.members.as_ref().is_some_and(|members| members.contains(&value.val.bits)))
            }
            (List::Value(_), State::Known) => is_member(self.machine.members(list.val), value.val.bits),
            _ => Val::uncompared(list.val, value.val, false),
        }
    }

    fn row(&mut self, row: &RowOf) -> Trace {
        let Some(used) = self.plan.tables.get(usize::from(row.table)).cloned() else {
            return Trace::of(Val::FAULT);
        };
        if !matches!(self.machine.slots.tables.get(usize::from(row.table)), Some(Some(_))) {
            return Trace::fault(self.not_in_force(used.entry, &used.key, used.span));
        }
        let key = self.trace(&row.key);
        if !key.val.is_known() {
            return key;
        }
        let table = self.machine.slots.tables.get(usize::from(row.table)).and_then(Option::as_ref);
        let found = table.and_then(|table| {
            let at = table.find(key.val.bits)?;
            Some((table.value(at), table.place(at)))
        });
        match found {
            Some((bits, place)) => {
                self.reads.note(OperandSource::Entry(used.entry, Some(place)));
                let mut trace = key.becomes(Val::known(bits));
                merge(&mut trace.sources, &[OperandSource::Entry(used.entry, Some(place))]);
                trace
            }
            None => {
                let shown = self.key_text(key.val.bits, &row.key_type);
                let extent = match self.machine.book.entry(used.entry).map(|entry| &entry.value) {
                    Some(Value::Table(table)) => table.extent(),
                    _ => String::from("it has no rows"),
                };
                Trace::fault(Problem::new(row.span, format!("no row for `{shown}` in `{}`", used.key)).help(extent))
            }
        }
    }

    fn key_text(&self, bits: i64, ty: &Ty) -> String {
        match ty {
            Ty::Quantity(dimension) => Quantity::new(*dimension, bits).print(UnitSystem::Customary),
            Ty::Flag => String::from(if bits != 0 { "true" } else { "false" }),
            _ => self.machine.job.symbols.text(crate::model::Symbol(bits as u32)).to_owned(),
        }
    }

    fn quantifier(&mut self, quantifier: &Quantifier) -> Trace {
        let list = self.list(&quantifier.list);
        if !list.val.is_settled() {
            return list;
        }
        let members: Vec<Val> = match &quantifier.list {
            _ if !list.val.is_known() => Vec::new(),
            List::Entry(_) => list.members.iter().flatten().map(|&bits| Val::known(bits)).collect(),
            List::Value(_) => self.machine.members(list.val).iter().map(|cell| of_cell(*cell)).collect(),
        };
        let there = list.val;
        let mut so_far = Trace { members: None, ..list };
        let mut best: Option<Trace> = None;
        let mut tally = Tally::new(quantifier.what, quantifier.otherwise.is_some());
        for member in members {
            self.machine.set(quantifier.local, member);
            if let Some(slot) = self.locals.get_mut(usize::from(quantifier.local)) {
                *slot = Trace::of(member);
            }
            let condition = match &quantifier.condition {
                Some(condition) => self.trace(condition),
                None => Trace::of(Val::flag(true)),
            };
            if let Some(done) = tally.condition(condition.val) {
                return condition.becomes(done);
            }
            merge(&mut so_far.missing, &condition.missing);
            let Some(of) = quantifier.of.as_ref().filter(|_| condition.val.holds()) else { continue };
            let amount = self.trace(of);
            let before = tally.so_far();
            if let Some(done) = tally.amount(amount.val) {
                return match amount.val.state {
                    State::Fault => amount,
                    _ => Trace::fault(Problem::new(quantifier.span, "the sum is too large")).becomes(done),
                };
            }
            merge(&mut so_far.missing, &amount.missing);
            match quantifier.what {
                Quantify::Sum | Quantify::Distinct => merge(&mut so_far.sources, &amount.sources),
                _ if tally.so_far() != before => best = Some(amount),
                _ => {}
            }
        }
        for &item in perhaps(self.machine, quantifier.placed_by, there) {
            let member = Val::known(i64::from(item.0));
            self.machine.set(quantifier.local, member);
            if let Some(slot) = self.locals.get_mut(usize::from(quantifier.local)) {
                *slot = Trace::of(member);
            }
            let condition = match &quantifier.condition {
                Some(condition) => self.trace(condition),
                None => Trace::of(Val::flag(true)),
            };
            if tally.would_change(condition.val) {
                if let Some((_, field)) = quantifier.placed_by {
                    merge(&mut so_far.missing, &[(item, field)]);
                }
                return so_far.becomes(Val::UNKNOWN);
            }
        }
        let result = tally.result();
        if result == Val::NOTHING {
            return match &quantifier.otherwise {
                Some(Otherwise::Fail) => so_far.becomes(Val::OR_FAIL),
                Some(Otherwise::Met) => so_far.becomes(Val::OR_MET),
                Some(Otherwise::Value(expr)) => self.trace(expr),
                None => so_far.becomes(result),
            };
        }
        // What a least or greatest value rests on is the member that has it.
        if let (State::Known, Some(best)) = (result.state, best) {
            return best.becomes(result);
        }
        so_far.becomes(result)
    }

    fn native(&mut self, call: &NativeCall) -> Trace {
        let natives = self.natives;
        let Some(native) = natives.get(call.function) else { return Trace::of(Val::FAULT) };
        let mut all = Trace::of(Val::known(0));
        let mut arguments = Vec::new();
        for (argument, ty) in call.arguments.iter().zip(&native.parameters) {
            let trace = self.trace(argument);
            if trace.val.state == State::Fault {
                return trace;
            }
            arguments.push(datum(trace.val.bits, ty));
            let state = all.val.state.max(trace.val.state);
            all = all.with(&trace);
            all.val.state = state;
        }
        match all.val.state {
            State::Known => {}
            State::Undefined => return all.becomes(Val::NOTHING),
            _ => return all,
        }
        let (facts, book) = (self.machine.facts, self.machine.book);
        match native.call(Call { arguments: &arguments, facts, book }) {
            Ok(Some(given)) => all.becomes(Val::known(given.bits())),
            Ok(None) => all.becomes(Val::UNKNOWN),
            Err(message) => Trace::fault(Problem::new(call.span, message)),
        }
    }
}
