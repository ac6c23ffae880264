//! The surface of the rule language: a Rhai engine that parses rules and nothing else.
//!
//! Rhai parses; it never runs a rule here. Nothing is registered that a script could call, every statement that could run
//! for long or reach outside is refused by the parser already, and what is left is checked once more when a rule is lowered.

use std::cell::Cell;

use rhai::{Engine, EvalAltResult, ImmutableString, LexError, OptimizationLevel, ParseError, Position, Token};

/// Words of the rule language. No name of a rule may be one of them.
pub(super) const WORDS: [&str; 11] =
    ["rule", "keep", "need", "look", "skip", "any", "every", "count", "sum", "least", "most"];

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
pub(super) const GRAMMAR: [(&str, Parser); 10] = [
    ("keep", keep),
    ("need", need),
    ("look", look),
    ("skip", skip),
    ("any", quantifier),
    ("every", quantifier),
    ("count", quantifier),
    ("sum", quantifier),
    ("least", quantifier),
    ("most", quantifier),
];

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

fn skip(_: &[ImmutableString], _: &str) -> Parsed {
    Ok(None)
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

/// `any d in LIST where COND`, `count d in LIST [where COND]`, `sum d in LIST [where COND] of EXPR`
fn quantifier(so_far: &[ImmutableString], ahead: &str) -> Parsed {
    let word = so_far.first().map_or("", |word| word.as_str());
    match (so_far.len(), word) {
        (1, _) => next("$ident$"),
        (2, _) => next("in"),
        (3 | 5 | 7, _) => next("$expr$"),
        (4, "any" | "every") => next("where"),
        (4, _) if ahead == "where" => next("where"),
        (4, "sum" | "least" | "most") => next("of"),
        (6, "sum" | "least" | "most") if so_far.get(4).is_some_and(|word| word == "where") => next("of"),
        _ => Ok(None),
    }
}
