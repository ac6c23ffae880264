//! Functions: `min`, `max`, `distance`, and those that the program around the engine has added.

use rhai::{Expr as Ast, FnCallExpr, Position};

use super::super::native::BUILT_IN;
use super::super::place::join;
use super::super::plan::{Expr, Extreme, NativeCall, SlotSource};
use super::super::types::Ty;
use super::{Lowering, Typed};
use crate::problem::{Problem, did_you_mean};
use crate::quantity::parse_any;
use crate::source::Span;

impl Lowering<'_> {
    /// Lowers a call.
    pub(super) fn call(&mut self, call: &FnCallExpr, position: Position) -> Typed {
        let at = self.places.token(position);
        let name = call.name.as_str();
        if call.capture_parent_scope || call.is_qualified() {
            return self
                .report(Problem::new(at, format!("`{name}` can't be called so")).help(format!("write `{name}(…)`")));
        }
        match name {
            "qty" => self.quantity(call, at),
            "min" => self.extreme(call, at, false),
            "max" => self.extreme(call, at, true),
            "distance" => self.distance(call, at),
            "known" => self.former_known(call, at),
            _ => self.native(call, at),
        }
    }

    /// Returns the place of a whole call whose last argument stands at `last`.
    fn whole(&self, at: Span, last: Span) -> Span {
        self.places.until(at, join(at, last), ')')
    }

    fn quantity(&mut self, call: &FnCallExpr, at: Span) -> Typed {
        let [Ast::StringConstant(text, position)] = &call.args[..] else {
            return self.report(
                Problem::new(at, "`qty` takes one text with an amount and its unit").help("write `qty(\"3 ft\")`"),
            );
        };
        let place = self.places.token(*position);
        match parse_any(text) {
            Some(_) if !self.ground.literals => self.no_literal(&format!("\"{text}\""), at),
            Some(quantity) => {
                let span = self.whole(at, place);
                self.slot(SlotSource::Literal(quantity.amount()), Ty::Quantity(quantity.dimension()), span)
            }
            None => self.report(
                Problem::new(place, format!("`{text}` is no amount with a unit of the trade"))
                    .help("write it like `qty(\"3 ft\")`, `qty(\"20 A\")` or `qty(\"12 AWG\")`"),
            ),
        }
    }

    fn extreme(&mut self, call: &FnCallExpr, at: Span, greatest: bool) -> Typed {
        let arguments: Vec<Typed> = call.args.iter().map(|argument| self.expr(argument)).collect();
        let [first, others @ ..] = &arguments[..] else {
            return self.report(Problem::new(at, format!("`{}` takes two amounts or more", call.name)));
        };
        let span = self.whole(at, arguments.last().map_or(at, |last| last.span));
        if others.is_empty() {
            return self.report(Problem::new(span, format!("`{}` takes two amounts or more", call.name)));
        }
        let mut fits = true;
        for other in others {
            fits &= self.must_order(first, other, "be compared");
        }
        if !fits {
            return Typed { ty: first.ty.clone(), ..Typed::wrong(span) };
        }
        let ty = first.ty.clone();
        let of = arguments.into_iter().map(|argument| argument.expr).collect();
        Typed { expr: Expr::Extreme(Box::new(Extreme { greatest, of })), ty, span }
    }

    fn distance(&mut self, call: &FnCallExpr, at: Span) -> Typed {
        let [left, right] = &call.args[..] else {
            return self.report(
                Problem::new(at, "`distance` takes two places").help("write `distance(box.along, other.along)`"),
            );
        };
        let (left, right) = (self.expr(left), self.expr(right));
        let span = self.whole(at, right.span);
        self.apart(left, right, span)
    }

    fn native(&mut self, call: &FnCallExpr, at: Span) -> Typed {
        let name = call.name.as_str();
        let natives = self.ground.natives;
        let Some((function, native)) = natives.find(name) else {
            let problem = Problem::new(at, format!("there is no function `{name}`"));
            return self.report(match did_you_mean(name, natives.names().chain(BUILT_IN)) {
                Some(help) => problem.help(help),
                None => problem,
            });
        };
        let due: Vec<Ty> = native.parameters.iter().map(|ty| Ty::of(ty, self.ground.schema)).collect();
        let returns = Ty::of(&native.returns, self.ground.schema);
        let arguments: Vec<Typed> = call.args.iter().map(|argument| self.expr(argument)).collect();
        let span = self.whole(at, arguments.last().map_or(at, |last| last.span));
        if due.len() != arguments.len() {
            let takes = match due.len() {
                1 => String::from("one value"),
                number => format!("{number} values"),
            };
            return self.report(Problem::new(span, format!("`{name}` takes {takes}, found {}", arguments.len())));
        }
        let mut fits = true;
        for (argument, due) in arguments.iter().zip(&due) {
            fits &= argument.ty != Ty::Wrong;
            if !argument.ty.same_sort(due) || matches!(argument.ty, Ty::List(_)) {
                fits = false;
                let (found, due) = (argument.ty.says(self.ground.schema), due.says(self.ground.schema));
                self.report(
                    Problem::new(argument.span, format!("`{name}` takes {due} here, found {found}")).label(found),
                );
            }
        }
        if !fits {
            return Typed { ty: returns, ..Typed::wrong(span) };
        }
        let arguments = arguments.into_iter().map(|argument| argument.expr).collect();
        Typed { expr: Expr::Native(Box::new(NativeCall { function, arguments, span })), ty: returns, span }
    }
}
