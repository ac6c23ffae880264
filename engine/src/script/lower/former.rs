//! What rules said with `skip` and `known(…)` before scope, exceptions and presumptions were statements of their own: told with the
//! lines to write instead.

use rhai::{Expr as Ast, FlowControl, FnCallExpr, Position, Stmt, Token};

use super::super::place::join;
use super::super::syntax::FORMER;
use super::super::types::Ty;
use super::Lowering;
use crate::problem::Problem;
use crate::source::Span;

/// Returns whether a branch does nothing else than leave the rule.
pub(super) fn is_former(branch: &[Stmt]) -> bool {
    matches!(branch, [Stmt::Expr(expr)] if matches!(&**expr, Ast::Custom(custom, _)
        if custom.tokens.first().is_some_and(|word| word == FORMER)))
}

impl Lowering<'_> {
    /// Reports `if COND { skip; }` with the line that says the same.
    pub(super) fn former(&mut self, flow: &FlowControl, position: Position) {
        let told = self.problems.len();
        let condition = self.condition(&flow.expr);
        let wrong = condition.ty == Ty::Wrong && self.problems.len() > told;
        let span = join(self.places.token(position), condition.span);
        let scope = self.opposite(&flow.expr).unwrap_or_else(|| String::from("…"));
        // Names that are gone are told by this problem.
        self.problems.truncate(told);
        let help = match wrong && scope == "…" {
            true => String::from("say whom the rule concerns with `applies where …;`"),
            false => format!(
                "write `applies where {scope};` or, where a section makes an exception, `except \"SECTION\" where …;`; \
                 what is not recorded leaves the outcome open by itself"
            ),
        };
        self.report(
            Problem::new(span, format!("`{FORMER}` is no longer part of the rule language"))
                .label("whom the rule concerns")
                .help(help),
        );
        // What the rest of the rule says is looked at all the same.
        if !flow.branch.is_empty() {
            self.block(flow.branch.statements());
        }
    }

    /// Reports a `skip` that no `if` leads to.
    pub(super) fn former_alone(&mut self, position: Position) {
        let span = self.places.token(position);
        self.report(
            Problem::new(span, format!("`{FORMER}` is no longer part of the rule language")).help(
                "say at the top of the rule whom it concerns, `applies where …;`, and what is excepted, `except \"SECTION\" where …;`",
            ),
        );
    }

    /// Reports a call of `known`.
    pub(super) fn former_known(&mut self, call: &FnCallExpr, at: Span) -> super::Typed {
        let of = call.args.first().map_or_else(|| String::from("x"), |of| self.written(of));
        self.report(Problem::new(at, "`known` is no longer part of the rule language").help(format!(
            "leave it out: where `{of}` is not recorded the outcome is open by itself; where the trade takes something for granted \
             write `presume {of} is VALUE because \"…\";`; whether a link leads nowhere is asked with `{of} == none`"
        )))
    }

    /// Returns the text of an expression.
    fn written(&mut self, ast: &Ast) -> String {
        let told = self.problems.len();
        let span = match ast {
            Ast::And(operands, _) | Ast::Or(operands, _) => {
                operands.iter().map(|operand| self.expr(operand).span).fold(Span::NONE, join)
            }
            other => self.expr(other).span,
        };
        self.problems.truncate(told);
        self.places.text(span).split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Returns the text of the opposite of a condition; what asks whether something is recorded falls away.
    fn opposite(&mut self, ast: &Ast) -> Option<String> {
        match ast {
            Ast::Or(operands, _) => {
                let parts: Vec<(bool, String)> = operands
                    .iter()
                    .filter_map(|operand| Some((matches!(operand, Ast::And(..)), self.opposite(operand)?)))
                    .collect();
                let bracketed = |(or, text): &(bool, String)| if *or { format!("({text})") } else { text.clone() };
                let joined = parts.iter().map(bracketed).collect::<Vec<_>>().join(" && ");
                (!parts.is_empty()).then_some(joined)
            }
            Ast::And(operands, _) => {
                let parts: Vec<String> = operands
                    .iter()
                    .filter(|operand| !asks_whether_recorded(operand))
                    .filter_map(|operand| {
                        let text = self.opposite(operand)?;
                        Some(if matches!(operand, Ast::Or(..)) { format!("({text})") } else { text })
                    })
                    .collect();
                (!parts.is_empty()).then(|| parts.join(" || "))
            }
            operand if asks_whether_recorded(operand) => None,
            Ast::FnCall(call, _) => match (call.op_token.as_ref(), &call.args[..]) {
                (Some(Token::Bang), [inner @ (Ast::And(..) | Ast::Or(..))]) => Some(self.written(inner)),
                (Some(Token::Bang), [inner]) => Some(self.written(inner)),
                (Some(operator), [left, right]) => {
                    let turned = match operator {
                        Token::EqualsTo => "!=",
                        Token::NotEqualsTo => "==",
                        Token::LessThan => ">=",
                        Token::LessThanEqualsTo => ">",
                        Token::GreaterThan => "<=",
                        Token::GreaterThanEqualsTo => "<",
                        _ => return Some(format!("!({})", self.written(ast))),
                    };
                    Some(format!("{} {turned} {}", self.written(left), self.written(right)))
                }
                _ => Some(format!("!({})", self.written(ast))),
            },
            Ast::Variable(..) | Ast::Dot(..) => Some(format!("!{}", self.written(ast))),
            _ => Some(format!("!({})", self.written(ast))),
        }
    }
}

/// Returns whether an operand only asks whether something is recorded.
fn asks_whether_recorded(ast: &Ast) -> bool {
    match ast {
        Ast::FnCall(call, _) if call.op_token == Some(Token::Bang) => {
            call.args.first().is_some_and(asks_whether_recorded)
        }
        Ast::FnCall(call, _) => call.name == "known",
        _ => false,
    }
}
