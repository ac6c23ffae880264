//! The manifest of a ruleset: what it is, what it stands on, what it adopts and amends.

use std::sync::Arc;

use jiff::civil::Date;
use toml::de::DeTable;

use super::amendment::Amendment;
use super::amendment_reader;
use super::ask::DateKind;
use super::content_hash::ContentHash;
use super::entry::Checked;
use super::fields::{Fields, Written, first_line, parse};
use super::origins::{self, Defaults};
use super::sources::RuleSource;
use super::text::Origin;
use crate::model::kinds::site;
use crate::model::{Schema, Symbols, Type};
use crate::problem::Problem;
use crate::source::{File, Span};

/// What a ruleset is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum RulesetKind {
    /// A model code, or a code complete in itself.
    Edition,
    /// A place: what it adopts and how it amends it.
    Jurisdiction,
    /// Accessibility requirements.
    Accessibility,
    /// A shop's own practice.
    Shop,
}

impl RulesetKind {
    /// All kinds with their words.
    pub const ALL: [(RulesetKind, &'static str); 4] = [
        (RulesetKind::Edition, "edition"),
        (RulesetKind::Jurisdiction, "jurisdiction"),
        (RulesetKind::Accessibility, "accessibility"),
        (RulesetKind::Shop, "shop"),
    ];

    /// Returns the word.
    pub fn word(self) -> &'static str {
        match self {
            RulesetKind::Edition => "edition",
            RulesetKind::Jurisdiction => "jurisdiction",
            RulesetKind::Accessibility => "accessibility",
            RulesetKind::Shop => "shop",
        }
    }

    /// Returns the kind of a word.
    pub fn of(word: &str) -> Option<RulesetKind> {
        RulesetKind::ALL.iter().find(|(_, name)| *name == word).map(|&(kind, _)| kind)
    }
}

/// One adoption of an edition or of accessibility requirements by a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Adoption {
    /// What is adopted.
    pub ruleset: Written,
    /// First day in force.
    pub from: Date,
    /// Last day in force; none while nothing ends it but a later adoption.
    pub until: Option<Date>,
    /// The dates that count: the first of them that the job records.
    pub by: Vec<DateKind>,
    /// From this day, before the first day in force, it may already be chosen.
    pub choice_from: Option<Date>,
    /// Until this day the edition before it may still be chosen.
    pub choice_until: Option<Date>,
    /// Only where accessibility requirements apply.
    pub if_accessible: bool,
    /// Only for these kinds of dwelling; for all when there is none.
    pub dwellings: Vec<String>,
    /// Citation.
    pub cites: String,
    /// How the adoption and its days were checked, where the ruleset says so.
    pub checked: Option<Checked>,
    /// Where the adoption and its days were read.
    pub source: String,
    /// The line that names what is adopted.
    pub span: Span,
}

/// A ruleset as its manifest describes it.
#[derive(Clone, Debug)]
pub struct Ruleset {
    /// Its id, which is also its path.
    pub id: String,
    /// Its title.
    pub title: String,
    /// What it is.
    pub kind: RulesetKind,
    /// Its version.
    pub version: String,
    /// When it was last reviewed.
    pub reviewed: Option<Date>,
    /// Its source.
    pub source: String,
    /// How its values were checked, unless they say otherwise.
    pub checked: Option<Checked>,
    /// Why it is a draft, if it is one.
    pub draft: Option<String>,
    /// The place around it.
    pub within: Option<Written>,
    /// The edition it is written as differences from.
    pub follows: Option<Written>,
    /// For an edition that is a place's whole code by itself: its first day, and the dates that count.
    pub from: Option<Date>,
    /// See `from`.
    pub by: Vec<DateKind>,
    /// Where it says that no stricter local layer is allowed, if it does.
    pub locals_none: Option<Span>,
    /// Where it says that places inside may only tighten, if it does.
    pub locals_stricter: Option<Span>,
    /// What it adopts.
    pub adopts: Vec<Adoption>,
    /// Amendments that stand in the manifest.
    pub amends: Vec<Amendment>,
    /// Where it comes from.
    pub origin: Origin,
    /// Where the ruleset of the same id comes from that this one stands in front of.
    pub replaces: Option<Origin>,
    /// The line of its id.
    pub span: Span,
    /// Its files.
    pub(super) files: Arc<RulesetFiles>,
    /// Whether its manifest has errors.
    pub(super) broken: bool,
}

