//! Reads the header of what stands in a rule file: a rule, a shared condition, an exception to a rule of another ruleset.

use jiff::civil::Date;

use super::days;
use super::entry::Checked;
use super::fields::{Written, with_help};
use super::reserved::is_reserved;
use super::rule_lexer::{BlockEnd, Lexer, Token};
use super::sources::{DefineSource, ExceptionSource, RuleSource};
use crate::book::Weight;
use crate::model::{KindId, Schema, Stage};
use crate::problem::{Problem, did_you_mean};
use crate::source::{File, Span};

/// What may stand in a rule file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Form {
    Rule,
    Define,
    Exception,
}

impl Form {
    pub(super) const ALL: [(Form, &'static str); 3] =
        [(Form::Rule, "rule"), (Form::Define, "define"), (Form::Exception, "exception")];

    pub(super) fn of(word: &str) -> Option<Form> {
        Form::ALL.iter().find(|(_, known)| *known == word).map(|&(form, _)| form)
    }

    fn word(self) -> &'static str {
        match self {
            Form::Rule => "rule",
            Form::Define => "define",
            Form::Exception => "exception",
        }
    }

    /// Returns what it is called with its article.
    fn with_article(self) -> &'static str {
        match self {
            Form::Rule => "a rule",
            Form::Define => "a define",
            Form::Exception => "an exception",
        }
    }

    /// Returns the clauses of its header in the order in which they are written.
    fn clauses(self) -> &'static [&'static str] {
        match self {
            Form::Rule => &["on", "at", "cites", "checked", "weighs", "from", "until", "was", "replaces"],
            Form::Define => &["on", "cites", "checked"],
            Form::Exception => &["to", "cites", "checked", "from", "until"],
        }
    }

    /// Returns the clauses that must be there, with what to write.
    fn needed(self) -> &'static [(&'static str, &'static str)] {
        const CITES: (&str, &str) = ("cites", "write which requirement it is, such as `cites \"334.30\"`");
        const KIND: (&str, &str) = ("on", "write the kind of item it looks at, such as `on box`");
        match self {
            Form::Rule => {
                &[KIND, ("at", "write the stage from which on it can be checked, such as `at rough_in`"), CITES]
            }
            Form::Define => &[KIND, CITES],
            Form::Exception => {
                &[("to", "write the rule that it is an exception to, such as `to \"nm-secured-at-box\"`"), CITES]
            }
        }
    }

    /// Returns what its header begins with.
    fn first(self) -> &'static str {
        match self {
            Form::Rule => "a rule's id in quotes",
            Form::Define => "the name of this define",
            Form::Exception => "the name of this exception in quotes",
        }
    }
}

/// What was read.
pub(super) enum Read {
    Rule(RuleSource),
    Define(DefineSource),
    Exception(ExceptionSource),
}

/// Words that begin a statement: where one stands in a header, the `{` before it was forgotten.
const STATEMENTS: [&str; 10] =
    ["if", "keep", "need", "look", "skip", "let", "applies", "includes", "except", "presume"];

/// Where a header is read from, and where its errors go.
pub(super) struct Ground<'a, 'p> {
    pub(super) file: &'a File,
    pub(super) schema: &'a Schema,
    pub(super) ruleset: &'a str,
    pub(super) problems: &'p mut Vec<Problem>,
}

pub(super) struct Header<'a, 'p> {
    form: Form,
    ground: Ground<'a, 'p>,
    start: usize,
    /// The first word, for what is missing as long as nothing better is known.
    blame: Span,
    /// The id of a rule, the name of a define or an exception.
    name: Option<Written>,
    kind: Option<KindId>,
    stage: Option<Stage>,
    to: Option<Written>,
    cites: Option<String>,
    checked: Option<Checked>,
    weight: Weight,
    from: Option<(Date, Span)>,
    until: Option<(Date, Span)>,
    was: Vec<Written>,
    replaces: Option<Written>,
    seen: Vec<usize>,
    /// Whether a text that is not closed hides where the header goes on.
    cut: bool,
    /// Whether the header has a word that nobody knows.
    guessing: bool,
}

