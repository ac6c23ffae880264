//! Finds the rules of a rule file by their headers, without parsing what they say: most rules of a run are never asked for.
//!
//! `rule "id" on KIND at STAGE cites "…" [checked WORD] [weighs WORD] [was "old-id", …] [replaces "id"] { … }`

use super::entry::Checked;
use super::fields::{Written, with_help};
use super::rule_lexer::{Between, BlockEnd, Lexer, Token};
use super::typeset;
use crate::book::Weight;
use crate::model::{KindId, Schema, Stage};
use crate::problem::{Problem, did_you_mean};
use crate::source::{File, Span};

/// A rule as its header describes it, with the place of its text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RuleSource {
    /// Its id: `nm-secured-at-box`.
    pub id: String,
    /// Where the id is written.
    pub id_span: Span,
    /// The kind of item it looks at.
    pub kind: KindId,
    /// The stage from which on it can be checked.
    pub stage: Stage,
    /// Citation.
    pub cites: String,
    /// How the requirement was checked, where the header says so; otherwise as its ruleset says.
    pub checked: Option<Checked>,
    /// Its weight, before any amendment.
    pub weight: Weight,
    /// Its earlier ids.
    pub was: Vec<Written>,
    /// The rule whose place it takes.
    pub replaces: Option<Written>,
    /// What is asked and why: the `///` lines above it.
    pub doc: String,
    /// The whole `rule … { … }`.
    pub text: Span,
    /// Its block, from `{` to `}`.
    pub body: Span,
    /// Id of its ruleset.
    pub ruleset: String,
    /// A number that differs when the text does.
    pub(super) content: u64,
}

/// Returns the rules of a file, in file order; every error of every header goes to `problems`.
pub(super) fn scan(file: &File, ruleset: &str, schema: &Schema, problems: &mut Vec<Problem>) -> Vec<RuleSource> {
    let mut rules = Vec::new();
    let mut guide: Vec<&str> = Vec::new();
    let mut lexer = Lexer::new(file.text());
    let plain = file.text().is_ascii();
    loop {
        match lexer.between() {
            Between::End => break,
            Between::Guide(line) => guide.push(line),
            Between::Code => {
                let doc = std::mem::take(&mut guide).join("\n").trim().to_owned();
                let start = lexer.at();
                let mut after = lexer;
                let typeset = if plain { Vec::new() } else { typeset::up_to_next_rule(file, &mut after) };
                if !typeset.is_empty() {
                    problems.extend(typeset);
                    lexer = after;
                } else if lexer.token().0 == Token::Word("rule") {
                    let mut header = Header::new(file, schema, problems, start, lexer.at());
                    rules.extend(header.read(&mut lexer, ruleset, doc));
                } else {
                    lexer.skip_to_rule();
                    let end = start + file.text().get(start..).and_then(|rest| rest.lines().next()).map_or(0, str::len);
                    let problem = Problem::new(file.span(start..end), "only rules and comments stand in a rule file");
                    problems.push(problem.label("no rule begins here").help(
                        "a rule begins with `rule \"its-id\" on KIND at STAGE cites \"…\" {`, a comment with `//`",
                    ));
                }
            }
        }
    }
    rules
}

/// The clauses of a header in the order in which they are written.
const CLAUSES: [&str; 7] = ["on", "at", "cites", "checked", "weighs", "was", "replaces"];
/// Words that begin a statement: where one stands in a header, the `{` before it was forgotten.
const STATEMENTS: [&str; 6] = ["if", "keep", "need", "look", "skip", "let"];

struct Header<'a, 'p> {
    file: &'a File,
    schema: &'a Schema,
    problems: &'p mut Vec<Problem>,
    start: usize,
    /// The word `rule`, for what is missing as long as nothing better is known.
    blame: Span,
    id: Option<Written>,
    kind: Option<KindId>,
    stage: Option<Stage>,
    cites: Option<String>,
    checked: Option<Checked>,
    weight: Weight,
    was: Vec<Written>,
    replaces: Option<Written>,
    seen: Vec<usize>,
    /// Whether a text that is not closed hides where the header goes on.
    cut: bool,
    /// Whether the header has a word that nobody knows.
    guessing: bool,
}

impl<'a, 'p> Header<'a, 'p> {
    fn new(file: &'a File, schema: &'a Schema, problems: &'p mut Vec<Problem>, start: usize, end: usize) -> Self {
        Header {
            file,
            schema,
            problems,
            start,
            blame: file.span(start..end),
            id: None,
            kind: None,
            stage: None,
            cites: None,
            checked: None,
            weight: Weight::Correction,
            was: Vec::new(),
            replaces: None,
            seen: Vec::new(),
            cut: false,
            guessing: false,
        }
    }

