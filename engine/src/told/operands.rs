//! Both sides of a check: what was found and what is allowed, with the math where a side is reckoned.

use super::Words;
use super::names::spoken;
use crate::inspection::finding::Finding;
use crate::model::{ItemIndex, Type};
use crate::quantity::Quantity;
use crate::script::{OperandSource, Operator, Over, Shown, Step, Verb, Working};

/// Values that a sum names one by one; of more it says only how many there are.
const MOST_ADDED: usize = 6;

/// How tightly an operator binds; a part that binds less tightly stands in brackets.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Binds {
    Or,
    And,
    Compare,
    Sum,
    Product,
    Atom,
}

impl Words<'_> {
    /// Returns what was found. A condition is no value to show: it holds or not.
    pub fn found(&self, finding: &Finding) -> Option<String> {
        let found = finding.found.as_ref()?;
        if matches!(finding.verb, Verb::Need | Verb::Look) || found.value == Shown::Unknown {
            return None;
        }
        Some(self.beside(&found.value, finding.allowed.iter().map(|limit| &limit.value)))
    }

    /// Returns a value, exact where it would print like one that it is compared with although it differs.
    fn beside<'v>(&self, value: &Shown, others: impl Iterator<Item = &'v Shown>) -> String {
        let Shown::Quantity(own) = value else { return self.value(value) };
        let near = others.filter_map(|other| match other {
            Shown::Quantity(other) => Some(*other),
            _ => None,
        });
        let alike = |other: &Quantity| own.print_beside(*other, self.units()) != self.quantity(*own);
        match near.into_iter().find(alike) {
            Some(other) => own.print_beside(other, self.units()),
            None => self.quantity(*own),
        }
    }

    /// Returns what is allowed: `12 in max`, `18 in min`, `15 in to 48 in`, `one of NM, AC`.
    pub fn allowed(&self, finding: &Finding) -> Option<String> {
        let limits = &finding.allowed;
        if limits.iter().any(|limit| limit.value == Shown::Unknown) {
            return None;
        }
        let found = finding.found.iter().map(|found| &found.value);
        let values: Vec<String> = limits.iter().map(|limit| self.beside(&limit.value, found.clone())).collect();
        let first = values.first()?;
        Some(match finding.verb {
            Verb::AtMost => format!("{first} max"),
            Verb::AtLeast => format!("{first} min"),
            Verb::Between => format!("{first} to {}", values.get(1).unwrap_or(first)),
            Verb::EqualTo => first.clone(),
            Verb::OneOf => format!("one of {first}"),
            Verb::Need | Verb::Look | Verb::Except => return None,
        })
    }

    /// Returns what is allowed as the second half of a sentence, with the math behind it: `2400 VA max (20 A x 120 V)`.
    pub(super) fn must(&self, finding: &Finding) -> Option<String> {
        let allowed = self.allowed(finding)?;
        let must = match finding.verb {
            Verb::Between | Verb::EqualTo | Verb::OneOf => format!("must be {allowed}"),
            Verb::AtMost | Verb::AtLeast | Verb::Need | Verb::Look | Verb::Except => allowed,
        };
        let math: Vec<String> =
            finding.allowed.iter().filter_map(|limit| self.where_from(limit, finding.index)).collect();
        Some(if math.is_empty() { must } else { format!("{must} ({})", math.join("; ")) })
    }

    /// Returns where a limit comes from, if it is no entry of the code as it stands.
    fn where_from(&self, limit: &Working, about: ItemIndex) -> Option<String> {
        match &limit.step {
            Step::Field { item, field } => Some(self.field_name(*item, *field, about)),
            Step::Of { .. } | Step::Members { .. } => {
                let math = self.math(limit, about, false);
                Some(match &limit.name {
                    Some(name) => format!("{}: {math}", spoken(name)),
                    None => math,
                })
            }
            Step::Item | Step::Entry { .. } | Step::Row { .. } | Step::Literal { .. } | Step::Other { .. } => None,
        }
    }

    /// Returns the first half of a sentence: what is compared, with the math: `continuous load: 125 % x 2400 VA = 3000 VA`.
    pub(super) fn what(&self, finding: &Finding) -> Option<String> {
        let working = finding.found.as_ref()?;
        let found = self.found(finding)?;
        let about = finding.index;
        if let Step::Field { item, field } = working.step {
            let name = self.field_name(item, field, about);
            return Some(match &working.name {
                Some(own) if spoken(own) != name => format!("{} is {found} ({name})", spoken(own)),
                _ => format!("{name} is {found}"),
            });
        }
        let fields = self.fields_of(working, about);
        let named = working.name.as_ref().map(|name| spoken(name));
        let name = named.clone().or_else(|| match fields.as_slice() {
            [one] => Some(one.clone()),
            _ => self.counted(working),
        });
        if !working.is_reckoned() {
            return Some(format!("{} is {found}", name.unwrap_or_else(|| String::from("it"))));
        }
        let math = self.math(working, about, named.is_some() || fields.len() != 1);
        // What is made of a list is told by its value already: `16 devices`, `3 in (box B2)`.
        let whole = match &working.step {
            Step::Members { over: Over::Sum, parts, .. } => !(2..=MOST_ADDED).contains(&parts.len()),
            Step::Members { .. } => true,
            _ => false,
        };
        let counts = named.is_none() && matches!(&working.step, Step::Members { over: Over::Count, from: Some(_), .. });
        Some(match (name, whole) {
            (Some(name), false) => format!("{name}: {math} = {found}"),
            (Some(_), true) if counts => math,
            (Some(name), true) => format!("{name} is {math}"),
            (None, false) => format!("{math} = {found}"),
            (None, true) => math,
        })
    }

    /// Returns what a count or sum runs over: `devices`.
    fn counted(&self, working: &Working) -> Option<String> {
        match &working.step {
            Step::Members { from, .. } => from.and_then(|from| self.list_name(from)),
            _ => None,
        }
    }

    fn list_name(&self, from: OperandSource) -> Option<String> {
        match from {
            OperandSource::Field(item, field) => {
                Some(spoken(self.job().schema.field_spec(self.job().item(item).kind, field).name))
            }
            OperandSource::Entry(entry, _) => self.book().entry(entry).map(|entry| format!("`{}`", entry.key)),
            OperandSource::Presumed(..) | OperandSource::Literal(_) => None,
        }
    }

    /// Returns the names of the values that an expression reads from the job, each once; a name of a `let` stands for what is
    /// behind it.
    fn fields_of(&self, working: &Working, about: ItemIndex) -> Vec<String> {
        let mut names = Vec::new();
        self.gather_fields(working, about, true, &mut names);
        names
    }

    fn gather_fields(&self, working: &Working, about: ItemIndex, top: bool, names: &mut Vec<String>) {
        let mut add = |name: String| {
            if !names.contains(&name) {
                names.push(name);
            }
        };
        if let Some(name) = working.name.as_ref().filter(|_| !top) {
            return add(spoken(name));
        }
        match &working.step {
            Step::Field { item, field } => {
                let spec = self.job().schema.field_spec(self.job().item(*item).kind, *field);
                // A link on the way to a value is no part of its name.
                if !matches!(spec.ty, Type::Item(_)) {
                    add(self.field_name(*item, *field, about));
                }
            }
            Step::Of { parts, .. } => parts.iter().for_each(|part| self.gather_fields(part, about, false, names)),
            Step::Members { over: Over::Count, .. } => {
                if let Some(name) = self.counted(working) {
                    add(name);
                }
            }
            Step::Members { parts, .. } => {
                for says in parts.iter().filter_map(|part| part.says.as_ref()) {
                    self.gather_fields(says, about, false, names);
                }
            }
            Step::Item | Step::Entry { .. } | Step::Row { .. } | Step::Literal { .. } | Step::Other { .. } => {}
        }
    }

    /// Returns what a field is called, with its item where that is another one than the item of the check.
    pub(super) fn field_name(&self, item: ItemIndex, field: crate::model::FieldId, about: ItemIndex) -> String {
        let job = self.job();
        let name = spoken(job.schema.field_spec(job.item(item).kind, field).name);
        if item == about { name } else { format!("{name} of {}", self.item(item)) }
    }

    /// Returns the math of an expression; with `names`, each value that is read has its name before it.
    fn math(&self, working: &Working, about: ItemIndex, names: bool) -> String {
        self.written(working, about, names, true).0
    }

    fn written(&self, working: &Working, about: ItemIndex, names: bool, top: bool) -> (String, Binds) {
        let value = || self.value(&working.value);
        if let Some(name) = working.name.as_ref().filter(|_| !top) {
            return (if names { format!("{} {}", spoken(name), value()) } else { value() }, Binds::Atom);
        }
        match &working.step {
            Step::Field { item, field } if names => {
                (format!("{} {}", self.field_name(*item, *field, about), value()), Binds::Atom)
            }
            Step::Of { operator, parts } => self.operation(operator, parts, about, names),
            Step::Members { over, parts, from, .. } => match over {
                Over::Count => {
                    let of = from.and_then(|from| self.list_name(from));
                    (of.map_or_else(value, |of| format!("{} {of}", value())), Binds::Atom)
                }
                Over::Sum if (1..=MOST_ADDED).contains(&parts.len()) => {
                    let each: Vec<String> = parts
                        .iter()
                        .filter_map(|part| part.says.as_ref())
                        .map(|says| self.bracketed(says, about, false, Binds::Sum))
                        .collect();
                    let binds = if each.len() == 1 { Binds::Atom } else { Binds::Sum };
                    (each.join(" + "), binds)
                }
                Over::Sum => {
                    let of = from.and_then(|from| self.list_name(from)).unwrap_or_else(|| String::from("values"));
                    (format!("{} (sum over {} {of})", value(), parts.len()), Binds::Atom)
                }
                Over::Least | Over::Most => match parts.first() {
                    Some(part) => (format!("{} ({})", value(), self.member(&part.member)), Binds::Atom),
                    None => (value(), Binds::Atom),
                },
                Over::Any | Over::Every | Over::Distinct => (value(), Binds::Atom),
            },
            Step::Field { .. }
            | Step::Item
            | Step::Entry { .. }
            | Step::Row { .. }
            | Step::Literal { .. }
            | Step::Other { .. } => (value(), Binds::Atom),
        }
    }

    /// Returns a member of a list: an item by kind and id.
    pub(super) fn member(&self, member: &Shown) -> String {
        match member {
            Shown::Item(item) => self.item(*item),
            other => self.value(other),
        }
    }

    fn operation(&self, operator: &Operator, parts: &[Working], about: ItemIndex, names: bool) -> (String, Binds) {
        let (sign, binds) = match operator {
            Operator::Plus => ("+", Binds::Sum),
            Operator::Minus => ("-", Binds::Sum),
            Operator::Times => ("x", Binds::Product),
            Operator::Over => ("/", Binds::Product),
            Operator::Equal => ("=", Binds::Compare),
            Operator::Unequal => ("is not", Binds::Compare),
            Operator::Less => ("<", Binds::Compare),
            Operator::LessOrEqual => ("<=", Binds::Compare),
            Operator::Greater => (">", Binds::Compare),
            Operator::GreaterOrEqual => (">=", Binds::Compare),
            Operator::In => ("in", Binds::Compare),
            Operator::And => ("and", Binds::And),
            Operator::Or => ("or", Binds::Or),
            Operator::Negative | Operator::Not => {
                let sign = if *operator == Operator::Not { "not " } else { "-" };
                let part =
                    parts.first().map_or_else(String::new, |part| self.bracketed(part, about, names, Binds::Atom));
                return (format!("{sign}{part}"), Binds::Atom);
            }
            Operator::Min | Operator::Max | Operator::Function(_) => {
                let name = match operator {
                    Operator::Min => String::from("lesser of"),
                    Operator::Max => String::from("greater of"),
                    other => spoken(other.sign()),
                };
                let each: Vec<String> = parts.iter().map(|part| self.written(part, about, names, false).0).collect();
                let each = match operator {
                    Operator::Function(_) => format!("({})", each.join(", ")),
                    _ => format!(" {}", each.join(" and ")),
                };
                return (format!("{name}{each}"), Binds::Product);
            }
        };
        let last = parts.len().saturating_sub(1);
        let each: Vec<String> = parts
            .iter()
            .enumerate()
            .map(|(at, part)| {
                let (text, own) = self.written(part, about, names, false);
                // The right part of a subtraction or division must bind more tightly than the whole.
                let strict = at == last && matches!(operator, Operator::Minus | Operator::Over);
                if own < binds || (strict && own == binds) { format!("({text})") } else { text }
            })
            .collect();
        (each.join(&format!(" {sign} ")), if each.len() == 1 { Binds::Atom } else { binds })
    }

    fn bracketed(&self, working: &Working, about: ItemIndex, names: bool, within: Binds) -> String {
        let (text, own) = self.written(working, about, names, false);
        if own < within { format!("({text})") } else { text }
    }
}