impl<'a, 'p> Header<'a, 'p> {
    /// Returns a reader of a header whose first word, which stands from `start` to `end`, has been passed.
    pub(super) fn new(form: Form, ground: Ground<'a, 'p>, start: usize, end: usize) -> Self {
        Header {
            form,
            blame: ground.file.span(start..end),
            ground,
            start,
            name: None,
            kind: None,
            stage: None,
            to: None,
            cites: None,
            checked: None,
            weight: Weight::Correction,
            from: None,
            until: None,
            was: Vec::new(),
            replaces: None,
            seen: Vec::new(),
            cut: false,
            guessing: false,
        }
    }

    fn span(&self, start: usize, end: usize) -> Span {
        self.ground.file.span(start..end)
    }

    fn error(&mut self, span: Span, message: impl Into<String>, label: &str, help: Option<String>) {
        self.ground.problems.push(with_help(Problem::new(span, message).label(label), help));
    }

    /// Returns what it is called in messages: ``rule `nm-secured-at-box` ``.
    fn called(&self) -> String {
        let word = self.form.word();
        self.name.as_ref().map_or_else(|| format!("this {word}"), |name| format!("{word} `{}`", name.text))
    }

    /// Reads the header and its block; nothing comes of one with errors.
    pub(super) fn read(&mut self, lexer: &mut Lexer<'_>, doc: String) -> Option<Read> {
        let before = self.ground.problems.len();
        self.name = match self.form {
            Form::Rule => self.rule_id(lexer, self.form.first()),
            Form::Define => self.plain_name(lexer),
            Form::Exception => self.quoted(lexer, self.form.first()),
        };
        if let Some(name) = &self.name {
            self.blame = name.span;
        }
        // A header that is cut short leaves the walk where the next thing begins.
        let open = self.clauses(lexer)?;
        // A word that nobody knows may be the clause that is missing.
        if !self.guessing {
            self.check_complete(&doc);
        }
        let end = match lexer.skip_block() {
            BlockEnd::Closed => lexer.at(),
            BlockEnd::FileEnd => {
                self.unclosed(open, None);
                return None;
            }
            BlockEnd::Next(next) => {
                lexer.go_to_with_guide(next);
                self.unclosed(open, Some(next));
                return None;
            }
        };
        let name = self.name.take()?;
        (self.ground.problems.len() == before).then_some(())?;
        self.made(name, doc, open, end)
    }

    fn made(&mut self, name: Written, doc: String, open: usize, end: usize) -> Option<Read> {
        let written = |start| self.ground.file.text().get(start..end).unwrap_or("");
        let content = super::content_hash::quick(written(self.start));
        let turns = if self.form == Form::Rule { days::turns_in_block(written(open)) } else { Vec::new() };
        let (text, body) = (self.span(self.start, end), self.span(open, end));
        let (ruleset, cites, checked) = (self.ground.ruleset.to_owned(), self.cites.take()?, self.checked);
        let (from, until) = (self.from.map(|(day, _)| day), self.until.map(|(day, _)| day));
        Some(match self.form {
            Form::Rule => Read::Rule(RuleSource {
                id: name.text,
                id_span: name.span,
                kind: self.kind?,
                stage: self.stage?,
                cites,
                checked,
                weight: self.weight,
                from,
                until,
                was: std::mem::take(&mut self.was),
                replaces: self.replaces.take(),
                doc,
                text,
                body,
                ruleset,
                content,
                turns,
            }),
            Form::Define => Read::Define(DefineSource {
                name: name.text,
                name_span: name.span,
                kind: self.kind?,
                cites,
                checked,
                doc,
                text,
                body,
                ruleset,
                content,
            }),
            Form::Exception => Read::Exception(ExceptionSource {
                name,
                rule: self.to.take()?,
                cites,
                checked,
                from,
                until,
                doc,
                text,
                body,
                ruleset,
                content,
            }),
        })
    }

    fn unclosed(&mut self, open: usize, next: Option<usize>) {
        let mut problem =
            Problem::new(self.span(open, open + 1), format!("the block of {} is not closed", self.called()))
                .label("opened here")
                .help("write the missing `}`");
        if let Some(next) = next {
            let rest = self.ground.file.text().get(next..).unwrap_or("");
            let indent = rest.len() - rest.trim_start().len();
            let word = rest.split_whitespace().next().unwrap_or("");
            let what = Form::of(word).unwrap_or(Form::Rule).word();
            let begins = next + indent;
            problem = problem.mark(self.span(begins, begins + word.len()), format!("the next {what} begins here"));
        }
        self.ground.problems.push(problem);
    }

