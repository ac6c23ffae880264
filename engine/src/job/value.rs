//! Values of fields: from TOML to cells, by the field's type.

use toml::de::DeValue;

use super::NONE;
use super::document::At;
use super::limits::{Least, Limit};
use super::loader::Loader;
use super::noted::{Form, Names, Value};
use super::shape::{FieldShape, How};
use super::words::{short, suggestion};
use crate::model::{Cell, FieldId, KindId, Meant, Type, meant};
use crate::problem::{Problem, Topic};
use crate::quantity::{self, CableMake, Dimension, Quantity, QuantityError};
use crate::source::Span;

impl<'a> Loader<'a> {
    /// Reads a field's value. Nothing comes back when it is faulty; the problem is then noted.
    pub(super) fn value(&mut self, kind: KindId, field: FieldId, at: At<'a>, form: Form) -> Option<Value<'a>> {
        let shape = self.shape;
        let spec = shape.schema.field_spec(kind, field);
        let field = shape.field(kind, field);
        match (&field.how, &spec.ty) {
            (How::Make { .. }, _) => self.make(spec.name, at),
            (How::Ids, Type::List(_)) => self.names(spec.name, at).map(|value| self.with_cell(value)),
            (How::Ids, _) => self.one_name(spec.name, field, at).map(|value| self.with_cell(value)),
            (_, Type::Item(_)) => self.one_name(spec.name, field, at),
            (_, Type::List(inner)) if matches!(**inner, Type::Item(_)) => self.names(spec.name, at),
            (_, Type::List(inner)) => self.cells(spec.name, inner, field, at, form).map(Value::Cell),
            (_, ty) => self.cell_of(spec.name, ty, field, at, form).map(Value::Cell),
        }
    }

    fn cell_of(&mut self, name: &str, ty: &Type, field: &FieldShape, at: At<'a>, form: Form) -> Option<Cell> {
        let read = match ty {
            Type::Flag => flag(name, at, form).map(|value| Cell::flag(value, at.span())),
            Type::Quantity(dimension) => {
                amount(name, *dimension, field.limit, at, form).map(|value| Cell::quantity(value, at.span()))
            }
            Type::Text => {
                let read = if field.required { filled_text(name, at) } else { text(name, at) };
                read.map(|value| Cell::text(self.builder.intern(value), at.span()))
            }
            Type::Word(words) => text(name, at).and_then(|value| match meant(value, words) {
                Meant::One(word) => Ok(Cell::text(self.builder.intern(word), at.span())),
                Meant::Several(several) => Err(two_meanings(name, value, &several, at.span())),
                Meant::Nothing => Err(wrong_word(name, value, words, at.span())),
            }),
            // Handled by the caller; lists of lists and single references do not come here.
            Type::Item(_) | Type::List(_) => return None,
        };
        self.noted(read)
    }

    fn cells(&mut self, name: &str, ty: &Type, field: &FieldShape, at: At<'a>, form: Form) -> Option<Cell> {
        let elements = self.elements(name, at)?;
        let mut cells = Vec::with_capacity(elements.len());
        for element in &elements {
            cells.push(self.cell_of(name, ty, field, *element, form));
        }
        let cells: Vec<Cell> = cells.into_iter().collect::<Option<_>>()?;
        Some(Cell::list(self.builder.list(&cells), at.span()))
    }

    fn elements(&mut self, name: &str, at: At<'a>) -> Option<Vec<At<'a>>> {
        match at.value.get_ref() {
            DeValue::Array(array) => Some(array.iter().map(|value| At { value, file: at.file }).collect()),
            _ => {
                let help = match at.value.get_ref() {
                    DeValue::Table(_) => String::from("write a list: `[…]`"),
                    _ => format!("write `[{}]`", at.raw()),
                };
                self.problem(wrong_type(name, "a list", at).help(help));
                None
            }
        }
    }

    /// Reads the id of one item, or the word that says that there is none.
    fn one_name(&mut self, name: &str, field: &FieldShape, at: At<'a>) -> Option<Value<'a>> {
        let id = self.noted(id_text(name, at))?;
        let span = at.span();
        let names = match id {
            NONE if field.required => {
                let problem = Problem::new(span, format!("`{name}` can't be none")).label("there must be one");
                self.problem(problem.help("write the id of what it is"));
                return None;
            }
            NONE => Names::Nothing(span),
            id => Names::One((id, span)),
        };
        Some(Value::Names { names, span, cell: None })
    }

    /// Reads a list of ids.
    fn names(&mut self, name: &str, at: At<'a>) -> Option<Value<'a>> {
        let mut names = Vec::new();
        for element in self.elements(name, at)? {
            if element.text() == Some(NONE) {
                let problem = Problem::new(element.span(), format!("`{NONE}` is no id")).label("not an id");
                self.problem(problem.help(format!("write `{name} = []` where there is none")));
                names.push(None);
                continue;
            }
            names.push(self.noted(id_text(name, element)).map(|text| (text, element.span())));
        }
        let names = names.into_iter().collect::<Option<Vec<_>>>()?;
        Some(Value::Names { names: Names::List(names), span: at.span(), cell: None })
    }

    /// Keeps the written ids themselves for the key's own cell.
    fn with_cell(&mut self, value: Value<'a>) -> Value<'a> {
        let Value::Names { names, span, .. } = value else { return value };
        let cell = match &names {
            Names::One((text, at)) => Cell::text(self.builder.intern(text), *at),
            Names::Nothing(at) => Cell::text(self.builder.intern(NONE), *at),
            Names::List(list) => {
                let texts: Vec<Cell> =
                    list.iter().map(|(text, at)| Cell::text(self.builder.intern(text), *at)).collect();
                Cell::list(self.builder.list(&texts), span)
            }
        };
        Value::Names { names, span, cell: Some(cell) }
    }

    fn make(&mut self, name: &str, at: At<'a>) -> Option<Value<'a>> {
        let written = self.noted(text(name, at))?;
        let make = self.noted(CableMake::parse(written).map_err(|error| quantity_problem(name, at, &error)))?;
        let span = at.span();
        let count = self.noted(whole(i128::from(make.conductors)).ok_or_else(|| too_large(name, span)))?;
        Some(Value::Make {
            make: Cell::text(self.builder.intern(written), span),
            size: Cell::quantity(make.size.to_quantity(), span),
            conductors: Cell::quantity(count, span),
        })
    }
}

/// Reads yes or no.
pub(super) fn flag(name: &str, at: At<'_>, form: Form) -> Result<bool, Problem> {
    match at.value.get_ref() {
        DeValue::Boolean(value) => Ok(*value),
        DeValue::String(text) if form == Form::Measured && text == "true" => Ok(true),
        DeValue::String(text) if form == Form::Measured && text == "false" => Ok(false),
        _ => Err(wrong_type(name, "yes or no", at).help("write `true` or `false`, without quotes")),
    }
}

/// Reads a text.
pub(super) fn text<'a>(name: &str, at: At<'a>) -> Result<&'a str, Problem> {
    at.text().ok_or_else(|| {
        let problem = wrong_type(name, "text", at);
        match at.value.get_ref() {
            DeValue::Array(_) | DeValue::Table(_) => problem.help("write text in quotes: `\"…\"`"),
            _ => problem.help(format!("put it in quotes: `\"{}\"`", at.raw())),
        }
    })
}

/// Reads a text that must not be empty.
pub(super) fn filled_text<'a>(name: &str, at: At<'a>) -> Result<&'a str, Problem> {
    let text = text(name, at)?;
    if text.trim().is_empty() {
        return Err(Problem::new(at.span(), format!("`{name}` is empty")).label("nothing written").help("fill it in"));
    }
    Ok(text)
}

/// Reads the id of an item.
pub(super) fn id_text<'a>(name: &str, at: At<'a>) -> Result<&'a str, Problem> {
    let id = text(name, at)?;
    if id.is_empty() {
        return Err(Problem::new(at.span(), format!("`{name}` is empty"))
            .label("no id")
            .help("write an id, such as `\"B1\"`"));
    }
    if id.trim() != id || id.contains(char::is_control) {
        let problem = Problem::new(
            at.within(0..id.len()),
            format!("`{name}` has space round it or an unprintable character in it"),
        );
        return Err(problem.label("not an id").help("write an id as it is said, such as `\"B1\"`"));
    }
    Ok(id)
}

