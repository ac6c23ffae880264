//! The book of a ruleset as plain data: what it says, on whose word, and what that looks like on a job.

pub(crate) mod html;
pub(crate) mod markdown;

use jiff::civil::Date;
use storystick_engine::book::{
    Amendment, Book, Change, Checked, Contents, Literal, NewValue, RuleSource, Ruleset, Shelf,
};
use storystick_engine::script::{Check, ExistingWork, Outline, Rule, Verb};
use storystick_engine::source::Files;
use storystick_engine::trial::Example;

/// What stands behind a value or a rule.
#[derive(Debug)]
pub(crate) struct Word {
    /// Citation.
    pub(crate) cites: String,
    /// Where it was read; empty where that is the source of the whole ruleset.
    pub(crate) source: String,
    /// How it was checked, in words; what is not verified says so.
    pub(crate) checked: String,
    /// Whether it is verified.
    pub(crate) verified: bool,
    /// A remark.
    pub(crate) note: String,
}

/// An entry.
#[derive(Debug)]
pub(crate) struct EntryText {
    /// Name.
    pub(crate) key: String,
    /// Value of a scalar, members of a list.
    pub(crate) value: String,
    /// Rows of a table.
    pub(crate) rows: Vec<(String, String)>,
    /// Since and until when.
    pub(crate) when: String,
    /// What stands behind it.
    pub(crate) word: Word,
}

/// An amendment.
#[derive(Debug)]
pub(crate) struct AmendmentText {
    /// What it changes, in words.
    pub(crate) says: String,
    /// Since and until when, under which editions.
    pub(crate) when: String,
    /// What stands behind it.
    pub(crate) word: Word,
}

/// A rule.
#[derive(Debug)]
pub(crate) struct RuleText {
    /// Id.
    pub(crate) id: String,
    /// Guide text.
    pub(crate) doc: String,
    /// Kind, stage and weight in words.
    pub(crate) head: String,
    /// What each check asks, and what to do where it fails.
    pub(crate) asks: Vec<(String, String)>,
    /// Its trials: name, and what comes of it.
    pub(crate) examples: Vec<(String, String)>,
    /// What stands behind it.
    pub(crate) word: Word,
}

/// The book of a ruleset.
#[derive(Debug)]
pub(crate) struct Pages {
    /// Id.
    pub(crate) id: String,
    /// Title.
    pub(crate) title: String,
    /// What it is, version, review, source.
    pub(crate) facts: Vec<(String, String)>,
    /// Why it is a draft.
    pub(crate) draft: Option<String>,
    /// Adoptions in words.
    pub(crate) adoptions: Vec<String>,
    /// Amendments.
    pub(crate) amendments: Vec<AmendmentText>,
    /// Entries.
    pub(crate) entries: Vec<EntryText>,
    /// Shared conditions.
    pub(crate) defines: Vec<AmendmentText>,
    /// Rules.
    pub(crate) rules: Vec<RuleText>,
}

