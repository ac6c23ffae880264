//! Quantifiers: `any d in room.devices where d.gfci`.

use rhai::{CustomExpr, Expr as Ast, Position};

use super::super::place::join;
use super::super::plan::{Expr, List, Otherwise, Path, Quantifier, Quantify};
use super::super::syntax::PICKS;
use super::super::types::Ty;
use super::{Lowering, Typed};
use crate::model::{FieldId, Filled, KindId};
use crate::problem::Problem;
use crate::quantity::Dimension;
use crate::source::Span;

impl Lowering<'_> {
    /// Lowers a quantifier, the only syntax of our own that is a value.
    pub(super) fn custom(&mut self, custom: &CustomExpr, position: Position) -> Typed {
        let word = custom.tokens.first().map_or("", |token| token.as_str());
        let at = self.places.token(position);
        let what = match word {
            "any" => Quantify::Any,
            "every" => Quantify::Every,
            "count" => Quantify::Count,
            "sum" => Quantify::Sum,
            "least" | "nearest" => Quantify::Least,
            "most" | "farthest" => Quantify::Most,
            "distinct" => Quantify::Distinct,
            other => {
                return self.report(
                    Problem::new(at, format!("`{other}` is a statement, not a value"))
                        .help("put it on a line of its own"),
                );
            }
        };
        let [Ast::Variable(name, _, name_at), list, rest @ ..] = &custom.inputs[..] else { return Typed::wrong(at) };
        let (list, member, list_span) = self.list(list);
        let placed_by = self.placed_by(&list);
        let names = self.names.len();
        let name_span = self.places.token(*name_at);
        let local = self.name(&name.1, name_span, member);
        let mut span = join(at, list_span);
        let mut rest = rest.iter();
        let condition = custom.tokens.iter().any(|token| token == "where").then(|| rest.next()).flatten();
        if let Some(condition) = condition {
            self.belongs(condition, &name.1, at);
        }
        let condition = condition.map(|condition| self.condition(condition));
        let of = custom.tokens.iter().any(|token| token == "of").then(|| rest.next()).flatten();
        let of = of.map(|of| self.expr(of));
        self.names.truncate(names);
        let otherwise = rest.next();
        if otherwise.is_none() && PICKS.contains(&word) {
            self.report(
                Problem::new(at, format!("`{word}` does not say what holds where there is none"))
                    .help("write behind it `or fail`, `or met`, or a value: `or code.…`"),
            );
        }
        let otherwise = otherwise.and_then(|otherwise| self.otherwise(otherwise, of.as_ref()));
        for part in [&condition, &of].into_iter().flatten() {
            span = join(span, part.span);
        }
        let ty = self.quantified(what, of.as_ref());
        let is_wrong = |part: &Option<Typed>| part.as_ref().is_some_and(|part| part.ty == Ty::Wrong);
        if is_wrong(&condition) || is_wrong(&of) || ty == Ty::Wrong {
            return Typed { ty, ..Typed::wrong(span) };
        }
        let (condition, of) = (condition.map(|part| part.expr), of.map(|part| part.expr));
        let quantifier = Quantifier { what, list, local, condition, of, otherwise, placed_by, span };
        Typed { expr: Expr::Quantifier(Box::new(quantifier)), ty, span }
    }

    /// Lowers what a quantifier gives where it has no member.
    fn otherwise(&mut self, ast: &Ast, of: Option<&Typed>) -> Option<Otherwise> {
        if let Ast::Variable(word, ..) = ast {
            match word.1.as_str() {
                "fail" => return Some(Otherwise::Fail),
                "met" => return Some(Otherwise::Met),
                _ => {}
            }
        }
        let value = self.expr(ast);
        self.must_order(of?, &value, "stand for one value").then_some(Otherwise::Value(value.expr))
    }

    /// Returns the link that puts a member into a list field, where one does.
    fn placed_by(&self, list: &List) -> Option<(KindId, FieldId)> {
        let List::Value(Expr::Path(path)) = list else { return None };
        let Path { empty_if_missing: true, .. } = &**path else { return None };
        let (kind, field) = self.ends_at?;
        let Filled::Inverse { kind: members, via } = self.ground.schema.field_spec(kind, field).filled else {
            return None;
        };
        let members = self.ground.schema.kind(members)?;
        Some((members, self.ground.schema.field(members, via)?))
    }

    /// Reports a part of a condition that says nothing of the member: somebody meant it for what stands around.
    fn belongs(&mut self, condition: &Ast, name: &str, at: Span) {
        let (Ast::And(parts, _) | Ast::Or(parts, _)) = condition else { return };
        let Some(stray) = parts.iter().find(|part| !mentions(part, name)) else { return };
        let place = self.places.token(stray.start_position());
        self.report(
            Problem::new(place, format!("this says nothing of `{name}`, and stands in its condition"))
                .mark(at, "the condition of this")
                .help(format!(
                    "put brackets round all that is about `{name}`, from here up to the end of its condition"
                )),
        );
    }

    /// Returns the type of what a quantifier gives.
    fn quantified(&mut self, what: Quantify, of: Option<&Typed>) -> Ty {
        match (what, of) {
            (Quantify::Any | Quantify::Every, _) => Ty::Flag,
            (Quantify::Count, _) => Ty::Quantity(Dimension::Number),
            (Quantify::Distinct, Some(of)) if matches!(of.ty, Ty::List(_)) => self.no_sum(what, of),
            (Quantify::Distinct, Some(_)) => Ty::Quantity(Dimension::Number),
            (_, Some(of)) => match of.ty {
                Ty::Wrong => Ty::Wrong,
                Ty::Quantity(dimension) if what != Quantify::Sum || dimension.sum(dimension).is_some() => of.ty.clone(),
                _ => self.no_sum(what, of),
            },
            (_, None) => Ty::Wrong,
        }
    }

    fn no_sum(&mut self, what: Quantify, of: &Typed) -> Ty {
        let found = of.ty.says(self.ground.schema);
        let message = match what {
            Quantify::Sum => format!("{found} can't be added up"),
            Quantify::Distinct => format!("{found} is no single value"),
            _ => format!("{found} has no more and less"),
        };
        let span: Span = of.span;
        self.report(Problem::new(span, message).label(found));
        Ty::Wrong
    }
}

/// Returns whether an expression names a value.
fn mentions(ast: &Ast, name: &str) -> bool {
    match ast {
        Ast::Variable(variable, ..) => variable.1 == name,
        Ast::And(parts, _) | Ast::Or(parts, _) => parts.iter().any(|part| mentions(part, name)),
        Ast::FnCall(call, _) => call.args.iter().any(|part| mentions(part, name)),
        Ast::Dot(binary, ..) | Ast::Index(binary, ..) => mentions(&binary.lhs, name) || mentions(&binary.rhs, name),
        Ast::Custom(custom, _) => custom.inputs.iter().any(|part| mentions(part, name)),
        Ast::MethodCall(call, _) => call.args.iter().any(|part| mentions(part, name)),
        Ast::Stmt(block) => block.statements().iter().any(|statement| match statement {
            rhai::Stmt::Expr(expr) => mentions(expr, name),
            rhai::Stmt::If(flow, _) => {
                let inside = |block: &rhai::StmtBlock| {
                    block.statements().iter().any(|one| matches!(one, rhai::Stmt::Expr(expr) if mentions(expr, name)))
                };
                mentions(&flow.expr, name) || inside(&flow.body) || inside(&flow.branch)
            }
            _ => false,
        }),
        _ => false,
    }
}