/// The files of a ruleset, sorted by path.
#[derive(Debug, Default)]
pub(super) struct RulesetFiles {
    /// `code/*.toml`.
    pub(super) code: Vec<Arc<File>>,
    /// `facts/*.toml`.
    pub(super) facts: Vec<Arc<File>>,
    /// `rules/*.rhai`.
    pub(super) rules: Vec<Arc<File>>,
    /// `trials/*.toml`.
    pub(super) trials: Vec<Arc<File>>,
    /// `trials/unnoticed.toml`.
    pub(super) unnoticed: Option<Arc<File>>,
    /// `job-defaults.toml`.
    pub(super) defaults: Option<Arc<File>>,
    /// Every file but the trials, with its path: what the content hash is made of.
    pub(super) counted: Vec<(String, Arc<File>)>,
}

impl Ruleset {
    /// Returns the hash of its content (manifest, code, facts, rules and job defaults) as it is printed and pinned: 16 hexadecimal
    /// digits. It is reckoned anew each time, since only a ruleset in force is ever asked for it.
    pub fn content_hash(&self) -> String {
        let mut hash = ContentHash::new();
        for (path, file) in &self.files.counted {
            hash.add(path);
            hash.add(file.text());
        }
        format!("{:016x}", hash.finish())
    }

    /// Returns the files of its trials, sorted by path.
    pub fn trials(&self) -> &[Arc<File>] {
        &self.files.trials
    }

    /// Returns the file that lists the changes of the ruleset that no trial need notice, if there is one.
    pub fn unnoticed(&self) -> Option<&Arc<File>> {
        self.files.unnoticed.as_ref()
    }

    /// Returns how a rule of this ruleset was checked: what its header says, or its ruleset; a rule that nobody vouches for
    /// counts as from memory.
    pub fn checked_rule(&self, rule: &RuleSource) -> Checked {
        rule.checked.or(self.defaults().checked).unwrap_or(Checked::Memory)
    }

    /// Returns how an adoption by this ruleset was checked, if it or its ruleset says so.
    pub fn checked_adoption(&self, adoption: &Adoption) -> Option<Checked> {
        adoption.checked.or(self.defaults().checked)
    }

    /// Returns what is known of a ruleset whose manifest can't be read.
    fn unread(found: &Found<'_>, header: Span) -> Ruleset {
        Ruleset {
            id: found.folder.to_owned(),
            title: String::new(),
            kind: RulesetKind::Jurisdiction,
            version: String::new(),
            reviewed: None,
            source: String::new(),
            checked: None,
            draft: None,
            within: None,
            follows: None,
            from: None,
            by: Vec::new(),
            locals_none: None,
            locals_stricter: None,
            adopts: Vec::new(),
            amends: Vec::new(),
            origin: found.origin.clone(),
            replaces: None,
            span: header,
            files: Arc::default(),
            broken: true,
        }
    }

    pub(super) fn defaults(&self) -> Defaults {
        // A shop's book and an invented place are their own source.
        let own = self.kind == RulesetKind::Shop || self.id.starts_with("demo/");
        Defaults { source: self.source.clone(), checked: self.checked.or(own.then_some(Checked::LawText)) }
    }
}

const KEYS: &[&str] = &[
    "id", "title", "kind", "version", "reviewed", "source", "checked", "draft", "within", "follows", "from", "by",
    "locals", "adopts", "amends",
];

const ADOPTION_KEYS: &[&str] = &[
    "ruleset",
    "from",
    "until",
    "by",
    "choice_from",
    "choice_until",
    "when",
    "dwelling",
    "cites",
    "checked",
    "source",
];

