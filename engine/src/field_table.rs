//! The table of kinds and fields as people look it up: what each field means, what it holds, who writes it, what it means that nothing
//! is written, and where links and lists lead.
//!
//! The command `fields` and the manual print it; it is made from the same table that jobs and rules are read by.

use crate::model::{Absent, Default, Fact, FieldSpec, Filled, IdRule, KindId, KindSpec, Nest, Schema, Type};
use crate::quantity::{Dimension, Quantity, UnitSystem};

/// One kind of item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KindTable {
    /// Its name in rule headers.
    pub kind: &'static str,
    /// The word by which rules call the item that they look at.
    pub word: &'static str,
    /// What it is.
    pub meaning: &'static str,
    /// How its tables are written in a job file.
    pub written: Vec<String>,
    /// The lists that have its items as members: `site.boxes`, `room.boxes`.
    pub listed: Vec<String>,
    /// Its fields, in the order of the table.
    pub fields: Vec<FieldLine>,
}

/// One field.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FieldLine {
    /// Its name.
    pub name: &'static str,
    /// What it means.
    pub meaning: &'static str,
    /// What it holds, in words.
    pub holds: String,
    /// Its words, where it holds one of a few.
    pub words: Vec<&'static str>,
    /// How it is written as an example, where it holds an amount.
    pub example: Option<&'static str>,
    /// The kind that it leads to, of links and lists of items.
    pub leads_to: Option<&'static str>,
    /// Who fills it.
    pub source: Source,
    /// What it means that nothing is written, of fields that are written.
    pub absent: Option<String>,
    /// The rulesets that declare it, none for a built-in field.
    pub declared_by: Vec<String>,
}

/// Who fills a field.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Source {
    /// The job file, under the field's name; it must.
    Required,
    /// The job file, under the field's name.
    Written,
    /// The job file, by somebody who looked or measured on site.
    AsBuilt,
    /// The job file, under another key.
    WrittenAs(&'static str),
    /// It lists what refers to the item.
    Lists,
    /// It follows from where the table stands.
    Nesting,
    /// It is computed.
    Computed,
}

impl Source {
    /// Returns it in words.
    pub fn words(&self) -> String {
        match self {
            Source::Required => String::from("written, always"),
            Source::Written => String::from("written"),
            Source::AsBuilt => String::from("written as built"),
            Source::WrittenAs(key) => format!("from `{key}`"),
            Source::Lists => String::from("list"),
            Source::Nesting => String::from("from its place in the file"),
            Source::Computed => String::from("computed"),
        }
    }
}

/// Returns the table of all kinds.
pub fn all(schema: &Schema) -> Vec<KindTable> {
    schema.kinds().map(|(kind, _)| of_kind(schema, kind)).collect()
}

/// Returns the table of one kind.
pub fn of_kind(schema: &Schema, kind: KindId) -> KindTable {
    let spec = schema.spec(kind);
    let fields = spec.fields.iter().enumerate().map(|(at, field)| {
        let declared = schema.declared(kind, crate::model::FieldId(at as u16));
        line(field, declared.map(|declared| declared.rulesets.clone()).unwrap_or_default())
    });
    KindTable {
        kind: spec.name,
        word: spec.word,
        meaning: spec.doc,
        written: written(spec),
        listed: listed(schema, spec.name),
        fields: fields.collect(),
    }
}

/// Whether a field belongs into a row.
type Belongs<'a> = dyn Fn(&&FieldLine) -> bool + 'a;