    /// Reads clauses up to the `{`, whose place is returned.
    fn clauses(&mut self, lexer: &mut Lexer<'_>) -> Option<usize> {
        let clauses = self.form.clauses();
        while !self.cut {
            let (token, start) = lexer.token();
            let span = self.span(start, lexer.at());
            match token {
                Token::Open => return Some(start),
                Token::Word(word) => match clauses.iter().position(|clause| *clause == word) {
                    Some(clause) => {
                        self.in_order(clause, span);
                        self.clause(word, lexer);
                    }
                    None if Form::of(word).is_some() => {
                        self.no_block();
                        lexer.go_to_with_guide(start);
                        return None;
                    }
                    None if STATEMENTS.contains(&word) => {
                        self.no_block();
                        lexer.skip_to_next();
                        return None;
                    }
                    // One word too many brings others with it: the first is told.
                    None if self.guessing => {}
                    None => self.unknown_clause(word, span),
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
                    let after = if self.form == Form::Rule { "id" } else { "name" };
                    let help = format!("after the {after} come {}, then the block in braces", clauses.join(", "));
                    let message = format!("this does not belong in {}'s header", self.form.with_article());
                    self.error(span, message, "not expected", Some(help));
                }
            }
        }
        None
    }

    fn unknown_clause(&mut self, word: &str, span: Span) {
        self.guessing = true;
        let message = format!("{}'s header has no `{word}`", self.form.with_article());
        let elsewhere = Form::ALL.into_iter().find(|(form, _)| form.clauses().contains(&word));
        let clauses = self.form.clauses();
        let help = match elsewhere {
            Some((form, _)) => Some(format!(
                "`{word}` is for {}; here stand {}, in this order",
                form.with_article(),
                clauses.join(", ")
            )),
            None => did_you_mean(word, clauses.iter().copied()),
        };
        self.error(span, message, "unknown word", help);
    }

    fn no_block(&mut self) {
        self.error(
            self.blame,
            format!("this {} has no block", self.form.word()),
            "no `{` follows",
            Some(String::from("write `{ … }` after the header")),
        );
    }

    fn open_text(&mut self, span: Span) {
        self.error(span, "this text is not closed", "no second quote on this line", None);
        self.cut = true;
    }

    fn in_order(&mut self, clause: usize, span: Span) {
        let clauses = self.form.clauses();
        let word = clauses.get(clause).copied().unwrap_or_default();
        if self.seen.contains(&clause) {
            self.error(span, format!("`{word}` stands twice in this header"), "again", None);
        } else if let Some(later) = self.seen.iter().find(|seen| **seen > clause) {
            let later = clauses.get(*later).copied().unwrap_or_default();
            let help = format!("the order is {}", clauses.join(", "));
            self.error(span, format!("`{word}` stands before `{later}`"), "out of order", Some(help));
        }
        self.seen.push(clause);
    }