    fn error(&mut self, span: Span, message: impl Into<String>, label: &str, help: Option<String>) {
        self.problems.push(with_help(Problem::new(span, message).label(label), help));
    }

    /// Reads the header and its block; nothing comes of a rule with errors.
    fn read(&mut self, lexer: &mut Lexer<'_>, ruleset: &str, doc: String) -> Option<RuleSource> {
        let before = self.problems.len();
        self.id = self.rule_id(lexer, "a rule's id in quotes");
        if let Some(id) = &self.id {
            self.blame = id.span;
        }
        // A header that is cut short leaves the walk where the next thing begins.
        let open = self.clauses(lexer)?;
        // A word that nobody knows may be the clause that is missing.
        if !self.guessing {
            self.check_complete();
        }
        let end = match lexer.skip_block() {
            BlockEnd::Closed => lexer.at(),
            BlockEnd::FileEnd => {
                self.unclosed(open, None);
                return None;
            }
            BlockEnd::NextRule(next) => {
                lexer.go_to(next);
                self.unclosed(open, Some(self.file.span(next..next + "rule".len())));
                return None;
            }
        };
        let content = super::content_hash::quick(self.file.text().get(self.start..end).unwrap_or(""));
        let id = self.id.take()?;
        (self.problems.len() == before).then_some(())?;
        Some(RuleSource {
            id: id.text,
            id_span: id.span,
            kind: self.kind?,
            stage: self.stage?,
            cites: self.cites.take()?,
            checked: self.checked,
            weight: self.weight,
            was: std::mem::take(&mut self.was),
            replaces: self.replaces.take(),
            doc,
            text: self.file.span(self.start..end),
            body: self.file.span(open..end),
            ruleset: ruleset.to_owned(),
            content,
        })
    }

    fn unclosed(&mut self, open: usize, next: Option<Span>) {
        let name = self.id.as_ref().map_or(String::from("this rule"), |id| format!("rule `{}`", id.text));
        let mut problem = Problem::new(self.file.span(open..open + 1), format!("the block of {name} is not closed"))
            .label("opened here")
            .help("write the missing `}`");
        if let Some(next) = next {
            problem = problem.mark(next, "the next rule begins here");
        }
        self.problems.push(problem);
    }

    /// Reads clauses up to the `{`, whose place is returned.
    fn clauses(&mut self, lexer: &mut Lexer<'_>) -> Option<usize> {
        while !self.cut {
            let (token, start) = lexer.token();
            let span = self.file.span(start..lexer.at());
            match token {
                Token::Open => return Some(start),
                Token::Word(word) => match CLAUSES.iter().position(|clause| *clause == word) {
                    Some(clause) => {
                        self.in_order(clause, span);
                        self.clause(clause, lexer);
                    }
                    None if word == "rule" => {
                        self.no_block();
                        lexer.go_to(start);
                        return None;
                    }
                    None if STATEMENTS.contains(&word) => {
                        self.no_block();
                        lexer.skip_to_rule();
                        return None;
                    }
                    // One word too many brings others with it: the first is told.
                    None if self.guessing => {}
                    None => {
                        let help = did_you_mean(word, CLAUSES);
                        self.guessing = true;
                        self.error(span, format!("a rule's header has no `{word}`"), "unknown word", help);
                    }
                },
                Token::End => {
                    self.no_block();
                    return None;
                }
                Token::OpenText if self.guessing => self.cut = true,
                Token::OpenText => self.open_text(span),
                Token::Text(_) | Token::Comma | Token::Other if self.guessing => {}
                Token::Text(_) | Token::Comma | Token::Other => {
                    self.guessing = true;
                    let help = format!("after the id come {}, then the block in braces", CLAUSES.join(", "));
                    self.error(span, "this does not belong in a rule's header", "not expected", Some(help));
                }
            }
        }
        None
    }

    fn no_block(&mut self) {
        self.error(
            self.blame,
            "this rule has no block",
            "no `{` follows",
            Some(String::from("write `{ … }` after the header")),
        );
    }

    fn open_text(&mut self, span: Span) {
        self.error(span, "this text is not closed", "no second quote on this line", None);
        self.cut = true;
    }

    fn in_order(&mut self, clause: usize, span: Span) {
        let word = CLAUSES.get(clause).copied().unwrap_or_default();
        if self.seen.contains(&clause) {
            self.error(span, format!("`{word}` stands twice in this header"), "again", None);
        } else if let Some(later) = self.seen.iter().find(|seen| **seen > clause) {
            let later = CLAUSES.get(*later).copied().unwrap_or_default();
            let help = format!("the order is {}", CLAUSES.join(", "));
            self.error(span, format!("`{word}` stands before `{later}`"), "out of order", Some(help));
        }
        self.seen.push(clause);
    }

