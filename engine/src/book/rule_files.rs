//! Finds what stands in a rule file by its headers, without parsing what it says: most rules of a run are never asked for.
//!
//! ```text
//! rule "id" on KIND at STAGE cites "…" [checked WORD] [weighs WORD] [from "DAY"] [until "DAY"] [was "old-id", …] [replaces "id"] { … }
//! define NAME on KIND cites "…" [checked WORD] { … }
//! exception "NAME" to "RULE-ID" cites "…" [checked WORD] [from "DAY"] [until "DAY"] { … }
//! ```

use super::header::{Form, Ground, Header, Read};
use super::rule_lexer::{Between, Lexer, Token};
use super::sources::{DefineSource, ExceptionSource, RuleSource};
use super::typeset;
use crate::model::Schema;
use crate::problem::{Problem, nearest};
use crate::source::File;

/// What stands in a rule file, each in file order.
#[derive(Debug, Default)]
pub(super) struct RuleFile {
    pub(super) rules: Vec<RuleSource>,
    pub(super) defines: Vec<DefineSource>,
    pub(super) exceptions: Vec<ExceptionSource>,
}

/// Returns what stands in a file; every error of every header goes to `problems`.
pub(super) fn scan(file: &File, ruleset: &str, schema: &Schema, problems: &mut Vec<Problem>) -> RuleFile {
    let mut found = RuleFile::default();
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
                let typeset = if plain { Vec::new() } else { typeset::up_to_next(file, &mut after) };
                if !typeset.is_empty() {
                    problems.extend(typeset);
                    lexer = after;
                    continue;
                }
                let first = lexer.token().0;
                let form = if let Token::Word(word) = first { Form::of(word) } else { None };
                let Some(form) = form else {
                    lexer.skip_to_next();
                    problems.push(stray(file, start, &first));
                    continue;
                };
                let ground = Ground { file, schema, ruleset, problems };
                match Header::new(form, ground, start, lexer.at()).read(&mut lexer, doc) {
                    Some(Read::Rule(rule)) => found.rules.push(rule),
                    Some(Read::Define(define)) => found.defines.push(define),
                    Some(Read::Exception(exception)) => found.exceptions.push(exception),
                    None => {}
                }
            }
        }
    }
    found
}

/// Returns the problem of a line that begins nothing that a rule file may hold.
fn stray(file: &File, start: usize, first: &Token<'_>) -> Problem {
    let end = start + file.text().get(start..).and_then(|rest| rest.lines().next()).map_or(0, str::len);
    let problem =
        Problem::new(file.span(start..end), "only rules, defines, exceptions and comments stand in a rule file")
            .label("none of them begins here");
    let meant = match first {
        Token::Word(word) => nearest(word, Form::ALL.iter().map(|(_, known)| *known)),
        _ => None,
    };
    problem.help(match meant {
        Some(word) => format!("did you mean `{word}`?"),
        None => String::from(
            "a rule begins with `rule \"its-id\" on KIND at STAGE cites \"…\" {`, a shared condition with `define NAME on KIND \
             cites \"…\" {`, an exception with `exception \"NAME\" to \"RULE-ID\" cites \"…\" {`, a comment with `//`",
        ),
    })
}
