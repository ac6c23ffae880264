//! Shared conditions and exceptions that stand in a text of their own: `define … { … }`, `exception … { … }`.
//!
//! Both hold presumptions and one condition. They are lowered into the rule that reads them, as if they stood in it.

use rhai::{Stmt, StmtBlock};

use super::super::check::{Exception, Outline};
use super::super::place::{Places, join};
use super::super::plan::{Bind, Expr, Root, Statement};
use super::super::types::Ty;
use super::{Lowering, Name, Typed};
use crate::model::KindId;
use crate::problem::Problem;
use crate::source::Span;

/// Most shared conditions that one may read through another.
const DEEPEST: usize = 8;

impl Lowering<'_> {
    /// Reads a shared condition of an item, if there is one of this name.
    pub(super) fn defined(&mut self, owner: &Typed, kind: KindId, name: &str, at: Span) -> Option<Typed> {
        let define = self.ground.book.define(kind, name)?;
        let source = std::sync::Arc::clone(&define.source);
        let span = join(owner.span, at);
        if self.inside.contains(&source.text) || self.inside.len() >= DEEPEST {
            self.report(
                Problem::new(at, format!("`{name}` is defined by itself"))
                    .mark(source.name_span, "defined here")
                    .help("say what it means without naming it"),
            );
            return Some(Typed { ty: Ty::Flag, ..Typed::wrong(span) });
        }
        // Of the item that the rule looks at, or of another that has to be remembered meanwhile.
        let own = matches!(owner.expr, Expr::Item(Root::Item)) && kind == self.ground.kind;
        let local = (!own).then(|| self.local());
        let word = self.ground.schema.spec(kind).word;
        if local.is_some() {
            self.every_name.push((word.into(), Ty::Item(kind)));
        }
        let names = local.map(|local| Name { name: word.to_owned(), local, ty: Ty::Item(kind), span: at });
        let outer = std::mem::replace(&mut self.ground.kind, kind);
        let body = self.text_of_its_own(source.body, source.text, names.into_iter().collect());
        self.ground.kind = outer;
        let body = body.unwrap_or(Typed { ty: Ty::Flag, ..Typed::wrong(span) });
        let expr = match local {
            Some(local) => Expr::Bind(Box::new(Bind { local, value: owner.expr.clone(), body: body.expr })),
            None => body.expr,
        };
        Some(Typed { expr, ty: body.ty, span })
    }

    /// Adds the exceptions that places above the rule make.
    pub(super) fn added_exceptions(&mut self, into: &mut Vec<Statement>) {
        if std::mem::replace(&mut self.has_added, true) {
            return;
        }
        for added in self.ground.added {
            let source = &added.source;
            let Some(condition) = self.text_of_its_own(source.body, source.text, Vec::new()) else { continue };
            let exception = Exception {
                section: source.cites.clone(),
                name: source.name.text.clone(),
                // The book has looked at its days already.
                from: None,
                until: None,
                added_by: Some(source.ruleset.clone()),
            };
            self.outline.push(Outline::Except(self.next_check(), condition.span));
            self.exception(exception, condition.expr, source.name.span, source.text, into);
        }
    }

    /// Lowers a text of its own: presumptions, then one condition. What it presumes holds within it alone.
    fn text_of_its_own(&mut self, body: Span, text: Span, names: Vec<Name>) -> Option<Typed> {
        let written = self.ground.files.text(body);
        let places = Places::new(written, body);
        let ast = match self.ground.compiler.parse(written, &places, body) {
            Ok(ast) => ast,
            Err(problem) => {
                self.report(problem);
                return None;
            }
        };
        let outer_places = std::mem::replace(&mut self.places, places);
        let outer_names = std::mem::replace(&mut self.names, names);
        let outer_depth = std::mem::replace(&mut self.depth, 1);
        let presumed = self.presumptions.len();
        self.inside.push(text);
        let statements = match ast.statements() {
            [Stmt::Block(block)] => block.statements(),
            other => other,
        };
        let condition = self.condition_of(statements, body);
        for presumption in self.presumptions.iter_mut().skip(presumed) {
            presumption.active = false;
        }
        self.inside.pop();
        self.depth = outer_depth;
        self.names = outer_names;
        self.places = outer_places;
        condition
    }

    fn condition_of(&mut self, statements: &[Stmt], body: Span) -> Option<Typed> {
        let (last, before) = statements.split_last()?;
        let mut made = Vec::new();
        for statement in before {
            match statement {
                Stmt::Expr(expr) if is_presume(expr) => self.statement(statement, &mut made),
                Stmt::Noop(_) => {}
                other => {
                    let span = self.places.token(other.position());
                    self.report(
                        Problem::new(span, "only `presume …;` may stand before the condition")
                            .help("say all of it in one condition, with `&&` and `||`"),
                    );
                }
            }
        }
        match last {
            Stmt::Expr(condition) if !is_presume(condition) => Some(self.condition(condition)),
            Stmt::FnCall(call, position) => {
                let call = rhai::Expr::FnCall(call.clone(), *position);
                Some(self.condition(&call))
            }
            Stmt::Block(block) => self.condition_of(StmtBlock::statements(block), body),
            _ => {
                self.report(
                    Problem::new(body, "one condition is due here, without a `;` behind it")
                        .help("such as `{ device.kind == \"receptacle\" && device.rating in code.gfci.ratings }`"),
                );
                None
            }
        }
    }
}

fn is_presume(expr: &rhai::Expr) -> bool {
    matches!(expr, rhai::Expr::Custom(custom, _) if custom.tokens.first().is_some_and(|word| word == "presume"))
}
