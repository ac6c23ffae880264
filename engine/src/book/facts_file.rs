//! Facts that a ruleset asks of a job: fields of items that its rules read and the built-in table does not have, declared in
//! `facts/*.toml`.
//!
//! They go into the table of kinds before any job or rule of the shelf is read, so that everything treats them like the built-in ones:
//! the reader of job files, the rules, the editors, the list of what is to be measured.

use std::sync::Arc;

use toml::de::{DeTable, DeValue};

use super::fields::{Fields, Written, in_file_order, parse, with_help};
use super::manifest::Ruleset;
use crate::model::{Declared, FieldSpec, Filled, Nest, Schema, Type};
use crate::problem::{Problem, did_you_mean};
use crate::quantity::Dimension;
use crate::source::{File, Span};

/// The keys of a declaration.
const KEYS: &[&str] = &["holds", "words", "question", "as_built", "cites"];

/// One declaration as it is written.
struct Declaration {
    kind: &'static str,
    name: &'static str,
    ty: Type,
    as_built: bool,
    question: &'static str,
    cites: String,
    /// The place of its name.
    span: Span,
}

/// Returns the table of kinds with what the rulesets declare, and what is wrong with the declarations, each with the ruleset to blame.
pub(super) fn extend(schema: Arc<Schema>, rulesets: &[Ruleset]) -> (Arc<Schema>, Vec<(Option<String>, Problem)>) {
    let mut problems = Vec::new();
    if rulesets.iter().all(|ruleset| ruleset.files.facts.is_empty()) {
        return (schema, problems);
    }
    let mut extended = (*schema).clone();
    for ruleset in rulesets {
        let mut found = Vec::new();
        for file in &ruleset.files.facts {
            for declaration in read(file, &schema, &mut found) {
                let clash = add(&mut extended, declaration, &ruleset.id);
                if let Some((other, problem)) = clash {
                    // Whichever of the two is wrong, neither place can be relied on.
                    problems.extend(other.into_iter().map(|id| (Some(id), problem.clone())));
                    found.push(problem);
                }
            }
        }
        problems.extend(found.into_iter().map(|problem| (Some(ruleset.id.clone()), problem)));
    }
    (Arc::new(extended), problems)
}

/// Adds a field, or shares the one that another ruleset has declared alike; returns what is wrong, and the other ruleset that it concerns.
fn add(schema: &mut Schema, told: Declaration, ruleset: &str) -> Option<(Option<String>, Problem)> {
    let kind = schema.kind(told.kind)?;
    if let Some(field) = schema.field(kind, told.name) {
        let spec = schema.field_spec(kind, field);
        let filled = Filled::Written { required: false, as_built: told.as_built };
        let alike = spec.ty == told.ty && spec.filled == filled;
        let declared = schema.declared(kind, field)?.clone();
        let message = match declared.rulesets.first() {
            Some(own) if own == ruleset => format!("`{}.{}` is declared twice", told.kind, told.name),
            _ if alike => {
                schema.share(kind, field, ruleset);
                return None;
            }
            Some(other) => format!("`{}.{}` is declared otherwise in `{other}`", told.kind, told.name),
            None => return None,
        };
        let other = declared.rulesets.first().filter(|other| *other != ruleset).cloned();
        let problem = Problem::new(told.span, message).label("declared here").mark(declared.span, "and here");
        let help = "declare it alike in both, with the same words or unit and the same `as_built`, or give one of them another name";
        return Some((other, problem.help(help)));
    }
    let spec = FieldSpec {
        name: told.name,
        ty: told.ty,
        filled: Filled::Written { required: false, as_built: told.as_built },
        default: crate::model::Default::None,
        doc: told.question,
    };
    let by = Declared { cites: told.cites, span: told.span, rulesets: vec![ruleset.to_owned()] };
    schema.declare(kind, spec, by).err().map(|error| (None, Problem::new(told.span, error.to_string())))
}

fn read(file: &File, schema: &Schema, problems: &mut Vec<Problem>) -> Vec<Declaration> {
    let Some(table) = parse(file, problems) else { return Vec::new() };
    let mut declarations = Vec::new();
    for (key, value) in in_file_order(&table) {
        let span = file.span(key.span());
        let name: &str = key.get_ref();
        let Some(kind) = schema.kind(name) else {
            let problem = Problem::new(span, format!("there is no kind `{name}` to have a fact")).label("unknown kind");
            let names: Vec<&str> = schema.kinds().map(|(_, spec)| spec.name).collect();
            problems.push(with_help(problem, did_you_mean(name, names)));
            continue;
        };
        let Some(facts) = value.get_ref().as_table() else {
            let problem = Problem::new(span, format!("`{name}` wants a table for each of its facts"));
            problems.push(problem.label("no table").help(format!("write `[{name}.the_fact]`")));
            continue;
        };
        for (key, value) in in_file_order(facts) {
            let span = file.span(key.span());
            let kind = schema.spec(kind).name;
            let fact: &str = key.get_ref();
            let Some(own) = value.get_ref().as_table() else {
                let problem = Problem::new(span, format!("`{kind}.{fact}` wants a table")).label("no table");
                problems.push(problem.help(format!("write `[{kind}.{fact}]` with `holds`, `question` and `cites`")));
                continue;
            };
            match name_of(schema, kind, fact, span) {
                Ok(()) => declarations.extend(declaration(file, own, kind, fact, span, problems)),
                Err(problem) => problems.push(*problem),
            }
        }
    }
    declarations
}

