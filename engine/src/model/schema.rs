//! The table of kinds and fields.

use std::collections::{BTreeMap, HashMap};

use super::{Declared, ItemIndex, Job};
use crate::quantity::Dimension;

/// A kind of item, by its number in a [`Schema`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, PartialOrd, Ord)]
pub struct KindId(pub u16);

/// A field, by its number in its kind.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, PartialOrd, Ord)]
pub struct FieldId(pub u16);

/// A stage of the work, in the order in which stages follow each other.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, PartialOrd, Ord)]
pub enum Stage {
    /// Boxes marked on the framing.
    Layout,
    /// Boxes and cable before cover.
    RoughIn,
    /// Devices, luminaires and covers fitted.
    TrimOut,
    /// Finished, energized, ready for the last inspection.
    Final,
}

impl Stage {
    /// All stages in order, with their words in job files and rules.
    pub const ALL: [(Stage, &'static str); 4] = [
        (Stage::Layout, "layout"),
        (Stage::RoughIn, "rough_in"),
        (Stage::TrimOut, "trim_out"),
        (Stage::Final, "final"),
    ];

    /// Returns the word of a stage.
    pub fn word(self) -> &'static str {
        Stage::ALL[self as usize].1
    }

    /// Returns the stage of a word.
    pub fn of(word: &str) -> Option<Stage> {
        Stage::ALL.iter().find(|(_, name)| *name == word).map(|&(stage, _)| stage)
    }
}

/// What a field holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Type {
    /// Yes or no.
    Flag,
    /// Free text.
    Text,
    /// One of a fixed list of words. A cell holds the word's symbol.
    Word(&'static [&'static str]),
    /// An amount of a dimension.
    Quantity(Dimension),
    /// Another item of the kind with this name.
    Item(&'static str),
    /// A list of any of the above.
    List(Box<Type>),
}

/// A value that the job format itself supplies. Never a code value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Default {
    /// None: what is not written is unrecorded.
    None,
    /// Yes or no.
    Flag(bool),
    /// Yes or no, unless something else that is known of the item makes that doubtful: then it is unrecorded. Of several doubts one is
    /// enough; all facts of a doubt must hold.
    FlagUnless(bool, &'static [&'static [Fact]]),
    /// A word.
    Word(&'static str),
    /// A whole number ([`Dimension::Number`]).
    Number(i64),
    /// An amount in base units, for plain geometry (a right angle) only.
    Amount(i64),
    /// An empty list.
    Empty,
    /// A link that leads nowhere.
    NoItem,
    /// What the items say that it belongs to; no where they don't say either.
    Owner,
}

/// What it means that nothing is written in a field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Absent {
    /// Nobody has recorded it.
    NotRecorded,
    /// There is nothing: the receptacle is for no appliance, the cable carries no second circuit.
    None,
    /// What the job format supplies.
    Default,
    /// What the items say that it belongs to.
    Owner,
}

/// How a field comes by its value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Filled {
    /// Written in the item's table under the field's name, `required` or not.
    /// `as_built` fields are facts seen or measured on site: no default of a shop or room may supply them.
    Written {
        /// A missing value is an error of the job file.
        required: bool,
        /// Only a person who looked can supply it.
        as_built: bool,
    },
    /// Written under another field's name (`key`) and stored here when it fits: `at = "B3"` fills `box` or `panel`,
    /// whichever kind `B3` is; `make = "12/2"` fills `size` and `conductors`.
    By(&'static str),
    /// The key behind one or more [`Filled::By`] fields. Holds an id (or a list of ids) of any of their kinds, or a cable make.
    Key {
        /// A missing value is an error of the job file.
        required: bool,
    },
    /// All items of `kind` whose field `via` refers to this item, in file order; on `site`, with an empty `via`, all items of the kind.
    Inverse {
        /// The kind of the listed items.
        kind: &'static str,
        /// Their field that refers here.
        via: &'static str,
    },
    /// The item in whose table this one is nested, or the position of a nested table (`side` of a cable end: the key it was under).
    Nesting,
    /// All items that chains of links lead to from this one, each once: `from_box.room`. Not recorded while a link on the way is not.
    Through(&'static [&'static str]),
    /// Computed from the job and the book in force; see `calc`.
    Derived,
}