/// Where a manifest was found.
pub(super) struct Found<'f> {
    pub(super) file: &'f File,
    /// The folder, which must be the id; empty when the ruleset's own folder was given.
    pub(super) folder: &'f str,
    pub(super) origin: &'f Origin,
}

/// Reads a manifest.
pub(super) fn read(found: &Found<'_>, schema: &Schema, symbols: &mut Symbols, problems: &mut Vec<Problem>) -> Ruleset {
    let before = problems.len();
    let (file, header) = (found.file, first_line(found.file));
    let Some(table) = parse(file, problems) else { return Ruleset::unread(found, header) };
    let mut fields = Fields::new(file, &table, header, "the manifest", KEYS, problems);
    let need = |fields: &mut Fields<'_, '_>, key: &str, help: &str| {
        fields.need_text(key, help).map(|written| written.text).unwrap_or_default()
    };
    let id = need(&mut fields, "id", "write the path of its folder, such as `id = \"demo/harlow-county\"`");
    let span = fields.value("id").map_or(fields.header, |(_, span)| span);
    if !id.is_empty() && !found.folder.is_empty() && id != found.folder {
        let problem = Problem::new(span, format!("the id `{id}` is not the folder `{}`", found.folder));
        fields.problems.push(problem.label("must be the path").help(format!("write `id = \"{}\"`", found.folder)));
    }
    let title = need(&mut fields, "title", "write what people call it, such as `title = \"Harlow County\"`");
    let version = need(&mut fields, "version", "write `version = \"1\"` and raise it with every change");
    let source = need(&mut fields, "source", "write where its values come from");
    let kinds = RulesetKind::ALL.map(|(_, word)| word);
    if !fields.has("kind") {
        fields.missing("kind", format!("write `kind = \"jurisdiction\"`; the kinds are {}", kinds.join(", ")));
    }
    let kind = fields.word("kind", RulesetKind::of, &kinds);
    if !fields.has("reviewed") {
        fields.missing("reviewed", "write the day on which somebody last compared it with its source");
    }
    let reviewed = fields.date("reviewed").map(|(date, _)| date);
    let locals = locals(&mut fields);
    let mut ruleset = Ruleset {
        id: if found.folder.is_empty() { id } else { found.folder.to_owned() },
        title,
        kind: kind.unwrap_or(RulesetKind::Jurisdiction),
        version,
        reviewed,
        source,
        checked: origins::word(&mut fields),
        draft: fields.text("draft").map(|written| written.text),
        within: fields.text("within"),
        follows: fields.text("follows"),
        from: fields.date("from").map(|(date, _)| date),
        by: by(&mut fields),
        locals_none: locals.filter(|(word, _)| *word == "none").map(|(_, span)| span),
        locals_stricter: locals.filter(|(word, _)| *word == "stricter").map(|(_, span)| span),
        span,
        ..Ruleset::unread(found, header)
    };
    if let Some(kind) = kind {
        keys_of_kind(&mut fields, kind);
    }
    let (adopts, amends) = (fields.tables("adopts"), fields.tables("amends"));
    let defaults = ruleset.defaults();
    for (table, header) in adopts {
        ruleset.adopts.extend(adoption(file, table, header, &ruleset, schema, problems));
    }
    for (table, header) in amends {
        ruleset.amends.extend(amendment_reader::read(file, table, header, &defaults, symbols, problems));
    }
    ruleset.broken = problems.len() > before;
    ruleset
}

/// Reports keys that a ruleset of this kind can't have.
fn keys_of_kind(fields: &mut Fields<'_, '_>, kind: RulesetKind) {
    use RulesetKind::{Edition, Jurisdiction};
    for (key, owner) in [
        ("within", Jurisdiction),
        ("adopts", Jurisdiction),
        ("locals", Jurisdiction),
        ("follows", Edition),
        ("from", Edition),
        ("by", Edition),
    ] {
        if fields.has(key) && kind != owner {
            let message =
                format!("`{key}` is for rulesets of kind `{}`, and this one is `{}`", owner.word(), kind.word());
            fields.problems.push(Problem::new(fields.key_span(key), message).label("does not belong here"));
        }
    }
}

