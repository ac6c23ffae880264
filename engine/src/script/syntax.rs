//! The surface of the rule language: a Rhai engine that parses rules and nothing else.
//!
//! Rhai parses; it never runs a rule here. Nothing is registered that a script could call, every statement that could run
//! for long or reach outside is refused by the parser already, and what is left is checked once more when a rule is lowered.

use std::cell::Cell;

use rhai::{Engine, EvalAltResult, ImmutableString, LexError, OptimizationLevel, ParseError, Position, Token};

/// Words of the rule language. No name of a rule may be one of them.
pub(super) const WORDS: [&str; 18] = [
    "rule", "applies", "includes", "except", "presume", "keep", "need", "look", "any", "every", "count", "sum",
    "least", "most", "nearest", "farthest", "distinct", "none",
];

/// Words that rules were written with before scope and exceptions were statements: told with what to write instead.
pub(super) const FORMER: &str = "skip";

/// Verbs between the two sides of a `keep`.
const VERBS: [&str; 5] = ["at_most", "at_least", "between", "equal_to", "one_of"];

/// What Rhai knows and a rule may not use: loops, functions, modules, exceptions, calls by name, output.
pub(super) const SHUT: [&str; 28] = [
    "loop",
    "while",
    "do",
    "for",
    "break",
    "continue",
    "return",
    "throw",
    "try",
    "catch",
    "fn",
    "private",
    "import",
    "export",
    "as",
    "global",
    "eval",
    "print",
    "debug",
    "switch",
    "const",
    "this",
    "Fn",
    "curry",
    "call",
    "type_of",
    "is_shared",
    "is_def_var",
];

/// Words that Rhai reserves for itself without using them. Here they are plain names, so that a field may be called `use`.
const FREE: [&str; 26] = [
    "use",
    "case",
    "async",
    "public",
    "package",
    "super",
    "var",
    "protected",
    "spawn",
    "shared",
    "is",
    "sync",
    "static",
    "default",
    "thread",
    "yield",
    "new",
    "match",
    "await",
    "null",
    "with",
    "void",
    "nil",
    "module",
    "go",
    "goto",
];

/// What marks a word of the language that stands behind a dot, so that Rhai takes it for the name that it is there.
const NAME: char = '\u{1}';

thread_local! {
    /// Whether the token before was a dot. Rhai reads the tokens of a text one after the other, on one thread.
    static AFTER_DOT: Cell<bool> = const { Cell::new(false) };
}

/// Returns a name behind a dot as it was written.
pub(super) fn name(parsed: &str) -> &str {
    parsed.strip_suffix(NAME).unwrap_or(parsed)
}

/// Returns whether Rhai knows a word that a rule may not use.
pub(super) fn is_shut(word: &str) -> bool {
    SHUT.contains(&word)
}

/// How deep expressions may nest.
pub(super) const DEPTH: usize = 64;

/// Longest text in a rule, in bytes.
pub(super) const TEXT: usize = 4096;

/// Longest rule, in bytes. It also keeps lines and columns within what Rhai's positions can count.
pub(super) const LONGEST_RULE: usize = 60_000;

/// Returns an engine that parses rules.
pub(super) fn engine() -> Engine {
    let mut engine = Engine::new_raw();
    restrict(&mut engine);
    register(&mut engine);
    engine
}

/// Shuts what a rule may not use and sets the limits.
pub(super) fn restrict(engine: &mut Engine) {
    // Without this the parser would fold `1 / 0` and the like before we have seen it.
    engine.set_optimization_level(OptimizationLevel::None);
    for word in SHUT {
        engine.disable_symbol(word);
    }
    engine.set_allow_looping(false).set_allow_anonymous_fn(false);
    engine.set_max_expr_depths(DEPTH, DEPTH);
    engine.set_max_string_size(TEXT).set_max_array_size(1000).set_max_map_size(100);
    engine.set_max_variables(200).set_max_functions(0).set_max_modules(0).set_max_call_levels(16);
    engine.set_max_operations(1_000_000);
    // Interning costs more than it saves when every rule is parsed once.
    engine.set_max_strings_interned(0);
    engine.on_print(|_| {}).on_debug(|_, _, _| {});
    #[expect(deprecated, reason = "marked so because it may change; the version of the crate is fixed")]
    engine.on_parse_token(|token, _, _| {
        let after_dot = AFTER_DOT.replace(token == Token::Period);
        match token {
            Token::Reserved(word) if FREE.contains(&word.as_str()) => Token::Identifier(word),
            // Means something behind `do` only, and is the last day of a permission.
            Token::Until => Token::Identifier(Box::new("until".into())),
            // Behind a dot a word of the language is a name: `code.alarm.least`.
            Token::Identifier(word) if after_dot && WORDS.contains(&word.as_str()) => {
                Token::Identifier(Box::new(format!("{word}{NAME}").into()))
            }
            token => token,
        }
    });
}

pub(super) type Parsed = Result<Option<ImmutableString>, ParseError>;

fn next(symbol: &str) -> Parsed {
    Ok(Some(symbol.into()))
}

fn refuse(found: &str, message: String) -> Parsed {
    Err(LexError::ImproperSymbol(found.to_owned(), message).into_err(Position::NONE))
}

/// What comes next in a statement or quantifier, from the symbols read so far and the one ahead.
pub(super) type Parser = fn(&[ImmutableString], &str) -> Parsed;

