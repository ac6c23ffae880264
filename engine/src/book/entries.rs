//! Sets and amends entries, layer by layer.

use std::collections::{BTreeMap, BTreeSet};

use super::amendment::{Amendment, Change, NewValue};
use super::code_file::WrittenEntry;
use super::entry::{Entry, EntryId, Setting};
use super::fields::{Written, with_help};
use super::gaps::Off;
use super::layer::{Place, setting};
use super::literal::Literal;
use super::manifest::RulesetKind;
use super::shelf::Names;
use super::value::{EarlierRow, EntryType, Matching, Member, Row, ScalarType, Table, Value};
use crate::model::Symbols;
use crate::problem::{Problem, Topic, did_you_mean};
use crate::source::Span;

/// The entries of a book that is being made.
pub(super) struct Entries<'n> {
    names: &'n Names,
    entries: Vec<Option<Entry>>,
    /// Entries that could not be set, so that what is built on them is not reported as well.
    failed: BTreeSet<String>,
    /// Entries of other days, the latest layer's line of each: what is said of them holds on their own days.
    off: BTreeMap<String, Off>,
    alone: bool,
}

impl<'n> Entries<'n> {
    pub(super) fn new(names: &'n Names, alone: bool) -> Entries<'n> {
        let mut entries = Vec::new();
        entries.resize_with(names.len(), || None);
        Entries { names, entries, failed: BTreeSet::new(), off: BTreeMap::new(), alone }
    }

    /// Sets a ruleset's own entries. One of other days is noted and does nothing.
    pub(super) fn add_layer(&mut self, place: Place<'_>, symbols: &mut Symbols, problems: &mut Vec<Problem>) {
        for (at, (written, id)) in place.contents.entries.iter().zip(&place.contents.ids).enumerate() {
            if place.in_force.entries_off.contains(&at) {
                let off = Off { span: written.span, layer: place.layer, from: written.from, until: written.until };
                self.off.insert(written.key.clone(), off);
                continue;
            }
            if let Err(problem) = self.add(place, written, *id, symbols) {
                self.failed.insert(written.key.clone());
                problems.push(problem);
            }
        }
    }

    fn add(
        &mut self,
        place: Place<'_>,
        written: &WrittenEntry,
        id: EntryId,
        symbols: &mut Symbols,
    ) -> Result<(), Problem> {
        let Some(slot) = self.entries.get_mut(id.0 as usize) else { return Ok(()) };
        let step = setting(place, &written.evidence, written.value.span(), written.value.text(), written.from);
        match slot {
            // An edition may write an entry of the edition it follows anew.
            Some(entry) if place.ruleset.kind == RulesetKind::Edition => {
                replace(entry, &written.value, Some(written.matching), step, symbols)
            }
            Some(entry) => Err(Problem::new(written.span, format!("entry `{}` is there already", written.key))
                .label("set again")
                .mark(entry.chain.last().map_or(Span::NONE, |step| step.span), "set here")
                .help(format!("to change it, write [[amends]] with `entry = \"{}\"`", written.key))),
            None => {
                let (ty, value) = typed(&written.value, None, written.matching, 0, symbols)?;
                let key_label = written.key_label.clone();
                *slot = Some(Entry { key: written.key.clone(), ty, value, key_label, chain: vec![step] });
                Ok(())
            }
        }
    }

    /// Applies an amendment of an entry.
    pub(super) fn amend(
        &mut self,
        place: Place<'_>,
        amendment: &Amendment,
        symbols: &mut Symbols,
        problems: &mut Vec<Problem>,
    ) {
        let (Change::Entry { entry: name, .. } | Change::Row { entry: name, .. } | Change::Members { entry: name, .. }) =
            &amendment.change
        else {
            return;
        };
        if self.failed.contains(&name.text) || (self.off.contains_key(&name.text) && !self.has(&name.text)) {
            return;
        }
        let id = self.names.find(&name.text);
        let Some(entry) = id.and_then(|id| self.entries.get_mut(id.0 as usize)).and_then(Option::as_mut) else {
            if !self.alone {
                problems.push(self.unknown(name));
            }
            return;
        };
        let own = id.is_some_and(|id| place.contents.ids.contains(&id));
        if own && !amendment.is_limited() {
            problems.push(
                Problem::new(name.span, format!("entry `{}` is set in this same ruleset", name.text))
                    .label("amended without a day or an edition")
                    .mark(entry.chain.last().map_or(Span::NONE, |step| step.span), "set here")
                    .help("write the right value there, or say from when or until when the amendment holds"),
            );
            return;
        }
        let step = |span, value| setting(place, &amendment.evidence, span, value, amendment.from);
        match &amendment.change {
            Change::Entry { value, .. } => {
                let step = step(value.span(), value.text());
                problems.extend(replace(entry, value, None, step, symbols).err());
            }
            Change::Row { key, value, .. } => {
                let step = step(value.span, format!("{} = {}", key.text, value.text));
                problems.extend(set_row(entry, key, value, step, symbols).err());
            }
            Change::Members { add, add_rows, remove, .. } => {
                let first = add.iter().chain(add_rows.iter().map(|(key, _)| key)).chain(remove).next();
                let step = step(first.map_or(name.span, |first| first.span), amendment.change.text());
                match &entry.ty {
                    EntryType::List(ty) => change_list(entry, *ty, (add, add_rows, remove), step, symbols, problems),
                    EntryType::Table { .. } => change_rows(entry, (add, add_rows, remove), step, symbols, problems),
                    EntryType::Scalar(_) => problems.push(not_so(entry, name.span, "a list or table")),
                }
            }
            Change::Omit { .. } | Change::OmitException { .. } | Change::Reweigh { .. } => {}
        }
    }

    /// Returns the entries of other days that nothing else sets, in alphabetical order.
    pub(super) fn missing(&self) -> impl Iterator<Item = (&str, &Off)> {
        self.off.iter().filter(|(key, _)| !self.has(key)).map(|(key, off)| (key.as_str(), off))
    }

    fn has(&self, key: &str) -> bool {
        self.find(key).is_some()
    }

    /// Returns an entry as it is so far.
    pub(super) fn find(&self, key: &str) -> Option<(EntryId, &Entry)> {
        let id = self.names.find(key)?;
        self.entries.get(id.0 as usize)?.as_ref().map(|entry| (id, entry))
    }

    pub(super) fn is_list(&self, key: &str) -> bool {
        self.find(key).is_some_and(|(_, entry)| matches!(entry.ty, EntryType::List(_)))
    }

    fn unknown(&self, name: &Written) -> Problem {
        let known: Vec<&str> = self.entries.iter().flatten().map(|entry| entry.key.as_str()).collect();
        let problem = Problem::new(name.span, format!("there is no entry `{}` to amend", name.text))
            .label("unknown entry")
            .about(Topic::Entry);
        with_help(problem, did_you_mean(&name.text, known.iter().copied()))
    }

    /// Reports names of which one goes on where another ends: `code.nm.hole` can't be both an entry and a group.
    pub(super) fn check_names(&self, problems: &mut Vec<Problem>) {
        let mut sorted: Vec<&Entry> = self.entries.iter().flatten().collect();
        sorted.sort_by(|a, b| a.key.cmp(&b.key));
        for pair in sorted.windows(2) {
            if let [outer, inner] = pair
                && inner.key.strip_prefix(outer.key.as_str()).is_some_and(|rest| rest.starts_with('.'))
            {
                let span = |entry: &Entry| entry.chain.first().map_or(Span::NONE, |step| step.span);
                problems.push(
                    Problem::new(span(inner), format!("`{}` lies inside entry `{}`", inner.key, outer.key))
                        .label("an entry inside an entry")
                        .mark(span(outer), "the outer one"),
                );
            }
        }
    }

    /// Returns the names in alphabetical order with their numbers, and the entries by number.
    pub(super) fn finish(self) -> (Vec<(String, EntryId)>, Vec<Option<Entry>>) {
        let with_ids = self.entries.iter().enumerate();
        let mut keys: Vec<(String, EntryId)> =
            with_ids.filter_map(|(at, entry)| Some((entry.as_ref()?.key.clone(), EntryId(at as u32)))).collect();
        keys.sort_unstable();
        (keys, self.entries)
    }
}

/// Returns the problem of a value whose shape is not the entry's.
fn not_so(entry: &Entry, span: Span, what: &str) -> Problem {
    let message = format!("entry `{}` is {}, not {what}", entry.key, entry.ty.described());
    Problem::new(span, message).label(format!("{what} here")).mark(first_span(entry), "set here first")
}

fn first_span(entry: &Entry) -> Span {
    entry.chain.first().map_or(Span::NONE, |step| step.span)
}

/// Gives an entry another value of its own type; a table goes on to find its rows in the same way unless another one is said.
fn replace(
    entry: &mut Entry,
    new: &NewValue,
    matching: Option<Matching>,
    step: Setting,
    symbols: &mut Symbols,
) -> Result<(), Problem> {
    let fits = matches!(
        (new, &entry.ty),
        (NewValue::Scalar(_), EntryType::Scalar(_))
            | (NewValue::List(..), EntryType::List(_))
            | (NewValue::Rows(..), EntryType::Table { .. })
    );
    if !fits {
        let what = match new {
            NewValue::Scalar(_) => "one value",
            NewValue::List(..) => "a list",
            NewValue::Rows(..) => "a table",
        };
        return Err(not_so(entry, new.span(), what));
    }
    let old = match &entry.value {
        Value::Table(table) => table.matching(),
        _ => Matching::Exact,
    };
    let (_, mut value) = typed(new, Some(entry.ty), matching.unwrap_or(old), entry.chain.len(), symbols)
        .map_err(|problem| problem.mark(first_span(entry), format!("set here first, {}", entry.ty.described())))?;
    if let (Value::Table(old), Value::Table(new)) = (&entry.value, &mut value) {
        *new = remember(old, new);
    }
    entry.value = value;
    entry.chain.push(step);
    Ok(())
}

/// Returns a table whose rows know what they said in the one before.
fn remember(old: &Table, new: &Table) -> Table {
    let mut rows = new.rows().to_vec();
    for row in &mut rows {
        if let Some(before) = old.row(row.key) {
            row.earlier = before.earlier.clone();
            row.earlier.push(EarlierRow { text: before.text.clone(), span: before.span, setting: before.setting });
        }
    }
    new.with_rows(rows)
}

/// Gives a written value the type of its entry, or finds the type where this is the first setter.
fn typed(
    new: &NewValue,
    want: Option<EntryType>,
    matching: Matching,
    at: usize,
    symbols: &mut Symbols,
) -> Result<(EntryType, Value), Problem> {
    match new {
        NewValue::Scalar(literal) => {
            let want = match want {
                Some(EntryType::Scalar(ty)) => ty,
                _ => literal.scalar.ty(),
            };
            let scalar = literal.clone().reread(want, symbols)?.scalar;
            Ok((EntryType::Scalar(want), Value::Scalar(scalar)))
        }
        NewValue::List(literals, _) => {
            let want = match want {
                Some(EntryType::List(ty)) => ty,
                // Nobody can tell the type of an empty list; lists of the code are lists of words.
                _ => literals.first().map_or(ScalarType::Text, |first| first.scalar.ty()),
            };
            let member = |literal: &Literal| member(literal, want, at, symbols);
            Ok((EntryType::List(want), Value::List(literals.iter().map(member).collect::<Result<_, _>>()?)))
        }
        NewValue::Rows(rows, _) => {
            let (key, value) = match (want, rows.first()) {
                (Some(EntryType::Table { key, value }), _) => (key, value),
                (_, Some((key, value))) => (key.scalar.ty(), value.scalar.ty()),
                (_, None) => (ScalarType::Text, ScalarType::Text),
            };
            let row = |(k, v): &(Literal, Literal)| new_row(k, v, (key, value), at, symbols);
            let rows = rows.iter().map(row).collect::<Result<_, _>>()?;
            Ok((EntryType::Table { key, value }, Value::Table(Table::new(key, value, matching, rows))))
        }
    }
}

fn member(literal: &Literal, want: ScalarType, setting: usize, symbols: &mut Symbols) -> Result<Member, Problem> {
    let literal = literal.clone().reread(want, symbols)?;
    Ok(Member { value: literal.scalar, text: literal.text, span: literal.span, setting })
}

fn new_row(
    key: &Literal,
    value: &Literal,
    types: (ScalarType, ScalarType),
    setting: usize,
    symbols: &mut Symbols,
) -> Result<Row, Problem> {
    let key = key.clone().reread(types.0, symbols)?;
    let value = value.clone().reread(types.1, symbols)?;
    let (text, span) = (value.text, value.span);
    Ok(Row { key: key.scalar, key_text: key.text, value: value.scalar, text, span, setting, earlier: Vec::new() })
}

fn set_row(
    entry: &mut Entry,
    key: &Literal,
    value: &Literal,
    step: Setting,
    symbols: &mut Symbols,
) -> Result<(), Problem> {
    let (at, first) = (entry.chain.len(), first_span(entry));
    let Value::Table(table) = &entry.value else { return Err(not_so(entry, key.span, "a table")) };
    let types = (table.key_type(), table.value_type());
    let described = entry.ty.described();
    let new = new_row(key, value, types, at, symbols)
        .map_err(|problem| problem.mark(first, format!("set here first, {described}")))?;
    let mut rows = table.rows().to_vec();
    let Some(row) = table.row_index(new.key).and_then(|at| rows.get_mut(at)) else {
        return Err(no_row(entry, table, key));
    };
    let mut earlier = std::mem::take(&mut row.earlier);
    earlier.push(EarlierRow { text: std::mem::take(&mut row.text), span: row.span, setting: row.setting });
    *row = Row { earlier, ..new };
    entry.value = Value::Table(table.with_rows(rows));
    entry.chain.push(step);
    Ok(())
}

fn no_row(entry: &Entry, table: &Table, key: &Literal) -> Problem {
    let rows: Vec<&str> = table.rows().iter().map(|row| row.key_text.as_str()).collect();
    let problem = Problem::new(key.span, format!("`{}` has no row `{}`", entry.key, key.text)).label("unknown row");
    // Sizes are all alike in their letters, so that the nearest one says little where all of them can be shown.
    let all = (1..=12).contains(&rows.len()).then(|| format!("its rows are {}", rows.join(", ")));
    let help = all.or_else(|| did_you_mean(&key.text, rows.iter().copied()));
    with_help(problem.mark(first_span(entry), "the table"), help)
}

/// Members and rows that are added, and members or keys of rows that are taken away.
type Changes<'a> = (&'a [Literal], &'a [(Literal, Literal)], &'a [Literal]);

