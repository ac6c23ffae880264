//! Words that no part of an entry's name may be: after `code.` the rule language would not read them as names.

/// Words of the rule language and of the parser beneath it that are never names. A test of the rule language tries each of them.
pub(crate) const RESERVED: [&str; 42] = [
    "any",
    "as",
    "break",
    "call",
    "catch",
    "const",
    "continue",
    "count",
    "curry",
    "debug",
    "do",
    "else",
    "eval",
    "every",
    "export",
    "false",
    "fn",
    "for",
    "if",
    "import",
    "in",
    "is_def_var",
    "is_shared",
    "keep",
    "least",
    "let",
    "look",
    "loop",
    "most",
    "need",
    "print",
    "private",
    "return",
    "skip",
    "sum",
    "switch",
    "this",
    "throw",
    "true",
    "try",
    "type_of",
    "while",
];

/// Returns whether a word can't be part of an entry's name.
pub fn is_reserved(word: &str) -> bool {
    RESERVED.contains(&word)
}
