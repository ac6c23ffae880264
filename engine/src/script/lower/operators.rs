//! Operators, with their types and dimensions checked.

use rhai::{Expr as Ast, FnCallExpr, Position, Token};

use super::super::place::join;
use super::super::plan::{Arithmetic, Compare, Expr, Marked, Relation, Short, Sign, SlotSource, Within};
use super::super::reckon::in_lowest_terms;
use super::super::types::Ty;
use super::{Lowering, Typed};
use crate::problem::{Problem, did_you_mean};
use crate::quantity::{Dimension, Quantity};
use crate::source::Span;

impl Lowering<'_> {
    /// Lowers a chain of `&&` or `||`.
    pub(super) fn all_or_any(&mut self, operands: &[Ast], all: bool) -> Typed {
        let lowered: Vec<Typed> = operands.iter().map(|operand| self.condition(operand)).collect();
        let span = lowered.iter().fold(Span::NONE, |span, typed| join(span, typed.span));
        if lowered.iter().any(|typed| typed.ty == Ty::Wrong) {
            return Typed::wrong(span);
        }
        let operands = lowered.into_iter().map(|typed| typed.expr).collect();
        let expr = if all { Expr::And(operands) } else { Expr::Or(operands) };
        Typed { expr, ty: Ty::Flag, span }
    }

    /// Lowers an operator.
    pub(super) fn operator(&mut self, call: &FnCallExpr, position: Position) -> Typed {
        let at = self.places.token(position);
        match (call.op_token.as_ref(), &call.args[..]) {
            (Some(Token::Bang), [inside]) if is_not_in(inside) => {
                let within = self.expr(inside);
                negated(within)
            }
            (Some(Token::Bang), [operand]) => {
                let typed = self.condition(operand);
                let span = join(at, typed.span);
                negated(Typed { span, ..typed })
            }
            (Some(Token::Minus), [operand]) => self.negative(operand, at),
            (Some(Token::Plus), [operand]) => {
                let typed = self.expr(operand);
                match typed.ty {
                    Ty::Quantity(_) | Ty::Wrong => typed,
                    _ => self.report(Problem::new(at, "only an amount has a sign").help("leave the `+` out")),
                }
            }
            (None | Some(Token::NotIn), [list, value]) => self.within(list, value, at),
            (Some(operator), [left, right]) => {
                let (left, right) = (self.expr(left), self.expr(right));
                self.binary(operator, left, right, at)
            }
            _ => self.report(Problem::new(at, "this is not part of the rule language")),
        }
    }

    fn binary(&mut self, operator: &Token, left: Typed, right: Typed, at: Span) -> Typed {
        let relation = match operator {
            Token::Plus => return self.arithmetic(Sign::Plus, left, right, at),
            Token::Minus => return self.arithmetic(Sign::Minus, left, right, at),
            Token::Multiply => return self.arithmetic(Sign::Times, left, right, at),
            Token::Divide => return self.arithmetic(Sign::Over, left, right, at),
            Token::EqualsTo => Relation::Equal,
            Token::NotEqualsTo => Relation::Unequal,
            Token::LessThan => Relation::Less,
            Token::LessThanEqualsTo => Relation::LessOrEqual,
            Token::GreaterThan => Relation::Greater,
            Token::GreaterThanEqualsTo => Relation::GreaterOrEqual,
            other => {
                let word = other.literal_syntax();
                return self.report(
                    Problem::new(at, format!("`{word}` is not part of the rule language"))
                        .help("there are `+ - * /`, `== != < <= > >=`, `&& || !` and `in`"),
                );
            }
        };
        let span = join(left.span, right.span);
        let fits = match relation {
            Relation::Equal | Relation::Unequal => self.must_equal(&left, &right, "be compared"),
            _ => self.must_order(&left, &right, "be compared"),
        };
        if !fits {
            return Typed { ty: Ty::Flag, ..Typed::wrong(span) };
        }
        let compare = Compare { relation, left: left.expr, right: right.expr };
        Typed { expr: Expr::Compare(Box::new(compare)), ty: Ty::Flag, span }
    }

    fn arithmetic(&mut self, sign: Sign, left: Typed, right: Typed, at: Span) -> Typed {
        let span = join(left.span, right.span);
        if left.ty == Ty::Wrong || right.ty == Ty::Wrong {
            return Typed::wrong(span);
        }
        let dimensions = left.ty.dimension().zip(right.ty.dimension());
        let result = dimensions.and_then(|(a, b)| match sign {
            Sign::Plus => a.sum(b),
            Sign::Minus => a.difference(b),
            Sign::Times => a.product(b),
            Sign::Over => a.quotient(b),
            Sign::Apart => a.difference(b),
        });
        let (Some(dimensions), Some(dimension)) = (dimensions, result) else {
            let (l, r) = (left.ty.says(self.ground.schema), right.ty.says(self.ground.schema));
            let message = match sign {
                Sign::Plus => format!("{l} and {r} can't be added"),
                Sign::Minus => format!("{r} can't be taken from {l}"),
                Sign::Times => format!("{l} can't be multiplied by {r}"),
                Sign::Over => format!("{l} can't be divided by {r}"),
                Sign::Apart => format!("{l} and {r} are not apart"),
            };
            let problem = Problem::new(at, message).mark(left.span, l).mark(right.span, r);
            return self.report(match dimensions {
                None => problem.help("only amounts can be reckoned with"),
                Some((Dimension::Number, _) | (_, Dimension::Number)) => {
                    problem.help("a value with its unit is an entry of the code: `code.…`")
                }
                Some(_) => problem.help("both sides must measure what can be put together so"),
            });
        };
        let short = self.short(sign, &left.expr, &right.expr, dimensions);
        let expr = Arithmetic { sign, left: left.expr, right: right.expr, dimensions, short, span };
        Typed { expr: Expr::Arithmetic(Box::new(expr)), ty: Ty::Quantity(dimension), span }
    }

    /// Lowers the distance of two amounts.
    pub(super) fn apart(&mut self, left: Typed, right: Typed, span: Span) -> Typed {
        let typed = self.arithmetic(Sign::Apart, left, right, span);
        Typed { span, ..typed }
    }

    /// Returns a shorter way to a result: sums of one dimension, and products with a literal factor.
    fn short(&self, sign: Sign, left: &Expr, right: &Expr, dimensions: (Dimension, Dimension)) -> Short {
        let plain = dimensions.0 == dimensions.1 && dimensions.0 != Dimension::Date;
        let factor = |dimension| matches!(dimension, Dimension::Number | Dimension::Ratio);
        let one = Quantity::number(1).amount();
        match sign {
            Sign::Plus if plain => Short::Add,
            Sign::Minus if plain => Short::Subtract,
            Sign::Times if factor(dimensions.1) => match self.literal_amount(right) {
                Some(amount) => {
                    let (by, over) = in_lowest_terms(amount, one);
                    Short::ScaleLeft { by, over }
                }
                None => entry_slot(right).map_or(Short::No, Short::ByEntry),
            },
            Sign::Times if factor(dimensions.0) => match self.literal_amount(left) {
                Some(amount) => {
                    let (by, over) = in_lowest_terms(amount, one);
                    Short::ScaleRight { by, over }
                }
                None => entry_slot(left).map_or(Short::No, Short::EntryBy),
            },
            Sign::Over if factor(dimensions.1) => match self.literal_amount(right) {
                Some(amount) if amount > 0 => {
                    let (by, over) = in_lowest_terms(one, amount);
                    Short::ScaleLeft { by, over }
                }
                _ => Short::No,
            },
            _ => Short::No,
        }
    }

    fn literal_amount(&self, expr: &Expr) -> Option<i64> {
        let Expr::Slot(at) = expr else { return None };
        match self.slots.get(usize::from(*at))?.source {
            SlotSource::Literal(amount) => Some(amount),
            _ => None,
        }
    }

    fn negative(&mut self, operand: &Ast, at: Span) -> Typed {
        let typed = self.expr(operand);
        let span = join(at, typed.span);
        match typed.ty {
            Ty::Wrong => Typed::wrong(span),
            Ty::Quantity(dimension) if !matches!(dimension, Dimension::Date | Dimension::Conductor) => {
                let marked = Marked { of: typed.expr, span };
                Typed { expr: Expr::Negative(Box::new(marked)), ty: Ty::Quantity(dimension), span }
            }
            other => {
                let found = other.says(self.ground.schema);
                self.report(Problem::new(at, format!("{found} has no sign")).mark(typed.span, found))
            }
        }
    }

    fn within(&mut self, list: &Ast, value: &Ast, at: Span) -> Typed {
        let value = self.expr(value);
        let (list, member, list_span) = self.list(list);
        let span = join(value.span, list_span);
        if let (Ty::Flag, Expr::Not(_)) = (&value.ty, &value.expr) {
            return self.report(
                Problem::new(at, "`!` belongs to the value before `in`, not to the whole").help("write `!(… in …)`"),
            );
        }
        if !self.must_share(&value, &member, list_span, "be in") {
            return Typed { ty: Ty::Flag, ..Typed::wrong(span) };
        }
        if let Ty::Word(words) = value.ty {
            self.check_members(words, &list);
        }
        Typed { expr: Expr::Within(Box::new(Within { list, value: value.expr })), ty: Ty::Flag, span }
    }

    /// Checks that two values can be the same. `what` says what they are asked for: `be compared`.
    pub(super) fn must_equal(&mut self, left: &Typed, right: &Typed, what: &str) -> bool {
        if matches!(left.ty, Ty::List(_)) || matches!(right.ty, Ty::List(_)) {
            let list = if matches!(left.ty, Ty::List(_)) { left } else { right };
            self.report(
                Problem::new(list.span, format!("a list can't {what}"))
                    .label("a list here")
                    .help("look at its members with a quantifier, such as `any d in room.devices where …`"),
            );
            return false;
        }
        if !left.ty.same_sort(&right.ty) {
            return self.unlike(left, right, what);
        }
        match (&left.ty, &right.ty) {
            (Ty::Wrong, _) | (_, Ty::Wrong) => false,
            (Ty::Word(words), Ty::Said(text)) => self.must_be_word(text, words, right.span),
            (Ty::Said(text), Ty::Word(words)) => self.must_be_word(text, words, left.span),
            (Ty::Word(a), Ty::Word(b)) if !a.iter().any(|word| b.contains(word)) => {
                self.report(
                    Problem::new(right.span, "these two can never be the same word")
                        .mark(left.span, format!("one of {}", few(a)))
                        .label(format!("one of {}", few(b))),
                );
                false
            }
            _ => true,
        }
    }

    /// Checks that two values have an order: quantities of one dimension.
    pub(super) fn must_order(&mut self, left: &Typed, right: &Typed, what: &str) -> bool {
        match (&left.ty, &right.ty) {
            (Ty::Wrong, _) | (_, Ty::Wrong) => false,
            (Ty::Quantity(a), Ty::Quantity(b)) if a == b => true,
            (Ty::Quantity(_), Ty::Quantity(_)) => self.unlike(left, right, what),
            (Ty::Quantity(_), _) | (_, Ty::Quantity(_)) => self.unlike(left, right, what),
            (other, _) => {
                let found = other.says(self.ground.schema);
                self.report(
                    Problem::new(left.span, format!("{found} has no more and less"))
                        .label(found)
                        .help("compare it with `==`, `!=` or `in`"),
                );
                false
            }
        }
    }

    /// Checks that a value can be a member of a list.
    pub(super) fn must_share(&mut self, value: &Typed, member: &Ty, list: Span, what: &str) -> bool {
        match (&value.ty, member) {
            (Ty::Wrong, _) | (_, Ty::Wrong) => return false,
            (Ty::Said(text), Ty::Word(words)) => return self.must_be_word(text, words, value.span),
            _ => {}
        }
        if value.ty.same_sort(member) && !matches!(value.ty, Ty::List(_)) {
            return true;
        }
        let found = value.ty.says(self.ground.schema);
        let holds = Ty::List(Box::new(member.clone())).says(self.ground.schema);
        self.report(Problem::new(value.span, format!("{found} can't {what} {holds}")).label(found).mark(list, holds));
        false
    }

    fn unlike(&mut self, left: &Typed, right: &Typed, what: &str) -> bool {
        let (l, r) = (left.ty.says(self.ground.schema), right.ty.says(self.ground.schema));
        let says = [l.clone(), r.clone()];
        let mut problem = Problem::new(right.span, format!("{l} can't {what} with {r}")).label(r).mark(left.span, l);
        // The slip may be in the entry, not in the rule.
        let mut unitless = false;
        let number = Ty::Quantity(Dimension::Number);
        let amounts = matches!((&left.ty, &right.ty), (Ty::Quantity(_), Ty::Quantity(_)));
        for (side, says) in [left, right].into_iter().zip(says).filter(|_| amounts) {
            if let Some(set) = self.set_at(side.span) {
                unitless |= side.ty == number;
                problem = problem.mark(set, format!("the entry is {says}"));
            }
        }
        let help = match (&left.ty, &right.ty) {
            (Ty::Quantity(due), other) | (other, Ty::Quantity(due))
                if *other == number && *due != Dimension::Number =>
            {
                if unitless {
                    return self
                        .told(problem.help(format!("write the unit into the entry, such as {}", due.examples())));
                }
                format!("a value with its unit, such as {}, is an entry of the code: `code.…`", due.examples())
            }
            (Ty::Flag, _) | (_, Ty::Flag) => String::from("a yes or no stands by itself, or after `!`"),
            (Ty::Quantity(due), Ty::Said(_)) | (Ty::Said(_), Ty::Quantity(due)) => {
                format!("a value with its unit, such as {}, is an entry of the code: `code.…`", due.examples())
            }
            _ => String::from("both sides must be of one sort"),
        };
        self.told(problem.help(help))
    }

    fn told(&mut self, problem: Problem) -> bool {
        self.report(problem);
        false
    }

    /// Returns where the entry that a rule names at a place was last set.
    fn set_at(&self, named: Span) -> Option<Span> {
        let slot = self.slots.iter().find(|slot| slot.span == named)?;
        let SlotSource::Entry(id) = slot.source else { return None };
        self.ground.book.entry(id)?.chain.last().map(|set| set.span)
    }

    fn must_be_word(&mut self, text: &str, words: &'static [&'static str], span: Span) -> bool {
        if words.contains(&text) {
            return true;
        }
        let problem =
            Problem::new(span, format!("`{text}` is none of the words that can stand here")).label("never met");
        self.report(match did_you_mean(text, words.iter().copied()) {
            Some(help) => problem.help(help),
            None => problem.help(format!("the words are {}", few(words))),
        });
        false
    }
}

fn negated(typed: Typed) -> Typed {
    match typed.ty {
        Ty::Wrong => typed,
        _ => Typed { expr: Expr::Not(Box::new(typed.expr)), ty: Ty::Flag, span: typed.span },
    }
}

/// Returns whether this is the inner half of `x !in list`, which Rhai parses as `!` around it.
fn is_not_in(ast: &Ast) -> bool {
    matches!(ast, Ast::FnCall(call, _) if call.op_token == Some(Token::NotIn))
}

/// Returns words for a message, not too many.
fn few(words: &[&str]) -> String {
    match words.get(..8) {
        Some(first) => format!("{} …", first.join(", ")),
        None => words.join(", "),
    }
}

/// Returns the slot of an expression that is a literal or an entry of the book.
fn entry_slot(expr: &Expr) -> Option<u16> {
    match expr {
        Expr::Slot(slot) => Some(*slot),
        _ => None,
    }
}
