//! Quantifiers: `any d in room.devices where d.gfci`.

use rhai::{CustomExpr, Expr as Ast, Position};

use super::super::place::join;
use super::super::plan::{Expr, Quantifier, Quantify};
use super::super::types::Ty;
use super::{Lowering, Typed};
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
            "least" => Quantify::Least,
            "most" => Quantify::Most,
            other => {
                return self.report(
                    Problem::new(at, format!("`{other}` is a statement, not a value"))
                        .help("put it on a line of its own"),
                );
            }
        };
        let [Ast::Variable(name, _, name_at), list, rest @ ..] = &custom.inputs[..] else { return Typed::wrong(at) };
        let (list, member, list_span) = self.list(list);
        let names = self.names.len();
        let name_span = self.places.token(*name_at);
        let local = self.name(&name.1, name_span, member);
        let mut span = join(at, list_span);
        let mut rest = rest.iter();
        let condition = custom.tokens.iter().any(|token| token == "where").then(|| rest.next()).flatten();
        let condition = condition.map(|condition| self.condition(condition));
        let of = rest.next().map(|of| self.expr(of));
        self.names.truncate(names);
        for part in [&condition, &of].into_iter().flatten() {
            span = join(span, part.span);
        }
        let ty = self.quantified(what, of.as_ref());
        let is_wrong = |part: &Option<Typed>| part.as_ref().is_some_and(|part| part.ty == Ty::Wrong);
        if is_wrong(&condition) || is_wrong(&of) || ty == Ty::Wrong {
            return Typed { ty, ..Typed::wrong(span) };
        }
        let (condition, of) = (condition.map(|part| part.expr), of.map(|part| part.expr));
        let quantifier = Quantifier { what, list, local, condition, of, span };
        Typed { expr: Expr::Quantifier(Box::new(quantifier)), ty, span }
    }

    /// Returns the type of what a quantifier gives.
    fn quantified(&mut self, what: Quantify, of: Option<&Typed>) -> Ty {
        match (what, of) {
            (Quantify::Any | Quantify::Every, _) => Ty::Flag,
            (Quantify::Count, _) => Ty::Quantity(Dimension::Number),
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
            _ => format!("{found} has no more and less"),
        };
        let span: Span = of.span;
        self.report(Problem::new(span, message).label(found));
        Ty::Wrong
    }
}