/// What else is known of an item whose default it makes doubtful.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fact {
    /// A field holds one of these words.
    Word(&'static str, &'static [&'static str]),
    /// A field holds this whole number.
    Number(&'static str, i64),
    /// A field holds yes.
    Yes(&'static str),
    /// A field holds something, whatever it is.
    Written(&'static str),
}

impl Fact {
    /// Returns the field that it is about.
    pub fn field(&self) -> &'static str {
        match self {
            Fact::Word(field, _) | Fact::Number(field, _) | Fact::Yes(field) | Fact::Written(field) => field,
        }
    }

    /// Returns whether it holds of an item.
    pub fn holds(&self, job: &Job, item: ItemIndex) -> bool {
        let Some(field) = job.schema.field(job.item(item).kind, self.field()) else { return false };
        match self {
            Fact::Word(_, words) => job.text(item, field).is_some_and(|word| words.contains(&word)),
            Fact::Number(_, number) => job.quantity(item, field).is_some_and(|found| found.whole() == Some(*number)),
            Fact::Yes(_) => job.flag(item, field) == Some(true),
            Fact::Written(_) => !job.cell(item, field).is_missing(),
        }
    }
}

/// Returns whether one of several doubts holds of an item.
pub fn is_doubtful(doubts: &[&[Fact]], job: &Job, item: ItemIndex) -> bool {
    doubts.iter().any(|facts| facts.iter().all(|fact| fact.holds(job, item)))
}

/// A field of a kind.
#[derive(Clone, Debug)]
pub struct FieldSpec {
    /// Name in job files and rules.
    pub name: &'static str,
    /// What it holds.
    pub ty: Type,
    /// How it comes by its value.
    pub filled: Filled,
    /// What the job format supplies when nothing is written.
    pub default: Default,
    /// One or two sentences for the person who writes job files or rules.
    pub doc: &'static str,
}

impl FieldSpec {
    /// Returns what it means that nothing is written in the field.
    pub fn absent(&self) -> Absent {
        match self.default {
            Default::None => Absent::NotRecorded,
            Default::NoItem | Default::Empty => Absent::None,
            Default::Owner => Absent::Owner,
            Default::Flag(_) | Default::FlagUnless(..) | Default::Word(_) | Default::Number(_) | Default::Amount(_) => {
                Absent::Default
            }
        }
    }
}

/// Where a kind's tables stand in a job file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Nest {
    /// One table: `[site]`.
    Single(&'static str),
    /// An array of tables: `[[box]]`.
    Top(&'static str),
    /// Tables inside another kind's table, under one or more keys. `many`: an array under each key; otherwise one table,
    /// or just a text that stands for the key `short`.
    Inside {
        /// The kind around it.
        parent: &'static str,
        /// The keys it may stand under.
        keys: &'static [&'static str],
        /// An array of tables under each key.
        many: bool,
        /// The key for which a bare text stands, with `many = false`.
        short: Option<&'static str>,
    },
}

/// How an item comes by its id.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum IdRule {
    /// Written as `id`, always.
    Required,
    /// Written as `id`, or made: `cable-17` at the top; `PARENT/NAME` inside another item, where NAME is its `name` field,
    /// the key it stands under, or key and number (`kitchen/north`, `C3/from`, `C3/hole-2`).
    Made,
    /// There is only one; its id is the kind's name.
    Only,
}

/// A kind of item.
#[derive(Clone, Debug)]
pub struct KindSpec {
    /// Name in rule headers: `cable_end`.
    pub name: &'static str,
    /// The word by which a rule speaks of the item it looks at: `end`.
    pub word: &'static str,
    /// Where its tables stand.
    pub nest: Nest,
    /// How it comes by its id.
    pub id: IdRule,
    /// One or two sentences.
    pub doc: &'static str,
    /// Its fields.
    pub fields: Vec<FieldSpec>,
}

/// Why a kind or field can't be added to a schema.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SchemaError(pub String);

impl std::fmt::Display for SchemaError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for SchemaError {}

/// All kinds with their fields.
#[derive(Clone, Debug)]
pub struct Schema {
    kinds: Vec<KindSpec>,
    by_name: HashMap<&'static str, KindId, ahash::RandomState>,
    fields: Vec<HashMap<&'static str, FieldId, ahash::RandomState>>,
    /// What rulesets have declared, by kind and field.
    pub(super) declared: BTreeMap<(KindId, FieldId), Declared>,
}

impl Schema {
    /// Returns the kinds of a dwelling.
    pub fn dwelling() -> Schema {
        let mut schema =
            Schema { kinds: Vec::new(), by_name: HashMap::default(), fields: Vec::new(), declared: BTreeMap::new() };
        for kind in super::kinds::all() {
            schema.push(kind);
        }
        schema
    }

    fn push(&mut self, kind: KindSpec) {
        let id = KindId(self.kinds.len() as u16);
        self.by_name.insert(kind.name, id);
        self.fields.push(kind.fields.iter().enumerate().map(|(at, field)| (field.name, FieldId(at as u16))).collect());
        self.kinds.push(kind);
    }

    /// Adds a kind.
    ///
    /// What else may be wrong with it [`Schema::check`] tells, once all kinds are there that it may refer to.
    ///
    /// # Errors
    /// When the name, the word or the table is taken, or a field is named twice.
    pub fn add_kind(&mut self, kind: KindSpec) -> Result<KindId, SchemaError> {
        if let Some(other) =
            self.kinds.iter().find(|k| k.name == kind.name || k.word == kind.word || k.nest == kind.nest)
        {
            return Err(SchemaError(format!("kind `{}` clashes with `{}`", kind.name, other.name)));
        }
        for (at, field) in kind.fields.iter().enumerate() {
            if kind.fields.iter().take(at).any(|earlier| earlier.name == field.name) {
                return Err(SchemaError(format!("kind `{}` has two fields `{}`", kind.name, field.name)));
            }
        }
        self.push(kind);
        Ok(KindId(self.kinds.len() as u16 - 1))
    }

    /// Adds a field to a kind that is already there.
    ///
    /// # Errors
    /// When there is no such kind, or it has such a field.
    pub fn add_field(&mut self, kind: &str, field: FieldSpec) -> Result<FieldId, SchemaError> {
        let id = self.kind(kind).ok_or_else(|| SchemaError(format!("there is no kind `{kind}`")))?;
        if self.field(id, field.name).is_some() {
            return Err(SchemaError(format!("kind `{kind}` already has a field `{}`", field.name)));
        }
        let at = FieldId(self.kinds[id.0 as usize].fields.len() as u16);
        self.fields[id.0 as usize].insert(field.name, at);
        self.kinds[id.0 as usize].fields.push(field);
        Ok(at)
    }

    /// Returns the kind of a name.
    pub fn kind(&self, name: &str) -> Option<KindId> {
        self.by_name.get(name).copied()
    }

    /// Returns a kind's description.
    ///
    /// # Panics
    /// Never for an id of this schema.
    pub fn spec(&self, kind: KindId) -> &KindSpec {
        &self.kinds[kind.0 as usize]
    }

    /// Returns all kinds with their ids.
    pub fn kinds(&self) -> impl Iterator<Item = (KindId, &KindSpec)> {
        self.kinds.iter().enumerate().map(|(at, kind)| (KindId(at as u16), kind))
    }

    /// Returns the names of all kinds, each with those of its fields behind it: what tells two tables apart.
    pub fn names(&self) -> impl Iterator<Item = &'static str> + '_ {
        self.kinds.iter().flat_map(|kind| std::iter::once(kind.name).chain(kind.fields.iter().map(|field| field.name)))
    }

    /// Returns whether numbers of kinds and fields mean the same in another table.
    pub fn is_same(&self, other: &Schema) -> bool {
        std::ptr::eq(self, other) || self.names().eq(other.names())
    }

    /// Returns a field of a kind by name.
    pub fn field(&self, kind: KindId, name: &str) -> Option<FieldId> {
        self.fields.get(kind.0 as usize)?.get(name).copied()
    }

    /// Returns a field's description.
    ///
    /// # Panics
    /// Never for ids of this schema.
    pub fn field_spec(&self, kind: KindId, field: FieldId) -> &FieldSpec {
        &self.kinds[kind.0 as usize].fields[field.0 as usize]
    }
}