/// The statements and quantifiers, by their first word.
pub(super) const GRAMMAR: [(&str, Parser); 17] = [
    ("applies", applies),
    ("includes", includes),
    ("except", except),
    ("presume", presume),
    ("keep", keep),
    ("need", need),
    ("look", look),
    (FORMER, former),
    ("any", quantifier),
    ("every", quantifier),
    ("count", quantifier),
    ("sum", quantifier),
    ("least", quantifier),
    ("most", quantifier),
    ("nearest", quantifier),
    ("farthest", quantifier),
    ("distinct", quantifier),
];

/// Quantifiers that pick one of the members: there is none to pick in an empty list.
pub(super) const PICKS: [&str; 4] = ["least", "most", "nearest", "farthest"];

fn register(engine: &mut Engine) {
    for (word, parser) in GRAMMAR {
        engine.register_custom_syntax_with_state_raw(
            word,
            move |so_far, ahead, _| parser(so_far, ahead),
            true,
            move |_, _, _| Err(EvalAltResult::ErrorRuntime("rules run lowered".into(), Position::NONE).into()),
        );
    }
}

/// `need COND [else "…"]`
fn need(so_far: &[ImmutableString], ahead: &str) -> Parsed {
    match so_far.len() {
        1 => next("$expr$"),
        at => otherwise(at - 2, ahead),
    }
}

/// `look "…" [else "…"]`
fn look(so_far: &[ImmutableString], ahead: &str) -> Parsed {
    match so_far.len() {
        1 => next("$string$"),
        at => otherwise(at - 2, ahead),
    }
}

fn former(_: &[ImmutableString], _: &str) -> Parsed {
    Ok(None)
}

/// `applies where COND`
fn applies(so_far: &[ImmutableString], _: &str) -> Parsed {
    match so_far.len() {
        1 => next("where"),
        2 => next("$expr$"),
        _ => Ok(None),
    }
}

/// `includes existing work`, `includes faults of existing work`
fn includes(so_far: &[ImmutableString], ahead: &str) -> Parsed {
    let faults = so_far.get(1).is_some_and(|word| word == "faults");
    match so_far.len() {
        1 if ahead == "faults" => next("faults"),
        2 if faults => next("of"),
        1 | 3 if so_far.len() == 1 || faults => next("existing"),
        2 | 4 if so_far.len() == 2 || faults => next("work"),
        _ => Ok(None),
    }
}

/// `except "SECTION" [named "NAME"] [from "DAY"] [until "DAY"] where COND`
fn except(so_far: &[ImmutableString], ahead: &str) -> Parsed {
    // Keywords stand at even positions, what follows each at odd ones.
    let at = so_far.len();
    let keyword = |at: usize| so_far.get(at).map_or("", |word| word.as_str());
    match at {
        _ if at % 2 == 1 && at > 1 && keyword(at - 1) == "where" => next("$expr$"),
        _ if at % 2 == 1 => next("$string$"),
        _ if at > 2 && keyword(at - 2) == "where" => Ok(None),
        _ if matches!(ahead, "named" | "from" | "until") => next(ahead),
        _ => next("where"),
    }
}

/// `presume FIELD is VALUE because "SOURCE"`
fn presume(so_far: &[ImmutableString], _: &str) -> Parsed {
    match so_far.len() {
        1 | 3 => next("$expr$"),
        2 => next("is"),
        4 => next("because"),
        5 => next("$string$"),
        _ => Ok(None),
    }
}

/// `keep A at_most B [else "…"]`, `keep A between B and C [else "…"]`
fn keep(so_far: &[ImmutableString], ahead: &str) -> Parsed {
    let between = so_far.get(2).is_some_and(|verb| verb == "between");
    match so_far.len() {
        1 | 3 => next("$expr$"),
        2 if VERBS.contains(&ahead) => next(ahead),
        2 => {
            let near = crate::problem::nearest(ahead, VERBS).map(|verb| format!("; did you mean `{verb}`?"));
            let near = near.unwrap_or_default();
            refuse(
                ahead,
                format!("expected `at_most`, `at_least`, `between`, `equal_to` or `one_of`, found `{ahead}`{near}"),
            )
        }
        4 if between => next("and"),
        5 if between => next("$expr$"),
        at if between => otherwise(at - 6, ahead),
        at => otherwise(at - 4, ahead),
    }
}

/// `[else "…"]`, of which `at` symbols have been read.
fn otherwise(at: usize, ahead: &str) -> Parsed {
    match (at, ahead) {
        (0, "else") => next("else"),
        (1, _) => next("$string$"),
        _ => Ok(None),
    }
}

/// `any d in LIST [where COND]`, `count d in LIST [where COND]`, `sum d in LIST [where COND] of EXPR`,
/// `least d in LIST [where COND] of EXPR or VALUE`
fn quantifier(so_far: &[ImmutableString], ahead: &str) -> Parsed {
    let word = so_far.first().map_or("", |word| word.as_str());
    let takes = word == "sum" || word == "distinct" || PICKS.contains(&word);
    let last = so_far.iter().rev().find(|word| matches!(word.as_str(), "where" | "of" | "or"));
    match (so_far.len(), last.map_or("", |word| word.as_str())) {
        (1, _) => next("$ident$"),
        (2, _) => next("in"),
        (3, _) => next("$expr$"),
        (4, _) if word == "every" || ahead == "where" => next("where"),
        (4, _) if takes => next("of"),
        (5 | 7 | 9, _) => next("$expr$"),
        (6, "where") if takes => next("of"),
        (6 | 8, "of") if ahead == "or" && word != "distinct" => next("or"),
        _ => Ok(None),
    }
}