/// Checks that a name can be that of a new field of a kind.
fn name_of(schema: &Schema, kind: &str, name: &str, span: Span) -> Result<(), Box<Problem>> {
    let no =
        |message: String, label: &str, help: &str| Err(Box::new(Problem::new(span, message).label(label).help(help)));
    if !Schema::is_name(name) {
        let help = "a name begins with a small letter and goes on with small letters, digits and `_`: `sprinklered`";
        return no(format!("`{name}` can't be the name of a fact"), "not a name", help);
    }
    let nested = schema.kinds().any(
        |(_, spec)| matches!(spec.nest, Nest::Inside { parent, keys, .. } if parent == kind && keys.contains(&name)),
    );
    let known = schema.kind(kind).and_then(|id| schema.field(id, name));
    if known.is_some() || nested || ["id", "defaults"].contains(&name) {
        let message = format!("every {} has `{name}` already", kind.replace('_', " "));
        return no(message, "taken", "read it as it is, or give the fact another name");
    }
    Ok(())
}

fn declaration(
    file: &File,
    table: &DeTable<'_>,
    kind: &'static str,
    name: &str,
    span: Span,
    problems: &mut Vec<Problem>,
) -> Option<Declaration> {
    let mut fields = Fields::new(file, table, span, format!("the fact `{kind}.{name}`"), KEYS, problems);
    let ty = holds(&mut fields);
    let help = "write what is asked of whoever records it: `question = \"Is the room sprinklered?\"`";
    let question = fields.need_text("question", help);
    let cites = fields.need_text("cites", "write where the fact matters: `cites = \"Our Town Code 5\"`");
    let as_built = match fields.value("as_built").map(|(value, _)| (value, value.get_ref().as_bool())) {
        None => Some(false),
        Some((_, Some(flag))) => Some(flag),
        Some((value, None)) => {
            fields.wrong("as_built", value, "true, where only somebody on site can know it, or false");
            None
        }
    };
    let (ty, question, cites, as_built) = (ty?, question?, cites?, as_built?);
    let kept = Schema::kept(name).zip(Schema::kept(&question.text));
    let Some((name, question)) = kept else {
        problems.push(too_much(span));
        return None;
    };
    Some(Declaration { kind, name, ty, as_built, question, cites: cites.text, span })
}

fn too_much(span: Span) -> Problem {
    Problem::new(span, "this run has read too many facts")
        .help("start the program again with the rulesets that you need")
}

/// Reads what a fact holds: `holds = "length"` or `words = ["a", "b"]`.
fn holds(fields: &mut Fields<'_, '_>) -> Option<Type> {
    if fields.has("words") {
        if fields.has("holds") {
            let span = fields.key_span("holds");
            let problem = Problem::new(span, format!("{} has both `holds` and `words`", fields.what));
            fields.problems.push(problem.label("one too many").help("keep `words` where it holds one of a few words"));
        }
        return words(fields);
    }
    let all = what_can_be_held();
    let names: Vec<&str> = all.iter().map(|(name, _)| name.as_str()).collect();
    let written = fields.need_text("holds", &format!("write `holds = \"yes_no\"`, or one of {}", names.join(", ")))?;
    let found = all.iter().find(|(name, _)| *name == written.text).map(|(_, ty)| ty.clone());
    if found.is_none() {
        fields.unknown_word("holds", &written, &names);
    }
    found
}

/// Returns what a fact can hold, with the word for it.
pub(crate) fn what_can_be_held() -> Vec<(String, Type)> {
    let plain = [(String::from("yes_no"), Type::Flag), (String::from("text"), Type::Text)];
    let amounts = Dimension::ALL.map(|dimension| (dimension.name().replace(' ', "_"), Type::Quantity(dimension)));
    plain.into_iter().chain(amounts).collect()
}

fn words(fields: &mut Fields<'_, '_>) -> Option<Type> {
    let (value, span) = fields.value("words")?;
    if !matches!(value.get_ref(), DeValue::Array(_)) {
        fields.wrong("words", value, "a list of words in quotes");
        return None;
    }
    let words: Vec<Written> = fields.texts("words");
    let mut sound = words.len() >= 2;
    if !sound {
        let problem = Problem::new(span, format!("`words` of {} needs two words at least", fields.what));
        fields.problems.push(problem.label("too few").help("`holds = \"yes_no\"` is for what is so or is not"));
    }
    for (at, word) in words.iter().enumerate() {
        if !is_word(&word.text) {
            sound = false;
            let problem = Problem::new(word.span, format!("`{}` is no word", word.text)).label("not a word");
            fields.problems.push(problem.help("a word has letters, digits, `-` and `_`, and no space"));
        } else if let Some(first) = words.iter().take(at).find(|other| other.text == word.text) {
            sound = false;
            let problem = Problem::new(word.span, format!("`{}` is listed twice", word.text)).label("second time");
            fields.problems.push(problem.mark(first.span, "first time"));
        }
    }
    let texts: Vec<&str> = words.iter().map(|word| word.text.as_str()).collect();
    if !sound {
        return None;
    }
    let kept = Schema::kept_words(&texts);
    if kept.is_none() {
        fields.problems.push(too_much(span));
    }
    kept.map(Type::Word)
}

fn is_word(text: &str) -> bool {
    !text.is_empty() && text.chars().all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-')
}