/// Reads an amount and holds it against its bounds.
pub(super) fn amount(
    name: &str,
    dimension: Dimension,
    limit: Limit,
    at: At<'_>,
    form: Form,
) -> Result<Quantity, Problem> {
    let quantity = match at.value.get_ref() {
        DeValue::String(_) if dimension == Dimension::Number && form == Form::Plain => {
            let help = "write the number without quotes";
            return Err(wrong_type(name, "a number", at).help(help));
        }
        DeValue::String(text) => {
            quantity::parse(text, dimension).map_err(|error| quantity_problem(name, at, &error))?
        }
        DeValue::Integer(number) if dimension == Dimension::Number => {
            let count = i128::from_str_radix(number.as_str(), number.radix()).ok();
            count.and_then(whole).ok_or_else(|| too_large(name, at.span()))?
        }
        DeValue::Float(number) if dimension == Dimension::Number => {
            quantity::parse(number.as_str(), dimension).map_err(|error| quantity_problem(name, at, &error))?
        }
        DeValue::Integer(_) | DeValue::Float(_) if dimension != Dimension::Date => {
            let problem = Problem::new(at.span(), format!("`{name}` has no unit")).label("a bare number");
            return Err(problem.help(format!("put it in quotes with its unit; {}", dimension.units_help())));
        }
        DeValue::Datetime(written) if dimension == Dimension::Date => day(name, written, at)?,
        _ => return Err(wrong_type(name, dimension.with_article(), at).help(dimension.units_help())),
    };
    within_limit(name, quantity, limit, at)
}