fn by(fields: &mut Fields<'_, '_>) -> Vec<DateKind> {
    let words = DateKind::ALL.map(|(_, word)| word);
    let mut by = Vec::new();
    for written in fields.texts("by") {
        match DateKind::of(&written.text) {
            Some(kind) if !by.contains(&kind) => by.push(kind),
            Some(_) => {}
            None => fields.unknown_word("by", &written, &words),
        }
    }
    if by.is_empty() { vec![DateKind::Permit] } else { by }
}

/// What a place may say of places inside.
const LOCALS: [&str; 3] = ["none", "stricter", "allowed"];

/// Returns what the manifest says of places inside, and where.
fn locals(fields: &mut Fields<'_, '_>) -> Option<(&'static str, Span)> {
    let word = fields.word("locals", |word| LOCALS.iter().find(|known| **known == word).copied(), &LOCALS)?;
    Some((word, fields.key_span("locals")))
}

fn adoption<'a>(
    file: &'a File,
    table: &'a DeTable<'a>,
    header: Span,
    ruleset: &Ruleset,
    schema: &Schema,
    problems: &mut Vec<Problem>,
) -> Option<Adoption> {
    let before = problems.len();
    let mut fields = Fields::new(file, table, header, "this adoption", ADOPTION_KEYS, problems);
    let adopted = fields.need_text("ruleset", "write the id of what is adopted, such as `ruleset = \"us/model-2020\"`");
    if !fields.has("from") {
        fields.missing("from", "write its first day in force, such as `from = 2021-07-01`");
    }
    let (from, until) = fields.period();
    let (choice_from, choice_until) = (fields.date("choice_from"), fields.date("choice_until"));
    if let (Some(from), Some((day, span))) = (from, choice_from)
        && day >= from
    {
        let problem = Problem::new(span, format!("the choice begins on {day}, when the adoption has begun"));
        fields.problems.push(problem.label("not before `from`").help("write a day before `from`, or leave it out"));
    }
    if let (Some(from), Some((day, span))) = (from, choice_until)
        && day < from
    {
        let problem = Problem::new(span, format!("the choice ends on {day}, before the adoption begins"));
        fields
            .problems
            .push(problem.label("before `from`").help("write the last day on which the earlier edition may be chosen"));
    }
    let by = by(&mut fields);
    let if_accessible = fields.word("when", |word| (word == "accessible").then_some(()), &["accessible"]).is_some();
    let dwellings = dwellings(&mut fields, schema);
    let cites = fields.need_text("cites", "write which law or ordinance adopts it");
    let checked = origins::word(&mut fields).or(ruleset.defaults().checked);
    let source = fields.text("source").map_or_else(|| ruleset.source.clone(), |written| written.text);
    let (adopted, from, cites) = (adopted?, from?, cites?);
    let span = adopted.span;
    (problems.len() == before).then_some(Adoption {
        ruleset: adopted,
        from,
        until,
        by,
        choice_from: choice_from.map(|(day, _)| day),
        choice_until: choice_until.map(|(day, _)| day),
        if_accessible,
        dwellings,
        cites: cites.text,
        checked,
        source,
        span,
    })
}

/// Reads the kinds of dwelling, which are the words of the site's field.
fn dwellings(fields: &mut Fields<'_, '_>, schema: &Schema) -> Vec<String> {
    let words = schema.kind(site::NAME).and_then(|kind| {
        let field = schema.field(kind, "dwelling")?;
        match schema.field_spec(kind, field).ty {
            Type::Word(words) => Some(words),
            _ => None,
        }
    });
    let words = words.unwrap_or_default();
    let mut dwellings = Vec::new();
    for written in fields.texts("dwelling") {
        if words.contains(&written.text.as_str()) {
            dwellings.push(written.text);
        } else {
            fields.unknown_word("dwelling", &written, words);
        }
    }
    dwellings
}
