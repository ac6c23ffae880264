//! Checks a parsed rule and lowers it to typed operations.
//!
//! All mistakes of a rule are found in one go, each with the exact characters to look at: names of fields, entries and words,
//! types and dimensions of every operator and verb. Bare comparison of unlike things is a mistake, too: left alone, Rhai
//! would call them unequal and a requirement would pass in silence.

mod calls;
mod chains;
mod choice;
mod define;
mod entries;
mod former;
mod never;
mod operators;
mod quantifiers;
mod scope;
mod statements;

use std::collections::BTreeSet;

use rhai::{Expr as Ast, Position};

use super::check::{Check, Exception, ExistingWork, Outline, PRESUMED_OUT, Verb};
use super::native::Natives;
use super::place::Places;
use super::plan::{Expr, Plan, Presumption, Slot, SlotSource, Stand, Statement, Use};
use super::rule::Compiler;
use super::types::Ty;
use crate::book::{Book, ExceptionInForce};
use crate::model::{FieldId, KindId, Schema, Symbols};
use crate::problem::Problem;
use crate::quantity::{Dimension, Quantity, parse};
use crate::source::{Files, Span};

/// Most checks of one rule.
const MOST_CHECKS: usize = 64;

/// Most values that `let` and quantifiers of one rule may keep.
const MOST_LOCALS: usize = 32;

/// Most literals, entries, lists and tables of one rule.
const MOST_SLOTS: usize = 1000;

/// Longest message of a mistake, in characters.
const LONGEST_MESSAGE: usize = 300;

/// What a rule is lowered against.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ground<'a> {
    pub(super) schema: &'a Schema,
    pub(super) book: &'a Book,
    pub(super) natives: &'a Natives,
    pub(super) kind: KindId,
    /// Id of the rule.
    pub(super) rule: &'a str,
    /// Whether amounts may stand in the rule itself: for tests of the language alone.
    pub(super) literals: bool,
    /// Parses texts that stand elsewhere: shared conditions, exceptions of places.
    pub(super) compiler: &'a Compiler,
    /// The files of the rulesets.
    pub(super) files: &'a Files,
    /// Exceptions that places above the rule make.
    pub(super) added: &'a [ExceptionInForce],
}

/// A lowered expression with its type and the place of the whole.
#[derive(Clone, Debug)]
struct Typed {
    expr: Expr,
    ty: Ty,
    span: Span,
}

impl Typed {
    /// Something wrong that has been reported.
    fn wrong(span: Span) -> Typed {
        Typed { expr: Expr::Local(0), ty: Ty::Wrong, span }
    }
}

/// A name of a `let` or a quantifier.
#[derive(Debug)]
struct Name {
    name: String,
    local: u8,
    ty: Ty,
    span: Span,
}

/// Something that is taken for granted.
struct Presumes {
    says: Presumption,
    stand: Stand,
    ty: Ty,
    /// Whether it holds where the lowering is: what a shared condition presumes holds within it.
    active: bool,
}

/// A rule on its way from syntax to operations.
struct Lowering<'a> {
    ground: Ground<'a>,
    places: Places<'a>,
    symbols: &'a mut Symbols,
    problems: Vec<Problem>,
    names: Vec<Name>,
    /// All names there ever were, with their types, by the number of the local value.
    every_name: Vec<(std::sync::Arc<str>, Ty)>,
    checks: Vec<Check>,
    slots: Vec<Slot>,
    lists: Vec<Use>,
    tables: Vec<Use>,
    locals: usize,
    fields: BTreeSet<(KindId, FieldId)>,
    /// The places of `let` and `if`, with the check that comes next.
    steps: Vec<(u8, Span)>,
    /// What the rule takes for granted, and what stands in for each field.
    presumptions: Vec<Presumes>,
    /// What the rule says, statement by statement.
    outline: Vec<Outline>,
    /// What the rule has to do with existing work.
    existing: ExistingWork,
    /// The conditions of the scope, with their places.
    scope: Vec<(Expr, Span)>,
    /// How deep in blocks a statement stands; one at the top level of the rule.
    depth: usize,
    /// The texts of shared conditions around the place that is being lowered.
    inside: Vec<Span>,
    /// Whether the exceptions of places have been added.
    has_added: bool,
    /// The fields that have been read with nothing presumed of them, each with its kind.
    as_recorded: BTreeSet<(KindId, FieldId)>,
    /// The field that a chain ended at, with the kind that has it.
    ends_at: Option<(KindId, FieldId)>,
}