    fn clause(&mut self, clause: &str, lexer: &mut Lexer<'_>) {
        let schema = self.ground.schema;
        match clause {
            "on" => {
                let names: Vec<&'a str> = schema.kinds().map(|(_, spec)| spec.name).collect();
                self.kind = self.word(lexer, "kind of item", &names, |word| schema.kind(word));
            }
            "at" => self.stage = self.word(lexer, "stage", &Stage::ALL.map(|(_, word)| word), Stage::of),
            "to" => self.to = self.rule_id(lexer, "the rule's id in quotes"),
            "cites" => self.cites = self.quoted(lexer, "a citation in quotes").map(|written| written.text),
            "checked" => {
                self.checked = self.word(lexer, "way of checking", &Checked::ALL.map(|(_, word)| word), Checked::of);
            }
            "weighs" => {
                let weight = self.word(lexer, "weight", &Weight::ALL.map(|(_, word)| word), Weight::of);
                self.weight = weight.unwrap_or(self.weight);
            }
            "from" => self.from = self.day(lexer, "the first day in quotes"),
            "until" => self.until = self.day(lexer, "the last day in quotes"),
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
        let span = self.span(start, ahead.at());
        match token {
            // A clause's own word means that this clause's word was forgotten; `at` and `on` are no kinds or stages.
            Token::Word(word) if !self.form.clauses().contains(&word) => {
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
        let span = self.span(start, ahead.at());
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
            Token::Word(word) if !self.form.clauses().contains(&word) && Form::of(word).is_none() => {
                // A day or an id without quotes is one slip, not one for each of its parts.
                ahead.skip_joined();
                let span = self.span(start, ahead.at());
                *lexer = ahead;
                let text = self.ground.file.text().get(start..ahead.at()).unwrap_or(word);
                self.error(span, format!("`{text}` must stand in quotes"), "no quotes", None);
                None
            }
            _ => {
                self.error(span, format!("{what} is missing here"), "expected before this", None);
                None
            }
        }
    }

    /// Reads a day in quotes.
    fn day(&mut self, lexer: &mut Lexer<'_>, what: &str) -> Option<(Date, Span)> {
        let written = self.quoted(lexer, what)?;
        let day = written.text.parse().ok();
        if day.is_none() {
            let message = format!("`{}` is no day", written.text.escape_debug());
            let help = String::from("write year, month and day, such as `\"2023-01-31\"`");
            self.error(written.span, message, "not a day", Some(help));
        }
        day.map(|day| (day, written.span))
    }

    /// Reads the name of a define, which rules read like a field.
    fn plain_name(&mut self, lexer: &mut Lexer<'_>) -> Option<Written> {
        let mut ahead = *lexer;
        let (token, start) = ahead.token();
        let span = self.span(start, ahead.at());
        match token {
            Token::Word(word) if !Form::Define.clauses().contains(&word) => {
                *lexer = ahead;
                let fits = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
                let plain = word.starts_with(|c: char| c.is_ascii_lowercase()) && word.chars().all(fits);
                let help = if !plain {
                    "write small letters, digits and `_`, beginning with a letter, such as `serves_kitchen`"
                } else if is_reserved(word) {
                    "it is a word of the rule language; write another one"
                } else {
                    return Some(Written { text: word.to_owned(), span });
                };
                self.error(span, format!("`{word}` can't be the name of a define"), "not a name", Some(help.into()));
                None
            }
            Token::Text(text) => {
                *lexer = ahead;
                let help = format!("write `define {text} on …`: rules read it like a field");
                self.error(span, "the name of a define stands without quotes", "in quotes", Some(help));
                None
            }
            _ => {
                self.error(span, format!("{} is missing here", self.form.first()), "expected before this", None);
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

    fn check_complete(&mut self, doc: &str) {
        let called = self.called();
        for (clause, help) in self.form.needed() {
            let at = self.form.clauses().iter().position(|known| known == clause).unwrap_or_default();
            if !self.seen.contains(&at) {
                self.error(
                    self.blame,
                    format!("{called} has no `{clause}`"),
                    "missing in this header",
                    Some((*help).into()),
                );
            }
        }
        if let (Some((from, first)), Some((until, last))) = (self.from, self.until)
            && until < from
        {
            let message = format!("{called} ends on {until}, before it begins on {from}");
            self.ground.problems.push(Problem::new(last, message).label("last day").mark(first, "first day"));
        }
        // A correction without numbers says the first sentence of it: no message is ever empty.
        if !doc.contains(char::is_alphanumeric) {
            let help = match self.form {
                Form::Rule => "write above it, behind `///`, what it asks for in your own words: corrections say it",
                Form::Define | Form::Exception => {
                    "write above it, behind `///`, what it means in your own words: the book prints it"
                }
            };
            self.error(self.blame, format!("{called} has no guide text"), "no `///` line above", Some(help.into()));
        }
        if let (Form::Define, Some(name), Some(kind)) = (self.form, &self.name, self.kind)
            && self.ground.schema.field(kind, &name.text).is_some()
        {
            let kind = self.ground.schema.spec(kind).name;
            let message = format!("`{}` is a field of {kind} already", name.text);
            self.error(name.span, message, "a field's name", Some(String::from("give the define another name")));
        }
    }
}
