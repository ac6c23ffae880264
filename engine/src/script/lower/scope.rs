//! Whom a rule concerns, its exceptions, and what it takes for granted: `applies`, `except`, `presume`.

use std::sync::Arc;

use jiff::civil::Date;
use rhai::{CustomExpr, Expr as Ast, Position};

use super::super::check::{Exception, ExistingWork, Outline, Verb};
use super::super::place::join;
use super::super::plan::{ExceptionTerms, Expr, Path, Presumed, Presumption, Root, SlotSource, Stand, Statement};
use super::super::types::Ty;
use super::chains::take_apart;
use super::{Lowering, Presumes, Typed};
use crate::model::{FieldId, KindId};
use crate::problem::Problem;
use crate::source::Span;

impl Lowering<'_> {
    /// Lowers `applies where COND`.
    pub(super) fn applies(&mut self, custom: &CustomExpr, position: Position, into: &mut Vec<Statement>) {
        let place = self.places.token(position);
        self.at_the_top("applies", place);
        let Some(condition) = custom.inputs.first() else { return };
        let condition = self.condition(condition);
        let next = self.next_check();
        self.steps.push((next, place));
        self.outline.push(Outline::Applies(condition.span));
        self.scope.push((condition.expr.clone(), join(place, condition.span)));
        into.push(Statement::Applies { condition: condition.expr, next, presumed: None });
    }

    /// Takes up `includes existing work` and `includes faults of existing work`.
    pub(super) fn includes(&mut self, custom: &CustomExpr, position: Position) {
        let place = self.places.token(position);
        self.at_the_top("includes", place);
        if self.existing != ExistingWork::LeftOut {
            self.report(Problem::new(place, "what holds for existing work is said above").help("keep one of the two"));
        }
        let faults = custom.tokens.iter().any(|word| word == "faults");
        self.existing = if faults { ExistingWork::Faults } else { ExistingWork::Included };
        self.outline.push(Outline::Includes(self.existing));
    }

    /// Lowers `except "SECTION" [named "NAME"] [from "DAY"] [until "DAY"] where COND`.
    pub(super) fn except(&mut self, custom: &CustomExpr, position: Position, into: &mut Vec<Statement>) {
        let place = self.places.token(position);
        self.at_the_top("except", place);
        let [Ast::StringConstant(section, section_at), rest @ .., condition] = &custom.inputs[..] else { return };
        let section_span = self.places.token(*section_at);
        let mut exception = Exception {
            section: section.trim().to_owned(),
            name: section.trim().to_owned(),
            from: None,
            until: None,
            added_by: None,
        };
        if exception.section.is_empty() {
            self.report(
                Problem::new(section_span, "an exception names its section")
                    .help("write the section that makes the exception, or `common practice, no source`"),
            );
        }
        let mut name_span = section_span;
        let words = custom.tokens.iter().filter(|word| matches!(word.as_str(), "named" | "from" | "until"));
        for (word, text) in words.zip(rest) {
            let Ast::StringConstant(text, at) = text else { continue };
            let span = self.places.token(*at);
            match word.as_str() {
                "named" => (exception.name, name_span) = (text.trim().to_owned(), span),
                "from" => exception.from = self.day(text, span).or(exception.from),
                _ => exception.until = self.day(text, span).or(exception.until),
            }
        }
        if let (Some(from), Some(until)) = (exception.from, exception.until)
            && until < from
        {
            self.report(
                Problem::new(section_span, format!("the exception ends on {until}, before it begins on {from}"))
                    .help("put the two days right"),
            );
        }
        self.one_of_its_name(&exception.name, name_span);
        let condition = self.condition(condition);
        let span = join(place, condition.span);
        self.outline.push(Outline::Except(self.next_check(), condition.span));
        self.exception(exception, condition.expr, section_span, span, into);
    }

    /// Adds an exception to the rule.
    pub(super) fn exception(
        &mut self,
        exception: Exception,
        condition: Expr,
        section: Span,
        span: Span,
        into: &mut Vec<Statement>,
    ) {
        let terms = ExceptionTerms {
            rule: self.ground.rule.to_owned(),
            name: exception.name.clone(),
            section: exception.section.clone(),
            from: exception.from,
            until: exception.until,
        };
        let in_force = self.slot(SlotSource::Exception(Arc::new(terms)), Ty::Flag, section);
        let Expr::Slot(in_force) = in_force.expr else { return };
        let check = self.next_check();
        self.checks.push(super::Check {
            verb: Verb::Except,
            span,
            fix: None,
            look: None,
            exception: Some(exception),
            dimension: None,
            found: Ty::Flag,
        });
        into.push(Statement::Except { check, in_force, condition });
    }

    /// Reports an exception of a name that the rule has already.
    fn one_of_its_name(&mut self, name: &str, span: Span) {
        let first = self.checks.iter().find(|check| check.exception.as_ref().is_some_and(|known| known.name == name));
        if let Some(first) = first.map(|first| first.span) {
            self.report(
                Problem::new(span, format!("there is already an exception `{name}` in this rule"))
                    .label("the same name again")
                    .mark(first, "the first one")
                    .help("give it a name of its own: `except \"SECTION\" named \"…\" where …`"),
            );
        }
    }

    /// Reads a day.
    fn day(&mut self, text: &str, span: Span) -> Option<Date> {
        match text.trim().parse() {
            Ok(day) => Some(day),
            Err(_) => {
                self.report(
                    Problem::new(span, format!("`{text}` is not a day"))
                        .help("write year, month, day: `\"2023-01-01\"`"),
                );
                None
            }
        }
    }

    /// Reports scope and exceptions that stand in a branch or behind a check.
    fn at_the_top(&mut self, word: &str, span: Span) {
        if self.depth > 1 {
            self.report(
                Problem::new(span, format!("`{word}` stands inside an `if`"))
                    .help("put it at the top of the rule, with the condition of the `if` in it"),
            );
        } else if let Some(first) = self.checks.iter().find(|check| check.verb != Verb::Except).map(|first| first.span)
        {
            self.report(
                Problem::new(span, format!("`{word}` stands behind a check"))
                    .mark(first, "the first check")
                    .help("say first whom the rule concerns, then its exceptions, then what must hold"),
            );
        }
    }

    /// Takes up `presume FIELD is VALUE because "SOURCE"`.
    pub(super) fn presume(&mut self, custom: &CustomExpr, position: Position) {
        let place = self.places.token(position);
        let [field, value, Ast::StringConstant(because, because_at)] = &custom.inputs[..] else { return };
        if self.inside.is_empty() && (self.depth > 1 || !self.checks.is_empty()) {
            self.report(
                Problem::new(place, "`presume` stands at the top of a rule").help("put it before scope and exceptions"),
            );
        }
        let read = self.as_recorded.clone();
        let Some(asked) = self.presumed_field(field) else { return };
        let typed = self.stand_in(field, value, &asked);
        // What is presumed, and what stands in for it, is not read here.
        let is_late = self.inside.is_empty() && read.contains(&(asked.kind, asked.field));
        self.as_recorded = read;
        if is_late {
            self.report(
                Problem::new(asked.span, "this is read above, before it is presumed")
                    .help("put the `presume` before everything that reads the field: it holds for the whole rule"),
            );
        }
        let because_span = self.places.token(*because_at);
        if because.trim().is_empty() {
            self.report(
                Problem::new(because_span, "a presumption says why it may be made")
                    .help("name the source, or write `common practice, no source`"),
            );
        }
        let Some((stand, value_span)) = typed else { return };
        let same = |known: &&Presumes| known.active && (known.says.kind, known.says.field) == (asked.kind, asked.field);
        if let Some(first) = self.presumptions.iter().find(same).map(|first| first.says.span) {
            // What a rule presumes, a shared condition in it may presume as well: the rule's word counts.
            if !self.inside.is_empty() {
                return;
            }
            self.report(
                Problem::new(asked.span, "this is presumed already")
                    .mark(first, "here")
                    .help("leave one of the two out"),
            );
            return;
        }
        let presumption = Presumption {
            kind: asked.kind,
            field: asked.field,
            value: self.places.text(value_span).to_owned(),
            because: because.trim().to_owned(),
            span: join(place, because_span),
        };
        if self.inside.is_empty() {
            self.outline.push(Outline::Presume(self.presumptions.len()));
        }
        self.presumptions.push(Presumes { says: presumption, stand, ty: asked.ty, active: true });
    }

    /// Returns the field of a presumption.
    fn presumed_field(&mut self, ast: &Ast) -> Option<Asked> {
        self.ends_at = None;
        let (start, steps) = take_apart(ast);
        // A kind that has no name in this rule is called by its word: `device.voltage` in a rule on circuits.
        if let (Ast::Variable(variable, _, position), [step]) = (start, &steps[..])
            && !self.is_named(variable.1.as_str())
            && let Some(kind) = self.ground.schema.kinds().find(|(_, kind)| kind.word == variable.1.as_str())
            && let super::chains::Step::Field(name, at) = step
        {
            let (kind, at) = (kind.0, self.places.token(*at));
            let span = join(self.places.token(*position), at);
            let field = self.field(kind, name, at)?;
            let ty = Ty::of(&self.ground.schema.field_spec(kind, field).ty, self.ground.schema);
            self.fields.insert((kind, field));
            return Some(Asked { kind, field, ty, span });
        }
        let typed = self.expr(ast);
        if typed.ty == Ty::Wrong {
            return None;
        }
        match (self.ends_at, &typed.expr) {
            (Some((kind, field)), Expr::Field(_) | Expr::Linked(..) | Expr::Path(_) | Expr::Presumed(_)) => {
                Some(Asked { kind, field, ty: typed.ty, span: typed.span })
            }
            _ => {
                self.report(
                    Problem::new(typed.span, "only a field can be presumed")
                        .help("name a field, such as `presume end.cable.route is \"along_framing\" because \"…\";`"),
                );
                None
            }
        }
    }

    /// Returns what stands in for a field: a value, or another field of the same item.
    fn stand_in(&mut self, field: &Ast, value: &Ast, asked: &Asked) -> Option<(Stand, Span)> {
        let (own, own_steps) = take_apart(field);
        let (other, steps) = take_apart(value);
        if let (Ast::Variable(own, ..), Ast::Variable(other, ..)) = (own, other)
            && own.1 == other.1
            && other.1.as_str() != "code"
        {
            return self.other_field(value, asked, own_steps.len().saturating_sub(1), &steps);
        }
        let typed = self.expr(value);
        let found = Typed { expr: Expr::Local(0), ty: asked.ty.clone(), span: asked.span };
        if typed.ty == Ty::Wrong || !self.must_equal(&found, &typed, "be presumed to be") {
            return None;
        }
        match typed.expr {
            Expr::Slot(slot) => Some((Stand::Slot(slot), typed.span)),
            _ => {
                self.report(
                    Problem::new(typed.span, "what is presumed is a value, an entry of the code, or another field")
                        .help("name the value: `true`, a word, `none`, `code.…`, or a field of the same item"),
                );
                None
            }
        }
    }

    /// Lowers a field that stands in for another of the same item: the first `shared` steps lead to the item.
    fn other_field(
        &mut self,
        value: &Ast,
        asked: &Asked,
        shared: usize,
        steps: &[super::chains::Step<'_>],
    ) -> Option<(Stand, Span)> {
        let mut kind = asked.kind;
        let mut span = self.places.token(value.start_position());
        let mut links: Vec<FieldId> = Vec::new();
        let mut ty = Ty::Wrong;
        let mut fields = steps.iter().skip(shared).peekable();
        while let Some(step) = fields.next() {
            let super::chains::Step::Field(name, at) = step else {
                self.report(Problem::new(span, "what stands in for a field is a field of the same item"));
                return None;
            };
            let at = self.places.token(*at);
            span = join(span, at);
            let field = self.field(kind, name, at)?;
            let spec = self.ground.schema.field_spec(kind, field);
            ty = Ty::of(&spec.ty, self.ground.schema);
            self.fields.insert((kind, field));
            links.push(field);
            match (&ty, fields.peek()) {
                (Ty::Item(next), Some(_)) => kind = *next,
                (_, Some(_)) => {
                    self.report(Problem::new(at, "only an item has fields"));
                    return None;
                }
                (_, None) => {}
            }
        }
        let field = links.pop()?;
        let holds = |known: &Presumes| known.active && (known.says.kind, known.says.field) == (kind, field);
        let in_turn = self.presumptions.iter().position(holds);
        let in_turn = in_turn.and_then(|at| Some(Box::new((at as u8, self.presumptions.get(at)?.stand.clone()))));
        let found = Typed { expr: Expr::Local(0), ty: asked.ty.clone(), span: asked.span };
        let other = Typed { expr: Expr::Local(0), ty, span };
        self.must_equal(&found, &other, "be presumed to be")
            .then_some((Stand::Field(links.into(), field, in_turn), span))
    }

    /// Returns whether a name stands for something in this rule.
    fn is_named(&self, name: &str) -> bool {
        matches!(name, "site" | "code")
            || name == self.ground.schema.spec(self.ground.kind).word
            || self.names.iter().any(|known| known.name == name)
    }

    /// Returns a field as it is read in this rule: with what is presumed of it, if anything is.
    pub(super) fn perhaps_presumed(&self, expr: Expr, kind: KindId, field: FieldId) -> Expr {
        let holds = |known: &Presumes| known.active && (known.says.kind, known.says.field) == (kind, field);
        let number = self.presumptions.iter().position(holds);
        let Some((number, Presumes { stand: value, .. })) =
            number.and_then(|at| Some((at, self.presumptions.get(at)?)))
        else {
            return expr;
        };
        let of = match expr {
            Expr::Field(field) => Path { root: Root::Item, links: [].into(), field, empty_if_missing: false },
            Expr::Linked(link, field) => {
                Path { root: Root::Item, links: [link].into(), field, empty_if_missing: false }
            }
            Expr::Path(path) if !path.empty_if_missing => *path,
            other => return other,
        };
        Expr::Presumed(Box::new(Presumed { of, value: value.clone(), number: number as u8 }))
    }
}

/// A field that a presumption is about.
struct Asked {
    kind: KindId,
    field: FieldId,
    ty: Ty,
    span: Span,
}
