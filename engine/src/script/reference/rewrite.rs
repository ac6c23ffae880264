//! Puts our own syntax in place of what Rhai would do with two values only: `&&`, `||`, `if`; and numbers the checks.

use std::collections::BTreeSet;

use rhai::{CustomExpr, Dynamic, Expr, ImmutableString, Stmt, StmtBlock};

use super::super::detail::OperandSource;
use super::super::place::Places;
use super::sight::{Seen, What};
use crate::quantity::{Dimension, Quantity, parse};
use crate::source::Span;

/// Rewrites the statements of a rule; returns them with the names that stand behind a dot.
pub(super) fn statements(block: &[Stmt], places: &Places<'_>) -> (Vec<Stmt>, BTreeSet<ImmutableString>) {
    let mut rewriting = Rewriting { places, checks: 0, names: BTreeSet::new() };
    (rewriting.block(block), rewriting.names)
}

/// Returns the statement that runs a rewritten rule once for each of several items.
pub(super) fn each(statements: &[Stmt], span: rhai::Span) -> Stmt {
    let rule = Expr::Stmt(Box::new(StmtBlock::new_with_span(statements.to_vec(), span)));
    Stmt::Expr(Box::new(own("each_item", vec![rule], Dynamic::UNIT, span.start())))
}

struct Rewriting<'a> {
    places: &'a Places<'a>,
    checks: i64,
    names: BTreeSet<ImmutableString>,
}

impl Rewriting<'_> {
    fn block(&mut self, block: &[Stmt]) -> Vec<Stmt> {
        block.iter().map(|statement| self.statement(statement)).collect()
    }

    fn boxed(&mut self, block: &StmtBlock) -> Expr {
        Expr::Stmt(Box::new(StmtBlock::new_with_span(self.block(block.statements()), block.span())))
    }

    fn statement(&mut self, statement: &Stmt) -> Stmt {
        match statement {
            Stmt::If(flow, position) => {
                let next = self.checks;
                let condition = self.expr(&flow.expr);
                let inputs = [condition, self.boxed(&flow.body), self.boxed(&flow.branch)];
                Stmt::Expr(Box::new(own("choose", inputs.into_iter().collect(), next.into(), *position)))
            }
            Stmt::Var(var, flags, position) => {
                let next = self.checks;
                let value = self.expr(&var.1);
                let kept = own("kept", [value].into_iter().collect(), next.into(), *position);
                Stmt::Var(Box::new((var.0.clone(), kept, None)), *flags, *position)
            }
            Stmt::Expr(expr) => Stmt::Expr(Box::new(self.expr(expr))),
            Stmt::Block(block) => {
                Stmt::Block(Box::new(StmtBlock::new_with_span(self.block(block.statements()), block.span())))
            }
            other => other.clone(),
        }
    }

    fn constant(&self, what: What, span: Span, position: rhai::Position) -> Expr {
        let seen = Seen { what, missing: Vec::new(), sources: vec![OperandSource::Literal(span)] };
        Expr::DynamicConstant(Box::new(Dynamic::from(seen)), position)
    }

    fn number(&self, position: rhai::Position) -> Expr {
        let mut span = self.places.token(position);
        if self.places.text(span) == "-" {
            span = self.places.two_tokens(position);
        }
        let text: String = self.places.text(span).chars().filter(|c| !c.is_whitespace() && *c != '_').collect();
        let amount = parse(&text, Dimension::Number).unwrap_or(Quantity::number(0));
        self.constant(What::Amount(amount), span, position)
    }

    fn expr(&mut self, expr: &Expr) -> Expr {
        match expr {
            Expr::BoolConstant(flag, position) => {
                self.constant(What::Flag(*flag), self.places.token(*position), *position)
            }
            Expr::IntegerConstant(_, position) | Expr::FloatConstant(_, position) => self.number(*position),
            Expr::StringConstant(text, position) => {
                self.constant(What::Text(text.to_string()), self.places.token(*position), *position)
            }
            Expr::Variable(variable, _, position) => {
                // Our syntax puts names into the scope that Rhai's parser does not know of: find all by name.
                let (_, name, namespace, hash) = &**variable;
                Expr::Variable(Box::new((None, name.clone(), namespace.clone(), *hash)), None, *position)
            }
            Expr::And(operands, position) => {
                own("all_of", operands.iter().map(|operand| self.expr(operand)).collect(), Dynamic::UNIT, *position)
            }
            Expr::Or(operands, position) => {
                own("any_of", operands.iter().map(|operand| self.expr(operand)).collect(), Dynamic::UNIT, *position)
            }
            Expr::FnCall(call, position) => {
                let mut call = call.clone();
                call.args = call.args.iter().map(|argument| self.expr(argument)).collect();
                Expr::FnCall(call, *position)
            }
            Expr::Dot(binary, flags, position) => {
                let mut binary = binary.clone();
                binary.lhs = self.expr(&binary.lhs);
                binary.rhs = self.expr(&binary.rhs);
                Expr::Dot(binary, *flags, *position)
            }
            Expr::Index(binary, flags, position) => {
                let mut binary = binary.clone();
                binary.lhs = self.expr(&binary.lhs);
                binary.rhs = self.expr(&binary.rhs);
                Expr::Index(binary, *flags, *position)
            }
            Expr::Custom(custom, position) => self.custom(custom, *position),
            Expr::Property(property, _) => {
                self.names.insert(property.2.clone());
                expr.clone()
            }
            other => other.clone(),
        }
    }

    fn custom(&mut self, custom: &CustomExpr, position: rhai::Position) -> Expr {
        let word = custom.tokens.first().map_or("", |token| token.as_str());
        let mut custom = custom.clone();
        custom.state = match word {
            "keep" | "need" | "look" => {
                let check = self.checks;
                self.checks += 1;
                check.into()
            }
            // Which parts a quantifier has is not told to the function that evaluates it.
            "any" | "every" | "count" | "sum" | "least" | "most" => {
                let has_condition = custom.tokens.iter().any(|token| token == "where");
                Dynamic::from(has_condition)
            }
            _ => Dynamic::UNIT,
        };
        // The name that a quantifier gives to a member, and a fix, stay as they are.
        custom.inputs = custom
            .inputs
            .iter()
            .enumerate()
            .map(|(at, input)| match (word, at, input) {
                ("any" | "every" | "count" | "sum" | "least" | "most", 0, name) => name.clone(),
                ("keep" | "need" | "look", _, Expr::StringConstant(..)) if is_fix(&custom, at) => input.clone(),
                (_, _, input) => self.expr(input),
            })
            .collect();
        Expr::Custom(Box::new(custom), position)
    }
}

/// Returns whether an input is the text behind `else`, or that of a `look`.
fn is_fix(custom: &CustomExpr, at: usize) -> bool {
    let has_fix = custom.tokens.iter().any(|token| token == "else");
    let is_look = custom.tokens.first().is_some_and(|word| word == "look");
    is_look || (has_fix && at + 1 == custom.inputs.len())
}

/// Returns a node of a syntax that no text can write.
fn own(word: &str, inputs: Vec<Expr>, state: Dynamic, position: rhai::Position) -> Expr {
    let custom = CustomExpr {
        inputs: inputs.into_iter().collect(),
        tokens: [word.into()].into_iter().collect(),
        state,
        scope_may_be_changed: false,
        self_terminated: false,
    };
    Expr::Custom(Box::new(custom), position)
}
