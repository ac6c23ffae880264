//! Puts our own syntax in place of what Rhai would do with two values only: `&&`, `||`, `if`; numbers checks and statements; and
//! takes out what a rule presumes.

use std::collections::BTreeSet;

use rhai::{CustomExpr, Dynamic, Expr, FnCallExpr, ImmutableString, Stmt, StmtBlock};

use super::super::detail::OperandSource;
use super::super::place::Places;
use super::super::syntax;
use super::sight::{Fate, Presumed, Seen, What};
use crate::quantity::{Dimension, Quantity, parse, parse_any};
use crate::source::Span;

/// A rule as the evaluator takes it.
pub(super) struct Rewritten {
    pub(super) statements: Vec<Stmt>,
    /// The names that stand behind a dot.
    pub(super) names: BTreeSet<ImmutableString>,
    /// What stands in for each field that the rule presumes something of.
    pub(super) presumed: Vec<Presumed>,
}

/// Rewrites the statements of a rule.
pub(super) fn rule(block: &[Stmt], places: &Places<'_>) -> Rewritten {
    let mut rewriting = Rewriting { places, checks: 0, statements: 0, names: BTreeSet::new(), presumed: Vec::new() };
    let statements = rewriting.block(block);
    Rewritten { statements, names: rewriting.names, presumed: rewriting.presumed }
}

/// What a statement knows of itself: its position in the rule, and the check that it is or that comes next.
pub(super) fn told(state: &Dynamic) -> (u32, i64) {
    let state = state.as_int().unwrap_or(0);
    (u32::try_from(state >> 8).unwrap_or(0), state & 0xff)
}

/// The parts of a quantifier.
pub(super) const WHERE: i64 = 1;
pub(super) const OF: i64 = 2;
pub(super) const OR: i64 = 4;

const QUANTIFIERS: [&str; 9] = ["any", "every", "count", "sum", "least", "most", "nearest", "farthest", "distinct"];

/// Returns the statement that runs a rewritten rule once for each of several items.
pub(super) fn each(statements: &[Stmt], span: rhai::Span) -> Stmt {
    let rule = Expr::Stmt(Box::new(StmtBlock::new_with_span(statements.to_vec(), span)));
    Stmt::Expr(Box::new(own("each_item", vec![rule], Dynamic::UNIT, span.start())))
}

struct Rewriting<'a> {
    places: &'a Places<'a>,
    checks: i64,
    statements: i64,
    names: BTreeSet<ImmutableString>,
    presumed: Vec<Presumed>,
}

