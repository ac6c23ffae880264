//! Names and the fields reached from them: `end`, `end.cable.wiring_method`, `site.stage`.

use rhai::{ASTFlags, Expr as Ast, Position};

use super::super::machine::NONE;
use super::super::place::join;
use super::super::plan::{Expr, Path, Root, SlotSource};
use super::super::syntax;
use super::super::types::Ty;
use super::{Lowering, Typed};
use crate::model::{FieldId, Filled, KindId};
use crate::problem::{Problem, did_you_mean};
use crate::source::Span;

/// What follows a name.
pub(super) enum Step<'e> {
    /// `.name`
    Field(&'e str, Position),
    /// `[key]`
    Row(&'e Ast, Position),
    /// `.name(…)`
    Call(&'e str, Position),
    /// `?.` or `?[`
    Perhaps(Position),
}

/// Takes a chain apart into what it starts from and its steps.
pub(super) fn take_apart(ast: &Ast) -> (&Ast, Vec<Step<'_>>) {
    let (binary, flags, position) = match ast {
        Ast::Dot(binary, flags, position) | Ast::Index(binary, flags, position) => (binary, flags, position),
        other => return (other, Vec::new()),
    };
    let mut steps = Vec::new();
    if flags.contains(ASTFlags::NEGATED) {
        steps.push(Step::Perhaps(*position));
    }
    match ast {
        Ast::Dot(..) => tail(&binary.rhs, &mut steps),
        _ => row(&binary.rhs, *flags, *position, &mut steps),
    }
    (&binary.lhs, steps)
}

fn tail<'e>(ast: &'e Ast, steps: &mut Vec<Step<'e>>) {
    match ast {
        Ast::Property(names, position) => steps.push(Step::Field(syntax::name(&names.2), *position)),
        Ast::MethodCall(call, position) => steps.push(Step::Call(&call.name, *position)),
        Ast::Dot(binary, flags, position) | Ast::Index(binary, flags, position) => {
            tail(&binary.lhs, steps);
            if flags.contains(ASTFlags::NEGATED) {
                steps.push(Step::Perhaps(*position));
            }
            match ast {
                Ast::Dot(..) => tail(&binary.rhs, steps),
                _ => row(&binary.rhs, *flags, *position, steps),
            }
        }
        other => steps.push(Step::Call("", other.start_position())),
    }
}

/// Takes `[key]` and what follows it. Unless the chain ends here, Rhai hangs what follows onto the key.
fn row<'e>(ast: &'e Ast, flags: ASTFlags, position: Position, steps: &mut Vec<Step<'e>>) {
    match ast {
        Ast::Dot(binary, ..) | Ast::Index(binary, ..) if !flags.contains(ASTFlags::BREAK) => {
            steps.push(Step::Row(&binary.lhs, position));
            match ast {
                Ast::Dot(..) => tail(&binary.rhs, steps),
                Ast::Index(_, inner, at) => row(&binary.rhs, *inner, *at, steps),
                _ => {}
            }
        }
        key => steps.push(Step::Row(key, position)),
    }
}

/// Returns the expression of what fields lead to from an item.
fn reached(root: &Expr, fields: &[FieldId], empty_if_missing: bool) -> Expr {
    let Some((field, links)) = fields.split_last() else { return root.clone() };
    let root = match root {
        Expr::Item(root) => *root,
        Expr::Local(local) => Root::Local(*local),
        other => return other.clone(),
    };
    match (root, links, empty_if_missing) {
        (Root::Item, [], false) => Expr::Field(*field),
        (Root::Item, [link], false) => Expr::Linked(*link, *field),
        _ => Expr::Path(Box::new(Path { root, links: links.into(), field: *field, empty_if_missing })),
    }
}