impl Pages {
    /// Gathers the book of a ruleset; `compiled` are its rules, in their order, where they can be used.
    pub(crate) fn of(
        ruleset: &Ruleset,
        contents: &Contents,
        compiled: &[Option<Rule>],
        book: Option<&Book>,
        examples: &[Example],
        shelf: &Shelf,
    ) -> Pages {
        let mut facts = vec![
            (String::from("What it is"), format!("{}, version {}", ruleset.kind.word(), ruleset.version)),
            (String::from("Source"), ruleset.source.clone()),
        ];
        let reviewed = ruleset.reviewed.map_or_else(|| String::from("not reviewed"), |day| day.to_string());
        facts.push((String::from("Last reviewed"), reviewed));
        for (name, other) in [("Lies within", &ruleset.within), ("Follows", &ruleset.follows)] {
            facts.extend(other.as_ref().map(|other| (String::from(name), other.text.clone())));
        }
        let adoptions = ruleset.adopts.iter().map(|adoption| {
            let until = adoption.until.map_or_else(String::new, |day| format!(" until {day}"));
            let only = if adoption.if_accessible { ", where accessibility is asked for" } else { "" };
            format!("{} from {}{until}{only} ({})", adoption.ruleset.text, adoption.from, adoption.cites)
        });
        let word = |cites: &str, source: &str, checked: Checked, note: Option<&str>| Word {
            cites: cites.to_owned(),
            source: if source == ruleset.source { String::new() } else { source.to_owned() },
            checked: checked_words(checked),
            verified: checked.is_verified(),
            note: note.unwrap_or_default().to_owned(),
        };
        let entries = contents.entries.iter().map(|entry| {
            let (value, mut rows) = value_of(&entry.value);
            for (key, _) in &mut rows {
                key.insert_str(0, entry.matching.before_key());
            }
            let word = word(entry.cites(), entry.source(), entry.checked(), entry.note());
            EntryText { key: entry.key.clone(), value, rows, when: days(entry.from, entry.until), word }
        });
        let amendments = contents.amends.iter().map(|amendment| AmendmentText {
            says: change(&amendment.change),
            when: when(amendment),
            word: word(amendment.cites(), amendment.source(), amendment.checked(), None),
        });
        let checked = |own: Option<Checked>| own.or(ruleset.checked).unwrap_or(Checked::Memory);
        let exceptions = contents.exceptions.iter().map(|added| AmendmentText {
            says: format!("rule {} has the exception {}: {}", added.rule.text, added.name.text, one_line(&added.doc)),
            when: days(added.from, added.until),
            word: word(&added.cites, &ruleset.source, checked(added.checked), None),
        });
        let defines = contents.defines.iter().map(|define| AmendmentText {
            says: format!(
                "{}.{}: {} In words: {}",
                shelf.schema().spec(define.kind).name,
                define.name,
                one_line(&define.doc),
                with_values(&in_words(shelf.files().text(define.body).trim_matches(['{', '}', ' ', '\n'])), book)
            ),
            when: String::new(),
            word: word(&define.cites, &ruleset.source, checked(define.checked), None),
        });
        let rules = contents.rules.iter().enumerate().map(|(at, rule)| {
            let of_rule = compiled.get(at).and_then(Option::as_ref);
            RuleText {
                id: rule.id.clone(),
                doc: rule.doc.clone(),
                head: head(rule, shelf),
                asks: of_rule.map(|rule| says(rule, shelf.files(), book)).unwrap_or_default(),
                examples: examples.iter().filter(|example| example.rule == rule.id).map(example_words).collect(),
                word: word(&rule.cites, &ruleset.source, ruleset.checked_rule(rule), None),
            }
        });
        Pages {
            id: ruleset.id.clone(),
            title: ruleset.title.clone(),
            facts,
            draft: ruleset.draft.clone(),
            adoptions: adoptions.collect(),
            amendments: amendments.chain(exceptions).collect(),
            defines: defines.collect(),
            entries: entries.collect(),
            rules: rules.collect(),
        }
    }
}

fn checked_words(checked: Checked) -> String {
    let words = match checked {
        Checked::LawText => "read in the law",
        Checked::OfficialPage => "read on a page of the authority",
        Checked::Secondary => "NOT VERIFIED: read elsewhere than in the law",
        Checked::Memory => "NOT VERIFIED: from memory",
    };
    words.to_owned()
}

fn texts(list: &[Literal]) -> String {
    list.iter().map(|literal| literal.text.as_str()).collect::<Vec<_>>().join(", ")
}

fn value_of(value: &NewValue) -> (String, Vec<(String, String)>) {
    match value {
        NewValue::Scalar(literal) => (literal.text.clone(), Vec::new()),
        NewValue::List(members, _) => (texts(members), Vec::new()),
        NewValue::Rows(rows, _) => {
            (String::new(), rows.iter().map(|(key, value)| (key.text.clone(), value.text.clone())).collect())
        }
    }
}