/// Checks and lowers the statements of a rule.
///
/// # Errors
/// All mistakes of the rule.
pub(super) fn lower(
    statements: &[rhai::Stmt],
    header: Span,
    ground: Ground<'_>,
    places: Places<'_>,
    symbols: &mut Symbols,
) -> Result<(Plan, Vec<Check>), Vec<Problem>> {
    let mut lowering = Lowering {
        ground,
        places,
        symbols,
        problems: Vec::new(),
        names: Vec::new(),
        every_name: Vec::new(),
        checks: Vec::new(),
        slots: Vec::new(),
        lists: Vec::new(),
        tables: Vec::new(),
        locals: 0,
        fields: BTreeSet::new(),
        steps: Vec::new(),
        presumptions: Vec::new(),
        outline: Vec::new(),
        existing: ExistingWork::LeftOut,
        scope: Vec::new(),
        depth: 0,
        inside: Vec::new(),
        has_added: false,
        as_recorded: BTreeSet::new(),
        ends_at: None,
    };
    let body = lowering.block(statements);
    lowering.finish(body, header)
}

impl Lowering<'_> {
    /// Gives what is out of scope by presumption alone an exception of its own: otherwise a fact that somebody forgot to write could
    /// take an item out of a rule without a word.
    fn out_by_presumption(&mut self, body: &mut [Statement], header: Span) {
        let Some(first) = self.presumptions.first().map(|presumes| presumes.says.because.clone()) else { return };
        let number = self.checks.len().min(MOST_CHECKS) as u8;
        self.checks.push(Check {
            verb: Verb::Except,
            span: header,
            fix: None,
            look: None,
            exception: Some(Exception {
                section: first,
                name: String::from(PRESUMED_OUT),
                from: None,
                until: None,
                added_by: None,
            }),
            dimension: None,
            found: Ty::Flag,
        });
        for statement in body {
            if let Statement::Applies { presumed, .. } = statement {
                *presumed = Some(number);
            }
        }
    }

    fn finish(mut self, mut body: Box<[Statement]>, header: Span) -> Result<(Plan, Vec<Check>), Vec<Problem>> {
        if self.problems.is_empty() {
            self.tell_never(&body);
        }
        let checks = self.checks.len();
        self.out_by_presumption(&mut body, header);
        let asks = self.checks.iter().any(|check| check.verb != Verb::Except);
        if !asks && self.problems.is_empty() {
            self.problems.push(
                Problem::new(header, "the rule holds nothing against the code")
                    .label("no `keep`, `need` or `look` in it")
                    .help("say what must hold, such as `keep end.first_support at_most code.nm.secured_from_box;`"),
            );
        }
        // With no check at all that has been said.
        let steps = std::mem::take(&mut self.steps);
        for (_, span) in steps.into_iter().filter(|(next, _)| checks > 0 && usize::from(*next) >= checks) {
            self.report(
                Problem::new(span, "nothing is checked behind this")
                    .help("put it before the check that it is for, or leave it out"),
            );
        }
        self.limit(checks, MOST_CHECKS, header, "checks");
        self.limit(self.locals, MOST_LOCALS, header, "names");
        self.limit(self.slots.len() + self.lists.len() + self.tables.len(), MOST_SLOTS, header, "values");
        if !self.problems.is_empty() {
            self.problems.sort_by_key(|problem| problem.span);
            return Err(self.problems);
        }
        let plan = Plan {
            body,
            slots: self.slots,
            lists: self.lists,
            tables: self.tables,
            locals: self.locals,
            names: self.every_name,
            fields: self.fields.into_iter().collect(),
            stands: self.presumptions.iter().map(|presumes| (presumes.stand.clone(), presumes.ty.clone())).collect(),
            outline: self.outline,
            existing: self.existing,
            presumptions: self.presumptions.into_iter().map(|presumes| presumes.says).collect(),
        };
        Ok((plan, self.checks))
    }

    fn limit(&mut self, number: usize, most: usize, header: Span, what: &str) {
        if number > most {
            self.problems.push(
                Problem::new(header, format!("the rule has more than {most} {what}")).help("make several rules of it"),
            );
        }
    }

    /// Reports a mistake.
    fn report(&mut self, mut problem: Problem) -> Typed {
        let span = problem.span;
        // Nobody reads a message with a name of a thousand letters in it.
        if let Some((end, _)) = problem.message.char_indices().nth(LONGEST_MESSAGE) {
            problem.message.truncate(end);
            problem.message.push('…');
        }
        self.problems.push(problem);
        Typed::wrong(span)
    }

    /// Lowers an expression.
    fn expr(&mut self, ast: &Ast) -> Typed {
        match ast {
            Ast::BoolConstant(flag, position) => self.literal(i64::from(*flag), Ty::Flag, *position),
            Ast::IntegerConstant(number, position) => self.integer(*number, *position),
            Ast::FloatConstant(_, position) => self.decimal(*position),
            Ast::StringConstant(text, position) => self.text(text, *position),
            Ast::Variable(..) | Ast::Dot(..) | Ast::Index(..) => self.chain(ast),
            Ast::And(operands, _) => self.all_or_any(operands, true),
            Ast::Or(operands, _) => self.all_or_any(operands, false),
            Ast::FnCall(call, position) if call.op_token.is_some() => self.operator(call, *position),
            // Rhai turns `x in list` into a call, and keeps the operator's place.
            Ast::FnCall(call, position) if self.places.token_text(*position) == "in" => self.operator(call, *position),
            Ast::FnCall(call, position) => self.call(call, *position),
            Ast::Custom(custom, position) => self.custom(custom, *position),
            Ast::Stmt(block) => self.choice(block, ast.start_position()),
            other => self.foreign(other),
        }
    }

    /// Reports an expression that Rhai has and the rule language has not.
    fn foreign(&mut self, ast: &Ast) -> Typed {
        let span = self.places.token(ast.start_position());
        let (what, help) = match ast {
            Ast::Unit(_) => ("an empty pair of brackets", "name a value"),
            Ast::CharConstant(..) => ("a text in single quotes", "write texts in double quotes"),
            Ast::InterpolatedString(..) => ("a text with values in it", "write the text as it is"),
            Ast::Array(..) => ("a list", "put the list into the code as an entry and name it: `code.gfci.places`"),
            Ast::Map(..) => ("a table", "put the table into the code as an entry and name it"),
            Ast::Coalesce(..) => ("`??`", "say what holds where nothing is recorded with `presume`"),
            _ => ("this", "see the guide for what a rule can say"),
        };
        self.report(Problem::new(span, format!("{what} is not part of the rule language")).help(help))
    }

    fn slot(&mut self, source: SlotSource, ty: Ty, span: Span) -> Typed {
        let at = self.slots.len() as u16;
        self.slots.push(Slot { source, ty: ty.clone(), span });
        Typed { expr: Expr::Slot(at), ty, span }
    }

    fn literal(&mut self, bits: i64, ty: Ty, position: Position) -> Typed {
        let span = self.places.token(position);
        self.slot(SlotSource::Literal(bits), ty, span)
    }

    fn integer(&mut self, number: i64, position: Position) -> Typed {
        let mut span = self.places.token(position);
        if number < 0 {
            span = self.places.two_tokens(position);
        }
        let one = Quantity::number(1).amount();
        if !self.ground.literals && !matches!(number, 0 | 1) {
            return self.no_literal(&number.to_string(), span);
        }
        match number.checked_mul(one) {
            Some(amount) => self.slot(SlotSource::Literal(amount), Ty::Quantity(Dimension::Number), span),
            None => self.report(
                Problem::new(span, format!("`{number}` is too large")).help("no number may pass nine thousand million"),
            ),
        }
    }

    /// Reads a decimal from its own characters: a binary fraction would not be what was written.
    fn decimal(&mut self, position: Position) -> Typed {
        let mut span = self.places.token(position);
        if self.places.token_text(position) == "-" {
            span = self.places.two_tokens(position);
        }
        let text: String = self.places.text(span).chars().filter(|c| !c.is_whitespace() && *c != '_').collect();
        match parse(&text, Dimension::Number) {
            Ok(_) if !self.ground.literals => self.no_literal(&text, span),
            Ok(quantity) => self.slot(SlotSource::Literal(quantity.amount()), Ty::Quantity(Dimension::Number), span),
            Err(error) => {
                let help = error.help.unwrap_or_else(|| String::from("write it plainly, such as `1.25`"));
                self.report(Problem::new(span, error.message).help(help))
            }
        }
    }

    /// Reports a value of the code that stands in a rule, with the lines to write instead.
    fn no_literal(&mut self, value: &str, span: Span) -> Typed {
        let name = self.ground.rule.replace('-', "_");
        self.report(
            Problem::new(span, format!("{value} stands in the rule, where no place could amend it"))
                .label("a value of the code")
                .help(format!(
                    "put it into a file of `code/`:\n[limits.{name}]\nvalue = {value}\ncites = \"…\"\nand write `code.limits.{name}` here"
                )),
        )
    }

    fn text(&mut self, text: &str, position: Position) -> Typed {
        let span = self.places.token(position);
        let symbol = self.symbols.intern(text);
        self.slot(SlotSource::Text(text.into(), symbol), Ty::Said(text.into()), span)
    }

    /// Lowers an expression that must be a yes or no.
    fn condition(&mut self, ast: &Ast) -> Typed {
        let typed = self.expr(ast);
        match &typed.ty {
            Ty::Flag | Ty::Wrong => typed,
            other => {
                let found = other.says(self.ground.schema);
                let help = match other {
                    Ty::List(_) => "ask with a quantifier, such as `any d in room.devices where d.gfci`",
                    Ty::Quantity(_) => "compare it with something of the same sort",
                    Ty::Item(_) => "ask for one of its fields, or compare it with `none`",
                    _ => "compare it, such as `room.kind == \"kitchen\"`",
                };
                self.report(
                    Problem::new(typed.span, format!("a condition is due here, found {found}"))
                        .label(found.clone())
                        .help(help),
                )
            }
        }
    }

    /// Makes a new local value.
    fn local(&mut self) -> u8 {
        let local = self.locals;
        self.locals += 1;
        // Past the limit the rule is refused as a whole; until then numbers need only not overflow.
        local.min(MOST_LOCALS) as u8
    }
}
