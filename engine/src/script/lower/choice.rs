//! A value by a condition: `let reach = if box.is_forward { code.reach.forward } else { code.reach.side };`

use rhai::{Expr as Ast, Position, Stmt, StmtBlock};

use super::super::place::join;
use super::super::plan::{Choose, Expr};
use super::super::types::Ty;
use super::{Lowering, Typed};
use crate::problem::Problem;

impl Lowering<'_> {
    /// Lowers a block that stands where a value is due: an `if` with a value in each branch.
    pub(super) fn choice(&mut self, block: &StmtBlock, position: Position) -> Typed {
        let place = self.places.token(position);
        let [Stmt::If(flow, _)] = block.statements() else { return self.no_choice(position) };
        let condition = self.condition(&flow.expr);
        let (Some(then), Some(otherwise)) =
            (self.branch(flow.body.statements()), self.branch(flow.branch.statements()))
        else {
            return self.no_choice(position);
        };
        let span = join(place, otherwise.span);
        if [&condition, &then, &otherwise].iter().any(|part| part.ty == Ty::Wrong) {
            return Typed::wrong(span);
        }
        if !self.must_equal(&then, &otherwise, "stand for one value") {
            return Typed::wrong(span);
        }
        // A word that is written out is of the vocabulary that the other value is of.
        let ty = if matches!(then.ty, Ty::Said(_)) { otherwise.ty.clone() } else { then.ty.clone() };
        let ty = if matches!(ty, Ty::Said(_)) { Ty::Text } else { ty };
        let choose = Choose { condition: condition.expr, then: then.expr, otherwise: otherwise.expr };
        Typed { expr: Expr::Choose(Box::new(choose)), ty, span }
    }

    /// Lowers the value of a branch.
    fn branch(&mut self, statements: &[Stmt]) -> Option<Typed> {
        match statements {
            [Stmt::Expr(value)] => Some(self.expr(value)),
            // `else if` is an `if` in the branch.
            [Stmt::If(..)] => {
                let position = statements.first().map_or(Position::NONE, Stmt::position);
                let Some(Stmt::If(flow, at)) = statements.first() else { return None };
                let inner = Ast::Stmt(Box::new(StmtBlock::new_with_span(
                    [Stmt::If(flow.clone(), *at)],
                    rhai::Span::new(position, position),
                )));
                Some(self.expr(&inner))
            }
            _ => None,
        }
    }

    fn no_choice(&mut self, position: Position) -> Typed {
        let span = self.places.token(position);
        self.report(
            Problem::new(span, "a value by a condition has one value in each branch")
                .help("write `if CONDITION { A } else { B }`, without a `;` inside"),
        )
    }
}