fn change(change: &Change) -> String {
    match change {
        Change::Entry { entry, value } => {
            let (text, rows) = value_of(value);
            let rows: Vec<String> = rows.iter().map(|(key, value)| format!("{key}: {value}")).collect();
            format!("{} is {text}{}", entry.text, rows.join("; "))
        }
        Change::Row { entry, key, value } => format!("{} for {} is {}", entry.text, key.text, value.text),
        Change::Members { entry, add, add_rows, remove } => {
            let rows: Vec<String> =
                add_rows.iter().map(|(key, value)| format!("{}: {}", key.text, value.text)).collect();
            let parts = [("with", texts(add)), ("with", rows.join("; ")), ("without", texts(remove))];
            let parts: Vec<String> = parts
                .iter()
                .filter(|(_, text)| !text.is_empty())
                .map(|(word, text)| format!("{word} {text}"))
                .collect();
            format!("{}: {}", entry.text, parts.join(", "))
        }
        Change::Omit { rule } => format!("rule {} does not hold here", rule.text),
        Change::OmitException { rule, exception } => {
            format!("rule {} holds without its exception {}", rule.text, exception.text)
        }
        Change::Reweigh { rule, weight } => format!("rule {} weighs {}", rule.text, weight.word()),
    }
}

fn when(amendment: &Amendment) -> String {
    let editions: Vec<&str> = amendment.editions.iter().map(|edition| edition.text.as_str()).collect();
    let under = if editions.is_empty() { String::new() } else { format!("under {}", editions.join(", ")) };
    format!("{} {under}", days(amendment.from, amendment.until)).trim().to_owned()
}

/// Returns since and until when something holds; nothing where it always does.
fn days(from: Option<Date>, until: Option<Date>) -> String {
    let from = from.map_or_else(String::new, |day| format!("from {day} "));
    let until = until.map_or_else(String::new, |day| format!("until {day}"));
    format!("{from}{until}").trim_end().to_owned()
}