    fn clause(&mut self, clause: usize, lexer: &mut Lexer<'_>) {
        match CLAUSES.get(clause).copied().unwrap_or_default() {
            "on" => {
                let names: Vec<&'a str> = self.schema.kinds().map(|(_, spec)| spec.name).collect();
                let schema = self.schema;
                self.kind = self.word(lexer, "kind of item", &names, |word| schema.kind(word));
            }
            "at" => self.stage = self.word(lexer, "stage", &Stage::ALL.map(|(_, word)| word), Stage::of),
            "cites" => self.cites = self.quoted(lexer, "a citation in quotes").map(|written| written.text),
            "checked" => {
                self.checked = self.word(lexer, "way of checking", &Checked::ALL.map(|(_, word)| word), Checked::of);
            }
            "weighs" => {
                let weight = self.word(lexer, "weight", &Weight::ALL.map(|(_, word)| word), Weight::of);
                self.weight = weight.unwrap_or(self.weight);
            }
            "was" => loop {
                let old = self.rule_id(lexer, "an earlier id in quotes");
                self.was.extend(old);
                let mut ahead = *lexer;
                if ahead.token().0 != Token::Comma {
                    break;
                }
                *lexer = ahead;
            },
            _ => self.replaces = self.rule_id(lexer, "the replaced rule's id in quotes"),
        }
    }

    /// Reads a word that must be one of a few.
    fn word<T>(
        &mut self,
        lexer: &mut Lexer<'_>,
        what: &str,
        known: &[&str],
        of: impl Fn(&str) -> Option<T>,
    ) -> Option<T> {
        let mut ahead = *lexer;
        let (token, start) = ahead.token();
        let span = self.file.span(start..ahead.at());
        match token {
            // A clause's own word means that this clause's word was forgotten; `at` and `on` are no kinds or stages.
            Token::Word(word) if !CLAUSES.contains(&word) => {
                *lexer = ahead;
                let found = of(word);
                if found.is_none() {
                    let help = did_you_mean(word, known.iter().copied());
                    self.error(span, format!("there is no {what} `{word}`"), "unknown word", help);
                }
                found
            }
            _ => {
                let help = did_you_mean("", known.iter().copied());
                self.error(span, format!("a {what} is missing here"), "expected before this", help);
                None
            }
        }
    }

    /// Reads a text in quotes.
    fn quoted(&mut self, lexer: &mut Lexer<'_>, what: &str) -> Option<Written> {
        let mut ahead = *lexer;
        let (token, start) = ahead.token();
        let span = self.file.span(start..ahead.at());
        match token {
            Token::Text(text) => {
                *lexer = ahead;
                let text = text.trim().to_owned();
                if text.is_empty() {
                    self.error(span, format!("{what} may not be empty"), "nothing written", None);
                    return None;
                }
                Some(Written { text, span })
            }
            Token::OpenText => {
                *lexer = ahead;
                self.open_text(span);
                None
            }
            Token::Word(word) if !CLAUSES.contains(&word) && word != "rule" => {
                *lexer = ahead;
                self.error(span, format!("`{word}` must stand in quotes"), "no quotes", None);
                None
            }
            _ => {
                self.error(span, format!("{what} is missing here"), "expected before this", None);
                None
            }
        }
    }

    fn rule_id(&mut self, lexer: &mut Lexer<'_>, what: &str) -> Option<Written> {
        let written = self.quoted(lexer, what)?;
        let fits = |part: &str| !part.is_empty() && part.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit());
        if !written.text.split('-').all(fits) {
            let help = String::from("write small letters, digits and single `-`, such as `nm-secured-at-box`");
            self.error(
                written.span,
                format!("`{}` can't be a rule's id", written.text.escape_debug()),
                "not a plain id",
                Some(help),
            );
            return None;
        }
        // The quotes are not part of the id.
        let span = Span::new(written.span.start() + 1, written.span.len().saturating_sub(2));
        Some(Written { span, ..written })
    }

    fn check_complete(&mut self) {
        let name = self.id.as_ref().map_or(String::from("this rule"), |id| format!("rule `{}`", id.text));
        for (clause, help) in [
            ("on", "write the kind of item it looks at, such as `on box`"),
            ("at", "write the stage from which on it can be checked, such as `at rough_in`"),
            ("cites", "write which requirement it is, such as `cites \"334.30\"`"),
        ] {
            let at = CLAUSES.iter().position(|known| *known == clause).unwrap_or_default();
            if !self.seen.contains(&at) {
                self.error(
                    self.blame,
                    format!("{name} has no `{clause}`"),
                    "missing in this header",
                    Some(help.into()),
                );
            }
        }
    }
}