fn change_list(
    entry: &mut Entry,
    ty: ScalarType,
    (add, add_rows, remove): Changes<'_>,
    step: Setting,
    symbols: &mut Symbols,
    problems: &mut Vec<Problem>,
) {
    let (at, before) = (entry.chain.len(), problems.len());
    let Value::List(members) = &entry.value else { return };
    let mut members = members.clone();
    if let Some((key, _)) = add_rows.first() {
        problems.push(not_so(entry, key.span, "a table"));
    }
    for literal in remove {
        match member(literal, ty, at, symbols) {
            Ok(gone) => match members.iter().position(|known| known.value == gone.value) {
                Some(at) => drop(members.remove(at)),
                None => {
                    let known: Vec<&str> = members.iter().map(|known| known.text.as_str()).collect();
                    let message = format!("`{}` is not in `{}`", literal.text, entry.key);
                    let problem = Problem::new(literal.span, message)
                        .label("nothing to take away")
                        .mark(first_span(entry), "the list");
                    problems.push(with_help(problem, did_you_mean(&literal.text, known.iter().copied())));
                }
            },
            Err(problem) => problems.push(problem.mark(first_span(entry), "the list")),
        }
    }
    for literal in add {
        match member(literal, ty, at, symbols) {
            Ok(new) => match members.iter().find(|known| known.value == new.value) {
                Some(known) => problems.push(
                    Problem::new(literal.span, format!("`{}` is in `{}` already", literal.text, entry.key))
                        .label("added again")
                        .mark(known.span, "there already"),
                ),
                None => members.push(new),
            },
            Err(problem) => problems.push(problem.mark(first_span(entry), "the list")),
        }
    }
    if problems.len() == before {
        entry.value = Value::List(members);
        entry.chain.push(step);
    }
}