impl Lowering<'_> {
    /// Lowers a name with its fields, or an entry of the code.
    pub(super) fn chain(&mut self, ast: &Ast) -> Typed {
        let (start, steps) = take_apart(ast);
        let Ast::Variable(variable, _, position) = start else {
            let typed = self.expr(start);
            if typed.ty != Ty::Wrong {
                self.report(
                    Problem::new(typed.span, "only an item has fields")
                        .help("begin with the item, `site`, `code` or a name of a `let`"),
                );
            }
            return Typed::wrong(typed.span);
        };
        let span = self.places.token(*position);
        if !variable.2.is_empty() {
            return self.report(Problem::new(span, "`::` is not part of the rule language").help("write a dot"));
        }
        let name = variable.1.as_str();
        if name == "none" && steps.is_empty() {
            return self.slot(SlotSource::Literal(NONE), Ty::Nothing, span);
        }
        if name == "code" && self.names.iter().all(|other| other.name != "code") {
            return self.entry(span, &steps);
        }
        match self.root(name) {
            Some((root, ty)) => self.follow(root, ty, span, &steps),
            None => self.unknown_name(name, span),
        }
    }

    /// Returns what a name stands for.
    fn root(&self, name: &str) -> Option<(Expr, Ty)> {
        if let Some(found) = self.names.iter().rev().find(|other| other.name == name) {
            return Some((Expr::Local(found.local), found.ty.clone()));
        }
        let schema = self.ground.schema;
        if name == schema.spec(self.ground.kind).word {
            return Some((Expr::Item(Root::Item), Ty::Item(self.ground.kind)));
        }
        let site = schema.kind(crate::model::kinds::site::NAME).filter(|_| name == "site")?;
        Some((Expr::Item(Root::Site), Ty::Item(site)))
    }

    fn unknown_name(&mut self, name: &str, span: Span) -> Typed {
        let schema = self.ground.schema;
        let word = schema.spec(self.ground.kind).word;
        let known: Vec<&str> =
            self.names.iter().map(|other| other.name.as_str()).chain([word, "site", "code"]).collect();
        let problem = Problem::new(span, format!("there is no `{name}` here")).label("not known here");
        let help = match schema.kinds().find(|(_, kind)| kind.word == name) {
            Some((_, kind)) => Some(format!(
                "this rule is for a {}, so the item is called `{word}`; reach a {} through its fields",
                schema.spec(self.ground.kind).name,
                kind.word
            )),
            None => did_you_mean(name, known.iter().copied()),
        };
        self.report(match help {
            Some(help) => problem.help(help),
            None => problem,
        })
    }

    /// Follows fields from an item.
    fn follow(&mut self, root: Expr, ty: Ty, span: Span, steps: &[Step<'_>]) -> Typed {
        let mut here = Typed { expr: root, ty, span };
        let mut links: Vec<FieldId> = Vec::new();
        let mut empty_if_missing = false;
        self.ends_at = None;
        for (number, step) in steps.iter().enumerate() {
            let Step::Field(name, position) = step else { return self.no_step(step, &here) };
            let at = self.places.token(*position);
            let kind = match &here.ty {
                Ty::Item(kind) => *kind,
                Ty::Wrong => return Typed::wrong(join(here.span, at)),
                other => return self.no_field_of(&other.clone(), &here, name, at),
            };
            if self.ground.schema.field(kind, name).is_none() {
                let owner = Typed { expr: reached(&here.expr, &links, false), ..here.clone() };
                if let Some(defined) = self.defined(&owner, kind, name, at) {
                    return match steps.get(number + 1) {
                        Some(next) => self.no_step_behind(next, &defined),
                        None => defined,
                    };
                }
            }
            let Some(field) = self.field(kind, name, at) else { return Typed::wrong(join(here.span, at)) };
            let spec = self.ground.schema.field_spec(kind, field);
            empty_if_missing = matches!(spec.filled, Filled::Inverse { .. });
            here.ty = Ty::of(&spec.ty, self.ground.schema);
            here.span = join(here.span, at);
            self.fields.insert((kind, field));
            links.push(field);
            self.ends_at = Some((kind, field));
        }
        here.expr = reached(&here.expr, &links, empty_if_missing);
        if let Some((kind, field)) = self.ends_at {
            here.expr = self.perhaps_presumed(here.expr, kind, field);
            if !matches!(here.expr, Expr::Presumed(_)) {
                self.as_recorded.insert((kind, field));
            }
        }
        here
    }

    fn no_step_behind(&mut self, step: &Step<'_>, here: &Typed) -> Typed {
        match step {
            Step::Field(name, position) => {
                let at = self.places.token(*position);
                self.no_field_of(&here.ty.clone(), here, name, at)
            }
            step => self.no_step(step, here),
        }
    }

    fn no_step(&mut self, step: &Step<'_>, here: &Typed) -> Typed {
        if here.ty == Ty::Wrong {
            return Typed::wrong(here.span);
        }
        match step {
            Step::Row(_, position) => {
                let span = self.places.token(*position);
                let help = match here.ty {
                    Ty::List(_) => "look at every member with a quantifier, such as `any d in room.devices where …`",
                    _ => "rows are read from tables of the code, such as `code.ampacity.copper.at_60[cable.size]`",
                };
                self.report(Problem::new(span, "only a table of the code has rows").help(help))
            }
            Step::Call(name, position) => {
                let span = self.places.token(*position);
                self.report(
                    Problem::new(span, format!("`.{name}(…)` is not part of the rule language"))
                        .help("a function is called with the value in brackets, such as `max(a, b)`"),
                )
            }
            Step::Perhaps(position) => {
                let span = self.places.token(*position);
                self.report(
                    Problem::new(span, "`?` is not part of the rule language")
                        .help("a field that is not recorded leaves the outcome open by itself"),
                )
            }
            Step::Field(..) => Typed::wrong(here.span),
        }
    }

    fn no_field_of(&mut self, ty: &Ty, here: &Typed, name: &str, at: Span) -> Typed {
        let found = ty.says(self.ground.schema);
        let help = match ty {
            Ty::List(_) => {
                String::from("look at every member with a quantifier, such as `any d in room.devices where …`")
            }
            _ => String::from("end the name before this dot"),
        };
        self.report(Problem::new(at, format!("{found} has no field `{name}`")).mark(here.span, found).help(help))
    }

    pub(super) fn field(&mut self, kind: KindId, name: &str, span: Span) -> Option<FieldId> {
        let spec = self.ground.schema.spec(kind);
        let Some(field) = self.ground.schema.field(kind, name) else {
            let defines = self.ground.book.defines.iter().filter(|define| define.source.kind == kind);
            let names: Vec<&str> = spec
                .fields
                .iter()
                .filter(|field| !matches!(field.filled, Filled::Key { .. }))
                .map(|field| field.name)
                .chain(defines.map(|define| define.source.name.as_str()))
                .collect();
            let problem =
                Problem::new(span, format!("{} has no field `{name}`", super::super::types::with_article(spec.word)));
            self.report(match did_you_mean(name, names) {
                Some(help) => problem.help(help),
                None => problem,
            });
            return None;
        };
        if let Filled::Key { .. } = self.ground.schema.field_spec(kind, field).filled {
            let behind: Vec<String> = spec
                .fields
                .iter()
                .filter(|field| matches!(field.filled, Filled::By(key) if key == name))
                .map(|field| format!("`{}`", field.name))
                .collect();
            self.report(
                Problem::new(span, format!("`{name}` is only a way of writing"))
                    .help(format!("read what it stands for: {}", behind.join(", "))),
            );
            return None;
        }
        Some(field)
    }
}
