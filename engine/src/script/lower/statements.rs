//! Statements: `let`, `if`, `keep`, `need`, `look`.

use rhai::{ASTFlags, CustomExpr, Expr as Ast, Position, Stmt};

use super::super::check::{Check, Outline, Verb};
use super::super::place::join;
use super::super::plan::{Bound, Keep, List, Statement, Within};
use super::super::syntax;
use super::super::types::Ty;
use super::former::is_former;
use super::{Lowering, Name, Typed};
use crate::problem::Problem;
use crate::source::Span;

impl Lowering<'_> {
    /// Lowers a block. Its names end with it.
    pub(super) fn block(&mut self, statements: &[Stmt]) -> Box<[Statement]> {
        let names = self.names.len();
        let mut lowered = Vec::new();
        self.depth += 1;
        for statement in statements {
            if self.depth == 1 && asks(statement) {
                self.added_exceptions(&mut lowered);
            }
            self.statement(statement, &mut lowered);
        }
        self.depth -= 1;
        self.names.truncate(names);
        lowered.into()
    }

    pub(super) fn statement(&mut self, statement: &Stmt, into: &mut Vec<Statement>) {
        match statement {
            Stmt::Noop(_) => {}
            Stmt::Var(var, flags, position) => self.let_name(&var.0, &var.1, *flags, *position, into),
            Stmt::If(flow, position) if is_former(flow.body.statements()) => self.former(flow, *position),
            Stmt::If(flow, position) => {
                let condition = self.condition(&flow.expr);
                let next = self.next_check();
                self.steps.push((next, self.places.token(*position)));
                self.outline.push(Outline::If(condition.span));
                let then = self.block(flow.body.statements());
                if !flow.branch.is_empty() {
                    self.outline.push(Outline::Else);
                }
                let otherwise = self.block(flow.branch.statements());
                self.outline.push(Outline::EndIf);
                into.push(Statement::If { condition: condition.expr, then, otherwise, next });
            }
            Stmt::Block(block) => {
                let inner = self.block(block.statements());
                into.extend(inner);
            }
            Stmt::Expr(expr) => match &**expr {
                Ast::Custom(custom, position) => self.verb(custom, *position, into),
                other => self.no_statement(other),
            },
            Stmt::FnCall(call, position) => {
                let span = self.places.token(*position);
                self.report(
                    Problem::new(span, format!("`{}` alone states nothing", call.name))
                        .help("write `keep` or `need` before it"),
                );
            }
            other => {
                let span = self.places.token(other.position());
                let word = self.places.token_text(other.position());
                let help = match other {
                    Stmt::Assignment(_) => "a name of a `let` keeps its value; make a second `let`",
                    Stmt::Return(..) => "say whom the rule concerns with `applies where …;`",
                    _ => {
                        "a rule has `presume`, `includes`, `let`, `applies`, `except`, `if`, `keep`, `need` and `look`"
                    }
                };
                self.report(Problem::new(span, format!("`{word}` is not part of the rule language")).help(help));
            }
        }
    }

    fn no_statement(&mut self, ast: &Ast) {
        let typed = self.expr(ast);
        if typed.ty != Ty::Wrong {
            self.report(Problem::new(typed.span, "this states nothing").help("write `keep` or `need` before it"));
        }
    }

    /// Returns the number of the check that comes next.
    pub(super) fn next_check(&self) -> u8 {
        self.checks.len().min(super::MOST_CHECKS) as u8
    }

    fn let_name(
        &mut self,
        name: &rhai::Ident,
        value: &Ast,
        flags: ASTFlags,
        position: Position,
        into: &mut Vec<Statement>,
    ) {
        let span = self.places.token(name.pos);
        if flags.contains(ASTFlags::CONSTANT) || matches!(value, Ast::Unit(at) if at.is_none()) {
            let place = self.places.token(position);
            self.report(
                Problem::new(place, "a name needs its value at once").help(format!("write `let {} = …;`", name.name)),
            );
            return;
        }
        let value = self.expr(value);
        self.outline.push(Outline::Let(name.name.to_string(), value.span));
        let next = self.next_check();
        self.steps.push((next, self.places.token(position)));
        let local = self.name(&name.name, span, value.ty.clone());
        into.push(Statement::Let { local, value: value.expr, next });
    }

    /// Adds a name, unless it is taken.
    pub(super) fn name(&mut self, name: &str, span: Span, ty: Ty) -> u8 {
        let word = self.ground.schema.spec(self.ground.kind).word;
        let earlier = self.names.iter().find(|other| other.name == name).map(|other| other.span);
        if syntax::WORDS.contains(&name) || name == word || matches!(name, "site" | "code") {
            self.report(
                Problem::new(span, format!("`{name}` is a word of the rule language"))
                    .label("can't be a name")
                    .help("choose another name"),
            );
        } else if let Some(earlier) = earlier {
            self.report(
                Problem::new(span, format!("there is already a `{name}` here"))
                    .label("the same name again")
                    .mark(earlier, "the first one")
                    .help("choose another name"),
            );
        }
        let local = self.local();
        self.every_name.push((name.into(), ty.clone()));
        self.names.push(Name { name: name.to_owned(), local, ty, span });
        local
    }

    fn verb(&mut self, custom: &CustomExpr, position: Position, into: &mut Vec<Statement>) {
        let word = custom.tokens.first().map_or("", |token| token.as_str());
        match word {
            "keep" => self.keep(custom, position, into),
            "need" => {
                let Some(condition) = custom.inputs.first() else { return };
                let condition = self.condition(condition);
                let check = self.check(Verb::Need, custom, position, &condition);
                into.push(Statement::Need { check, condition: condition.expr });
            }
            "look" => {
                let Some(Ast::StringConstant(text, at)) = custom.inputs.first() else { return };
                let span = self.places.token(*at);
                let check = self.check(Verb::Look, custom, position, &Typed { span, ..Typed::wrong(span) });
                if let Some(check) = self.checks.last_mut() {
                    check.look = Some(text.to_string());
                }
                into.push(Statement::Look { check });
            }
            "applies" => self.applies(custom, position, into),
            "includes" => self.includes(custom, position),
            "except" => self.except(custom, position, into),
            "presume" => self.presume(custom, position),
            syntax::FORMER => self.former_alone(position),
            _ => self.no_statement(&Ast::Custom(Box::new(custom.clone()), position)),
        }
    }

    /// Adds a check; `last` is the last expression of its statement.
    fn check(&mut self, verb: Verb, custom: &CustomExpr, position: Position, last: &Typed) -> u8 {
        let mut span = join(self.places.token(position), last.span);
        let has_fix = custom.tokens.iter().any(|token| token == "else");
        let fix = match custom.inputs.last() {
            Some(Ast::StringConstant(text, at)) if has_fix => {
                span = join(span, self.places.token(*at));
                Some(text.to_string())
            }
            _ => None,
        };
        let number = self.next_check();
        self.outline.push(Outline::Check(number));
        self.checks.push(Check {
            verb,
            span,
            fix,
            look: None,
            exception: None,
            dimension: None,
            found: last.ty.clone(),
        });
        number
    }

    fn keep(&mut self, custom: &CustomExpr, position: Position, into: &mut Vec<Statement>) {
        let word = custom.tokens.get(2).map_or("", |token| token.as_str());
        let [found, limit, ..] = &custom.inputs[..] else { return };
        let found = self.expr(found);
        if word == "one_of" {
            let (list, member, span) = self.list(limit);
            if self.must_share(&found, &member, span, "be one of")
                && let Ty::Word(words) = found.ty
            {
                self.check_members(words, &list);
            }
            let check = self.check(Verb::OneOf, custom, position, &Typed { span, ..found.clone() });
            into.push(Statement::OneOf { check, within: Within { list, value: found.expr } });
            return;
        }
        let limit = self.expr(limit);
        let upper = custom.inputs.get(2).filter(|_| word == "between").map(|upper| self.expr(upper));
        let last = upper.as_ref().unwrap_or(&limit).clone();
        let verb = match word {
            "at_most" => Verb::AtMost,
            "at_least" => Verb::AtLeast,
            "between" => Verb::Between,
            _ => Verb::EqualTo,
        };
        let check = self.check(verb, custom, position, &Typed { ty: found.ty.clone(), ..last });
        let bound = match (verb, &found.ty) {
            (Verb::AtMost, _) => Bound::AtMost,
            (Verb::AtLeast, _) => Bound::AtLeast,
            (Verb::Between, _) => Bound::Between,
            (_, Ty::Quantity(_)) => Bound::EqualAmount,
            _ => Bound::Same,
        };
        let says = format!("be kept `{}`", verb.word());
        for side in [Some(&limit), upper.as_ref()].into_iter().flatten() {
            match verb {
                Verb::EqualTo => self.must_equal(&found, side, &says),
                _ => self.must_order(&found, side, &says),
            };
        }
        if let Some(check) = self.checks.last_mut() {
            check.dimension = found.ty.dimension();
        }
        let upper = upper.map(|upper| upper.expr);
        into.push(Statement::Keep(Keep { check, bound, found: found.expr, limit: limit.expr, upper }));
    }

    /// Lowers a list: one of the code, or a field that holds one. Returns it with the type of its members and its place.
    pub(super) fn list(&mut self, ast: &Ast) -> (List, Ty, Span) {
        if let Some(found) = self.entry_list(ast) {
            return found;
        }
        let typed = self.expr(ast);
        let member = match &typed.ty {
            Ty::List(member) => (**member).clone(),
            Ty::Wrong => Ty::Wrong,
            other => {
                let found = other.says(self.ground.schema);
                self.report(
                    Problem::new(typed.span, format!("a list is due here, found {found}"))
                        .label(found)
                        .help("name a list, such as `room.devices` or `code.gfci.places`; put brackets round a quantifier to go on after it: `(count d in room.devices) > 3`"),
                );
                Ty::Wrong
            }
        };
        (List::Value(typed.expr), member, typed.span)
    }
}

/// Returns whether a statement checks something, or chooses what to check: scope and exceptions come before.
fn asks(statement: &Stmt) -> bool {
    match statement {
        Stmt::If(flow, _) => !is_former(flow.body.statements()),
        Stmt::Expr(expr) => matches!(&**expr, Ast::Custom(custom, _)
            if custom.tokens.first().is_some_and(|word| matches!(word.as_str(), "keep" | "need" | "look"))),
        _ => false,
    }
}