fn change_rows(
    entry: &mut Entry,
    (add, add_rows, remove): Changes<'_>,
    step: Setting,
    symbols: &mut Symbols,
    problems: &mut Vec<Problem>,
) {
    let (at, before) = (entry.chain.len(), problems.len());
    let Value::Table(table) = &entry.value else { return };
    let types = (table.key_type(), table.value_type());
    let mut rows = table.rows().to_vec();
    if let Some(first) = add.first() {
        let problem = not_so(entry, first.span, "a list");
        problems.push(problem.help("add rows as a table: `add = { \"8 AWG\" = \"40 A\" }`"));
    }
    for literal in remove {
        match literal.clone().reread(types.0, symbols) {
            Ok(key) => match rows.iter().position(|row| row.key == key.scalar) {
                Some(at) => drop(rows.remove(at)),
                None => problems.push(no_row(entry, table, literal)),
            },
            Err(problem) => problems.push(problem.mark(first_span(entry), "the table")),
        }
    }
    for (key, value) in add_rows {
        match new_row(key, value, types, at, symbols) {
            Ok(new) => match rows.iter().find(|row| row.key == new.key) {
                Some(known) => problems.push(
                    Problem::new(key.span, format!("`{}` has a row `{}` already", entry.key, key.text))
                        .label("added again")
                        .mark(known.span, "there already")
                        .help("to change a row, write `row` and `value`"),
                ),
                None => rows.push(new),
            },
            Err(problem) => problems.push(problem.mark(first_span(entry), "the table")),
        }
    }
    if problems.len() == before {
        entry.value = Value::Table(table.with_rows(rows));
        entry.chain.push(step);
    }
}