impl Rewriting<'_> {
    /// Returns the state of a statement: its position, and the check that comes next.
    fn state(&mut self) -> Dynamic {
        self.statements += 1;
        Dynamic::from((self.statements << 8) | self.checks)
    }

    fn block(&mut self, block: &[Stmt]) -> Vec<Stmt> {
        block.iter().map(|statement| self.statement(statement)).collect()
    }

    fn boxed(&mut self, block: &StmtBlock) -> Expr {
        Expr::Stmt(Box::new(StmtBlock::new_with_span(self.block(block.statements()), block.span())))
    }

    fn statement(&mut self, statement: &Stmt) -> Stmt {
        match statement {
            Stmt::If(flow, position) => {
                let state = self.state();
                let condition = self.expr(&flow.expr);
                let inputs = vec![condition, self.boxed(&flow.body), self.boxed(&flow.branch)];
                Stmt::Expr(Box::new(own("choose", inputs, state, *position)))
            }
            Stmt::Var(var, flags, position) => {
                let state = self.state();
                let value = self.expr(&var.1);
                let kept = own("kept", vec![value], state, *position);
                Stmt::Var(Box::new((var.0.clone(), kept, None)), *flags, *position)
            }
            Stmt::Expr(expr) => match &**expr {
                Expr::Custom(custom, position) if custom.tokens.first().is_some_and(|word| word == "presume") => {
                    self.presume(custom);
                    Stmt::Noop(*position)
                }
                expr => Stmt::Expr(Box::new(self.expr(expr))),
            },
            Stmt::Block(block) => {
                Stmt::Block(Box::new(StmtBlock::new_with_span(self.block(block.statements()), block.span())))
            }
            other => other.clone(),
        }
    }

    fn constant(&self, what: What, span: Span, position: rhai::Position) -> Expr {
        let seen = Seen { sources: vec![OperandSource::Literal(span)], ..Seen::of(what) };
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
            // Only the end of a chain may be presumed, so what is presumed is asked for behind the whole.
            Expr::Dot(_, _, position) if !self.presumed.is_empty() => {
                own("perhaps", vec![self.chain(expr)], Dynamic::UNIT, *position)
            }
            Expr::Dot(..) => self.chain(expr),
            Expr::Stmt(block) => self.value_by_condition(block.statements(), expr),
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

    /// Rewrites a chain of names, and what is inside it.
    fn chain(&mut self, expr: &Expr) -> Expr {
        match expr {
            Expr::Dot(binary, flags, position) => {
                let mut binary = binary.clone();
                binary.lhs = self.chain(&binary.lhs);
                binary.rhs = self.chain(&binary.rhs);
                Expr::Dot(binary, *flags, *position)
            }
            other => self.expr(other),
        }
    }

    /// Rewrites an `if` that stands for a value.
    fn value_by_condition(&mut self, statements: &[Stmt], whole: &Expr) -> Expr {
        let [Stmt::If(flow, position)] = statements else { return whole.clone() };
        let condition = self.expr(&flow.expr);
        let mut branch = |block: &StmtBlock| match block.statements() {
            [Stmt::Expr(value)] => self.expr(value),
            other => self.value_by_condition(other, whole),
        };
        let inputs = vec![condition, branch(&flow.body), branch(&flow.branch)];
        own("either", inputs, Dynamic::UNIT, *position)
    }

    /// Takes up `presume FIELD is VALUE because "…"`.
    fn presume(&mut self, custom: &CustomExpr) {
        let [field, value, ..] = &custom.inputs[..] else { return };
        let (root, mut fields) = names(field);
        fields.pop();
        let presumed = match (root, names(value)) {
            (Some(own), (Some(other), steps)) if own == other && own != "code" => {
                Presumed::Field(steps.into_iter().skip(fields.len()).collect())
            }
            (_, (Some(code), steps)) if code == "code" => Presumed::Value(Seen::code(steps.join("."))),
            (_, (Some(none), _)) if none == "none" => Presumed::Value(Seen::of(What::None)),
            _ => Presumed::Value(self.written(value)),
        };
        self.presumed.push(presumed);
    }

    /// Returns a value that is written out.
    fn written(&mut self, value: &Expr) -> Seen {
        if let Expr::FnCall(call, _) = value
            && let FnCallExpr { args, .. } = &**call
            && let [Expr::StringConstant(text, _)] = &args[..]
            && let Some(amount) = parse_any(text)
        {
            return Seen::of(What::Amount(amount));
        }
        match self.expr(value) {
            Expr::DynamicConstant(seen, _) => (*seen).try_cast().unwrap_or(Seen::of(What::Unknown)),
            _ => Seen::of(What::Unknown),
        }
    }

    fn custom(&mut self, custom: &CustomExpr, position: rhai::Position) -> Expr {
        let word = custom.tokens.first().map_or("", |token| token.as_str());
        let mut custom = custom.clone();
        custom.state = match word {
            "keep" | "need" | "look" | "except" => {
                let state = self.state();
                self.checks += 1;
                state
            }
            "applies" => self.state(),
            // Which parts a quantifier has is not told to the function that evaluates it.
            _ if QUANTIFIERS.contains(&word) => {
                let has = |part: &str, bit: i64| if custom.tokens.iter().any(|token| token == part) { bit } else { 0 };
                Dynamic::from(has("where", WHERE) | has("of", OF) | has("or", OR))
            }
            _ => Dynamic::UNIT,
        };
        let last = custom.inputs.len().saturating_sub(1);
        let has_or = custom.tokens.iter().any(|token| token == "or");
        // The name that a quantifier gives to a member, and a fix, stay as they are.
        custom.inputs = custom
            .inputs
            .iter()
            .enumerate()
            .map(|(at, input)| match (word, at, input) {
                (_, 0, name) if QUANTIFIERS.contains(&word) => name.clone(),
                (_, at, Expr::Variable(fate, ..)) if has_or && at == last && fate.1 == "fail" => {
                    self.constant(What::Undefined(Fate::Fail), Span::NONE, position)
                }
                (_, at, Expr::Variable(fate, ..)) if has_or && at == last && fate.1 == "met" => {
                    self.constant(What::Undefined(Fate::Met), Span::NONE, position)
                }
                ("except", at, text) if at < last => text.clone(),
                ("keep" | "need" | "look", _, Expr::StringConstant(..)) if is_fix(&custom, at) => input.clone(),
                (_, _, input) => self.expr(input),
            })
            .collect();
        Expr::Custom(Box::new(custom), position)
    }
}

/// Returns the name that a chain begins with, and the names behind it.
fn names(expr: &Expr) -> (Option<String>, Vec<String>) {
    match expr {
        Expr::Variable(variable, ..) => (Some(variable.1.to_string()), Vec::new()),
        Expr::Property(property, _) => (None, vec![syntax::name(&property.2).to_owned()]),
        Expr::Dot(binary, ..) => {
            let (root, mut all) = names(&binary.lhs);
            all.extend(names(&binary.rhs).1);
            (root, all)
        }
        _ => (None, Vec::new()),
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