fn day(name: &str, written: &toml::value::Datetime, at: At<'_>) -> Result<Quantity, Problem> {
    let date = match written {
        toml::value::Datetime { date: Some(date), time: None, offset: None } => *date,
        _ => {
            let problem = Problem::new(at.span(), format!("`{name}` wants a day without a time")).label("not a day");
            return Err(problem.help("write the day alone: `2023-05-10`"));
        }
    };
    let date = jiff::civil::Date::new(date.year as i16, date.month as i8, date.day as i8);
    date.map(Quantity::date).map_err(|_| {
        Problem::new(at.span(), format!("there is no such day as `{}`", at.raw()))
            .label("no such day")
            .help(Dimension::Date.units_help())
    })
}

fn within_limit(name: &str, quantity: Quantity, limit: Limit, at: At<'_>) -> Result<Quantity, Problem> {
    let impossible =
        |message: String| Err(Problem::new(at.span(), message).label("impossible").help("check the number"));
    if limit.whole && quantity.whole().is_none() {
        return impossible(format!("`{name}` is a count and can't be a broken number"));
    }
    match (limit.least, quantity.amount()) {
        (Least::Zero | Least::More, amount) if amount < 0 => impossible(format!("`{name}` can't be negative")),
        (Least::More, 0) => impossible(format!("`{name}` can't be zero")),
        _ => Ok(quantity),
    }
}

fn whole(count: i128) -> Option<Quantity> {
    let one = Quantity::number(1).amount();
    count
        .checked_mul(i128::from(one))
        .and_then(|amount| i64::try_from(amount).ok())
        .map(|amount| Quantity::new(Dimension::Number, amount))
}

fn too_large(name: &str, span: Span) -> Problem {
    Problem::new(span, format!("`{name}` is too large")).label("too large").help("check the number")
}

/// Says that a word of the trade may mean several of the field's list.
fn two_meanings(name: &str, word: &str, several: &[&str], span: Span) -> Problem {
    let problem = Problem::new(span, format!("`{}` may mean several things here", short(word)));
    let problem = problem.label("which one?").about(Topic::JobWord);
    problem.help(format!(
        "write one of: {}",
        several.iter().map(|one| format!("`{name} = \"{one}\"`")).collect::<Vec<_>>().join(", ")
    ))
}

/// Says that a word is not in the field's list.
pub(super) fn wrong_word(name: &str, word: &str, words: &'static [&'static str], span: Span) -> Problem {
    let problem = Problem::new(span, format!("`{}` is no `{name}`", short(word)));
    let problem = problem.label("unknown word").about(Topic::JobWord);
    problem.help(suggestion(word, words.iter().copied()).unwrap_or_else(|| format!("known here: {}", words.join(", "))))
}

fn wrong_type(name: &str, wants: &str, at: At<'_>) -> Problem {
    Problem::new(at.span(), format!("`{name}` wants {wants}, not {}", at.what())).label(at.what())
}

fn quantity_problem(name: &str, at: At<'_>, error: &QuantityError) -> Problem {
    let span = at.text().map_or(at.span(), |text| at.within(0..text.len()));
    let problem = Problem::new(span, format!("`{name}`: {}", error.message)).label("not understood");
    Problem { help: error.help.clone(), ..problem }
}