/// Returns the names of the fields of some kinds as a table in Markdown, by who fills them: the short form that the manual carries.
pub fn markdown(schema: &Schema, kinds: &[&str]) -> String {
    let mut out = String::from("| kind | filled | fields |\n| --- | --- | --- |\n");
    for kind in kinds.iter().filter_map(|name| schema.kind(name)) {
        let table = of_kind(schema, kind);
        let is_link = |field: &&FieldLine| field.leads_to.is_some() && field.source != Source::Lists;
        let is_written = |field: &&FieldLine| matches!(field.source, Source::Required | Source::Written);
        let rows: [(&str, &Belongs<'_>); 5] = [
            ("written", &|field| is_written(field) && !is_link(field)),
            ("as built", &|field| field.source == Source::AsBuilt),
            ("links", &is_link),
            ("lists", &|field| field.source == Source::Lists),
            ("computed, or from another key", &|field| {
                let made = matches!(field.source, Source::Computed | Source::WrittenAs(_) | Source::Nesting);
                made && !is_link(field)
            }),
        ];
        for (filled, belongs) in rows {
            let names: Vec<String> =
                table.fields.iter().filter(belongs).map(|field| format!("`{}`", field.name)).collect();
            if !names.is_empty() {
                out.push_str(&format!("| `{}` | {filled} | {} |\n", table.kind, names.join(", ")));
            }
        }
    }
    out
}

fn written(spec: &KindSpec) -> Vec<String> {
    match spec.nest {
        Nest::Single(key) => vec![format!("[{key}]")],
        Nest::Top(key) => vec![format!("[[{key}]]")],
        Nest::Inside { parent, keys, many: true, .. } => keys.iter().map(|key| format!("[[{parent}.{key}]]")).collect(),
        Nest::Inside { parent, keys, many: false, .. } => keys.iter().map(|key| format!("[{parent}.{key}]")).collect(),
    }
}

/// Returns the lists of other kinds, `site` first, that have items of a kind as members.
fn listed(schema: &Schema, of: &str) -> Vec<String> {
    let is_list = |field: &&FieldSpec| matches!(&field.ty, Type::List(member) if matches!(**member, Type::Item(kind) if kind == of));
    let lists = schema.kinds().flat_map(|(_, kind)| {
        kind.fields
            .iter()
            .filter(is_list)
            .map(move |field| (kind.id != IdRule::Only, format!("{}.{}", kind.word, field.name)))
    });
    let mut lists: Vec<(bool, String)> = lists.collect();
    lists.sort_by_key(|(is_other, _)| *is_other);
    lists.into_iter().map(|(_, list)| list).collect()
}

fn line(field: &FieldSpec, declared_by: Vec<String>) -> FieldLine {
    let (is_list, member) = match &field.ty {
        Type::List(member) => (true, &**member),
        other => (false, other),
    };
    let source = match field.filled {
        Filled::Written { required: true, .. } | Filled::Key { required: true } => Source::Required,
        Filled::Written { as_built: true, .. } => Source::AsBuilt,
        Filled::Written { .. } | Filled::Key { .. } => Source::Written,
        Filled::By(key) => Source::WrittenAs(key),
        Filled::Inverse { .. } | Filled::Through(_) => Source::Lists,
        Filled::Nesting => Source::Nesting,
        Filled::Derived => Source::Computed,
    };
    let is_written = matches!(source, Source::Written | Source::AsBuilt);
    FieldLine {
        name: field.name,
        meaning: field.doc,
        holds: holds(member, is_list),
        words: if let Type::Word(words) = member { words.to_vec() } else { Vec::new() },
        example: if let Type::Quantity(dimension) = member { Some(dimension.examples()) } else { None },
        leads_to: if let Type::Item(kind) = member { Some(kind) } else { None },
        absent: is_written.then(|| absent(field)),
        source,
        declared_by,
    }
}

fn holds(member: &Type, is_list: bool) -> String {
    let one = match member {
        Type::Flag => String::from("yes or no"),
        Type::Text => String::from("text"),
        Type::Word(_) => String::from("word"),
        Type::Quantity(dimension) => dimension.name().to_owned(),
        Type::Item(kind) if is_list => kind.replace('_', " "),
        Type::Item(kind) => format!("link to {}", kind.replace('_', " ")),
        Type::List(_) => String::from("list"),
    };
    if is_list { format!("list: {one}") } else { one }
}

fn absent(field: &FieldSpec) -> String {
    match (field.absent(), field.default) {
        (Absent::NotRecorded, _) => String::from("not recorded"),
        (Absent::None, _) => String::from("none"),
        (Absent::Owner, _) | (_, Default::Owner) => String::from("by what it belongs to, else no"),
        (_, Default::Flag(true)) => String::from("yes"),
        (_, Default::Flag(false)) => String::from("no"),
        (_, Default::FlagUnless(flag, doubts)) => {
            format!("{}; not recorded {}", if flag { "yes" } else { "no" }, doubtful(doubts))
        }
        (_, Default::Word(word)) => word.to_owned(),
        (_, Default::Number(number)) => number.to_string(),
        (_, Default::Amount(amount)) => match field.ty {
            Type::Quantity(dimension) => Quantity::new(dimension, amount).print(UnitSystem::Customary),
            _ => Quantity::new(Dimension::Number, amount).print(UnitSystem::Customary),
        },
        (Absent::Default, Default::None | Default::Empty | Default::NoItem) => String::from("not recorded"),
    }
}

/// Returns when a default is doubtful: `where kind is basement or attic`.
fn doubtful(doubts: &[&[Fact]]) -> String {
    let fact = |fact: &Fact| match fact {
        Fact::Word(field, words) => format!("`{field}` is {}", words.join(" or ")),
        Fact::Number(field, number) => format!("`{field}` is {number}"),
        Fact::Yes(field) => format!("`{field}` is yes"),
        Fact::Written(field) => format!("`{field}` is written"),
    };
    let doubt = |facts: &&[Fact]| facts.iter().map(fact).collect::<Vec<_>>().join(" and ");
    format!("where {}", doubts.iter().map(doubt).collect::<Vec<_>>().join(", or "))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kind(name: &str) -> KindTable {
        let schema = Schema::dwelling();
        of_kind(&schema, schema.kind(name).unwrap())
    }

    fn field(kind: &KindTable, name: &str) -> FieldLine {
        kind.fields.iter().find(|field| field.name == name).unwrap().clone()
    }

    #[test]
    fn every_field_of_every_kind_is_told() {
        let schema = Schema::dwelling();
        let all = all(&schema);
        assert_eq!(all.len(), schema.kinds().count());
        for ((_, spec), table) in schema.kinds().zip(&all) {
            let names: Vec<&str> = table.fields.iter().map(|field| field.name).collect();
            assert_eq!(names, spec.fields.iter().map(|field| field.name).collect::<Vec<_>>());
            assert!(!table.written.is_empty() && !table.meaning.is_empty(), "{}", table.kind);
            for field in &table.fields {
                assert!(!field.meaning.is_empty() && !field.holds.is_empty(), "{}.{}", table.kind, field.name);
            }
        }
    }

    #[test]
    fn a_field_tells_who_fills_it_and_what_not_written_means() {
        let (boxes, device, end) = (kind("box"), kind("device"), kind("cable_end"));
        assert_eq!(
            (field(&boxes, "room").source, field(&boxes, "room").absent.as_deref()),
            (Source::Written, Some("not recorded"))
        );
        assert_eq!(field(&boxes, "gangs").absent.as_deref(), Some("1"));
        assert_eq!(field(&boxes, "mounted").absent.as_deref(), Some("wall"));
        assert_eq!(field(&boxes, "set_back").source, Source::AsBuilt);
        assert_eq!(field(&boxes, "fill").source, Source::Computed);
        assert_eq!(field(&boxes, "devices").source, Source::Lists);
        assert_eq!(field(&boxes, "devices").absent, None);
        assert_eq!(field(&device, "serves_appliance").absent.as_deref(), Some("none"));
        assert_eq!(field(&device, "gfci").absent.as_deref(), Some("no"));
        assert_eq!(field(&end, "box").source, Source::WrittenAs("at"));
        assert_eq!(field(&end, "cable").source, Source::Nesting);
        assert_eq!(field(&kind("wall"), "turn").absent.as_deref(), Some("90 deg"));
        assert_eq!((end.word, end.written), ("end", vec![String::from("[cable.from]"), String::from("[cable.to]")]));
    }

    #[test]
    fn the_short_form_has_every_field_once() {
        let schema = Schema::dwelling();
        for (_, spec) in schema.kinds() {
            let text = markdown(&schema, &[spec.name]);
            let rows = text.lines().skip(2).filter_map(|row| row.rsplit(" | ").next());
            let mut told: Vec<&str> = rows.flat_map(|row| row.trim_end_matches(" |").split(", ")).collect();
            let mut names: Vec<String> = spec.fields.iter().map(|field| format!("`{}`", field.name)).collect();
            told.sort_unstable();
            names.sort_unstable();
            assert_eq!(told, names, "{}", spec.name);
        }
    }

    #[test]
    fn lists_that_have_the_kind_are_named_by_the_words_of_rules() {
        assert_eq!(kind("box").listed, ["site.boxes", "room.boxes", "wall.boxes", "raceway.boxes"]);
        assert_eq!(kind("raceway").listed, ["site.raceways", "circuit.raceways", "room.raceways", "box.raceways"]);
        assert_eq!(field(&kind("device"), "box").leads_to, Some("box"));
        assert_eq!(field(&kind("device"), "box").holds, "link to box");
    }
}