/// Returns a guide text in one line.
fn one_line(doc: &str) -> String {
    doc.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn head(rule: &RuleSource, shelf: &Shelf) -> String {
    let kind = shelf.schema().spec(rule.kind).name.replace('_', " ");
    let stage = rule.stage.word().replace('_', " ");
    let replaces = rule.replaces.as_ref().map_or_else(String::new, |other| format!(", in place of {}", other.text));
    let days = days(rule.from, rule.until);
    let days = if days.is_empty() { days } else { format!("; in force {days}") };
    format!("looks at every {kind}, from {stage} on; weighs {}{replaces}{days}", rule.weight.word())
}

/// Returns what a rule says, statement by statement: whom it concerns, its exceptions with their sections, what must hold.
fn says(rule: &Rule, files: &Files, book: Option<&Book>) -> Vec<(String, String)> {
    let text = |span| with_values(&in_words(files.text(span)), book);
    let checks = rule.checks();
    let mut cases: Vec<String> = Vec::new();
    let mut lines = Vec::new();
    for part in rule.outline() {
        let case = if cases.is_empty() { String::new() } else { format!("{}: ", cases.join("; ")) };
        match part {
            Outline::Presume(at) => {
                let Some(presumed) = rule.presumptions().get(*at) else { continue };
                let written = one_line(files.text(presumed.span));
                let says =
                    written.split(" because ").next().unwrap_or(&written).trim_start_matches("presume ").to_owned();
                let says = with_values(&in_words(&says), book);
                lines.push((
                    format!("presumed unless the job says otherwise: {says} ({})", presumed.because),
                    String::new(),
                ));
            }
            Outline::Let(name, span) => {
                lines.push((format!("{case}{} = {}", name.replace('_', " "), text(*span)), String::new()))
            }
            Outline::Includes(existing) => lines.push((
                String::from(match existing {
                    ExistingWork::Faults => "faults of existing work that are recorded count too",
                    _ => "holds for existing work too",
                }),
                String::new(),
            )),
            Outline::Applies(span) => lines.push((format!("applies where {}", text(*span)), String::new())),
            Outline::Except(at, span) => {
                let Some(exception) = checks.get(usize::from(*at)).and_then(|check| check.exception.as_ref()) else {
                    continue;
                };
                let days = days(exception.from, exception.until);
                let days = if days.is_empty() { days } else { format!(", {days}") };
                let by = exception.added_by.as_ref().map_or_else(String::new, |by| format!(", added by {by}"));
                lines.push((format!("except ({}{days}{by}) where {}", exception.section, text(*span)), String::new()));
            }
            Outline::If(span) => cases.push(format!("where {}", text(*span))),
            Outline::Else => {
                if let Some(last) = cases.last_mut() {
                    *last = String::from("otherwise");
                }
            }
            Outline::EndIf => drop(cases.pop()),
            Outline::Check(at) => {
                let Some(check) = checks.get(usize::from(*at)) else { continue };
                let (asks, fix) = asks(check, files, book);
                lines.push((format!("{case}{asks}"), fix));
            }
        }
    }
    lines
}

/// Returns a condition as it is read aloud: signs become words, texts in quotes stay as they are.
fn in_words(written: &str) -> String {
    let flat = one_line(written);
    let mut out = String::new();
    for (at, part) in flat.split('"').enumerate() {
        if at % 2 == 1 {
            out.push_str(&part.replace('_', " "));
            continue;
        }
        let part =
            part.replace(" && ", " and ").replace(" || ", " or ").replace(" == ", " is ").replace(" != ", " is not ");
        let part = part.replace(" <= ", " is at most ").replace(" >= ", " is at least ");
        let part = part.replace(" < ", " is less than ").replace(" > ", " is more than ");
        out.push_str(&part.replace("!(", "not (").replace('!', "not "));
    }
    out
}

/// Returns what a check asks in words, with the values that its entries have, and what to do where it fails.
fn asks(check: &Check, files: &Files, book: Option<&Book>) -> (String, String) {
    let fix = check.fix.clone().unwrap_or_default();
    if let Some(look) = &check.look {
        return (format!("look: {look}"), fix);
    }
    let written = files.text(check.span);
    let words: String = written.split_whitespace().collect::<Vec<_>>().join(" ");
    let words = words.strip_prefix("keep ").or_else(|| words.strip_prefix("need ")).unwrap_or(&words);
    let words = words.split(" else \"").next().unwrap_or(words).trim_end_matches(';').trim_end();
    let verb = check.verb.word();
    let words = words.replacen(&format!(" {verb} "), &format!(" {} ", verb.replace('_', " ")), 1);
    let lead = if check.verb == Verb::Need { "needed: " } else { "must hold: " };
    (format!("{lead}{}", with_values(&in_words(&words), book)), fix)
}

/// Puts behind every `code.x.y` of a text the value that it has.
fn with_values(text: &str, book: Option<&Book>) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(at) = rest.find("code.") {
        let (before, behind) = rest.split_at(at);
        out.push_str(before);
        let end = behind.find(|c: char| !c.is_ascii_alphanumeric() && c != '_' && c != '.').unwrap_or(behind.len());
        let (name, after) = behind.split_at(end);
        let key = name.trim_start_matches("code.");
        out.push_str(key);
        let value = book.and_then(|book| Some(book.shown(book.get(key)?))).and_then(|shown| shown.value);
        if let Some(value) = value {
            out.push_str(&format!(" ({value})"));
        }
        rest = after;
    }
    out.push_str(rest);
    out
}

fn example_words(example: &Example) -> (String, String) {
    let found = example.found.as_ref().map_or_else(String::new, |found| format!(", found {found}"));
    (example.name.clone(), format!("{}{found}", example.expected.word().replace('_', " ")))
}
