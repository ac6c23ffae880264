//! Small changes of a rule's text, each of which would be another rule: what a ruleset's trials ought to notice.
//!
//! They are made on the text and not on the lowered plan, so that each can be shown as its author would have written it, at its
//! line, and goes through every check of the compiler: a change that is no rule of the language is not made.

use std::collections::HashMap;
use std::ops::Range;

use super::place::token_length;

/// What sort of change was made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ChangeSort {
    /// A line that says whom the rule concerns was left out.
    Scope,
    /// An exception was left out.
    Exception,
    /// A presumption was left out.
    Presumption,
    /// One side of an `&&` or `||` was left out.
    Operand,
    /// A condition was turned round.
    Condition,
    /// `<` and `<=`, `>` and `>=`, `==` and `!=` changed places.
    Comparison,
    /// `at_most` and `at_least` changed places.
    Verb,
    /// What stands exactly at its limit fails.
    Limit,
    /// A value of the code was moved by one step.
    Value,
    /// A member of a list of the code was left out.
    Member,
    /// A row of a table of the code was moved by one step.
    Row,
}

impl ChangeSort {
    /// All sorts, in the order in which they are told.
    pub const ALL: [ChangeSort; 11] = [
        ChangeSort::Scope,
        ChangeSort::Exception,
        ChangeSort::Presumption,
        ChangeSort::Operand,
        ChangeSort::Condition,
        ChangeSort::Comparison,
        ChangeSort::Verb,
        ChangeSort::Limit,
        ChangeSort::Value,
        ChangeSort::Member,
        ChangeSort::Row,
    ];

    /// Returns what the sort is called.
    pub fn says(self) -> &'static str {
        match self {
            ChangeSort::Scope => "scope line left out",
            ChangeSort::Exception => "exception left out",
            ChangeSort::Presumption => "presumption left out",
            ChangeSort::Operand => "side of && or || left out",
            ChangeSort::Condition => "condition turned round",
            ChangeSort::Comparison => "comparison changed",
            ChangeSort::Verb => "verb turned round",
            ChangeSort::Limit => "value at its limit fails",
            ChangeSort::Value => "value one step off",
            ChangeSort::Member => "list member left out",
            ChangeSort::Row => "table row one step off",
        }
    }

    /// Returns the word of the sort in machine-readable results.
    pub fn word(self) -> &'static str {
        match self {
            ChangeSort::Scope => "scope",
            ChangeSort::Exception => "exception",
            ChangeSort::Presumption => "presumption",
            ChangeSort::Operand => "operand",
            ChangeSort::Condition => "condition",
            ChangeSort::Comparison => "comparison",
            ChangeSort::Verb => "verb",
            ChangeSort::Limit => "limit",
            ChangeSort::Value => "value",
            ChangeSort::Member => "member",
            ChangeSort::Row => "row",
        }
    }
}

/// A change of a rule's block.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TextChange {
    /// Of what sort.
    pub sort: ChangeSort,
    /// What is done, in words; no two changes of a rule have the same.
    pub says: String,
    /// The part of the block that is changed.
    pub at: Range<usize>,
    /// What stands there instead.
    pub instead: String,
}

impl TextChange {
    /// Returns the block with the change made.
    pub fn made(&self, block: &str) -> String {
        let (before, after) = (block.get(..self.at.start), block.get(self.at.end..));
        format!("{}{}{}", before.unwrap_or(""), self.instead, after.unwrap_or(""))
    }
}

/// An exception as a rule's block names it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NamedException {
    /// Its name: the section, unless it has one of its own.
    pub name: String,
    /// Its section.
    pub section: String,
    /// The place of its section in the block.
    pub at: Range<usize>,
}

/// Returns every change of a rule's block, in the order of their places.
pub fn changes(block: &str) -> Vec<TextChange> {
    let mut maker = Maker { text: block, tokens: tokens(block), made: Vec::new() };
    let end = maker.tokens.len();
    maker.statements(0, end);
    let mut made = maker.made;
    made.sort_by(|a, b| (a.at.start, a.at.end, a.sort, &a.instead).cmp(&(b.at.start, b.at.end, b.sort, &b.instead)));
    made.dedup_by(|a, b| a.at == b.at && a.instead == b.instead);
    let mut known: HashMap<String, usize> = HashMap::new();
    for change in &mut made {
        let times = known.entry(change.says.clone()).or_default();
        *times += 1;
        if *times > 1 {
            change.says = format!("{} ({times})", change.says);
        }
    }
    made
}

/// Returns the exceptions that a rule's block names, in the order of their places.
pub fn exceptions(block: &str) -> Vec<NamedException> {
    let maker = Maker { text: block, tokens: tokens(block), made: Vec::new() };
    let mut found = Vec::new();
    for at in 0..maker.tokens.len() {
        let quoted = |at: usize| maker.word(at).strip_prefix('"').and_then(|word| word.strip_suffix('"'));
        let begins = at == 0 || matches!(maker.word(at - 1), "{" | "}" | ";");
        let ("except", true, Some(section)) = (maker.word(at), begins, quoted(at + 1)) else { continue };
        let own = if maker.word(at + 2) == "named" { quoted(at + 3) } else { None };
        let place = maker.tokens.get(at + 1).cloned().unwrap_or(0..0);
        found.push(NamedException { name: own.unwrap_or(section).to_owned(), section: section.to_owned(), at: place });
    }
    found
}

/// Takes a block apart; blanks and comments are left out.
fn tokens(text: &str) -> Vec<Range<usize>> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(rest) = text.get(at..).filter(|rest| !rest.is_empty()) {
        let blank = rest.len() - rest.trim_start().len();
        if blank > 0 {
            at += blank;
        } else if rest.starts_with("//") {
            at += rest.find('\n').unwrap_or(rest.len());
        } else if rest.starts_with("/*") {
            at += rest.find("*/").map_or(rest.len(), |end| end + 2);
        } else {
            let length = token_length(rest).max(1);
            found.push(at..at + length);
            at += length;
        }
    }
    found
}

/// The words between the two sides of a `keep`.
const VERBS: [&str; 5] = ["at_most", "at_least", "between", "equal_to", "one_of"];

struct Maker<'t> {
    text: &'t str,
    tokens: Vec<Range<usize>>,
    made: Vec<TextChange>,
}

impl Maker<'_> {
    fn word(&self, at: usize) -> &str {
        self.tokens.get(at).and_then(|token| self.text.get(token.clone())).unwrap_or("")
    }

    /// Returns the place of some tokens.
    fn place(&self, from: usize, to: usize) -> Range<usize> {
        match (self.tokens.get(from), self.tokens.get(to.saturating_sub(1))) {
            (Some(first), Some(last)) if from < to => first.start..last.end,
            (Some(first), _) => first.start..first.start,
            _ => self.text.len()..self.text.len(),
        }
    }

    /// Returns the text of some tokens on one line.
    fn said(&self, from: usize, to: usize) -> String {
        let text = self.text.get(self.place(from, to)).unwrap_or("");
        text.lines()
            .map(|line| line.split("//").next().unwrap_or("").trim())
            .collect::<Vec<_>>()
            .join(" ")
            .trim()
            .into()
    }

    fn as_written(&self, from: usize, to: usize) -> String {
        self.text.get(self.place(from, to)).unwrap_or("").to_owned()
    }

    fn change(&mut self, sort: ChangeSort, tokens: Range<usize>, instead: String, says: String) {
        let at = self.place(tokens.start, tokens.end);
        self.made.push(TextChange { sort, says, at, instead });
    }

    /// Returns the bracket that closes the one at a place, or the end.
    fn closing(&self, open: usize, end: usize) -> usize {
        let mut depth = 0usize;
        for at in open..end {
            match self.word(at) {
                "(" | "[" | "{" => depth += 1,
                ")" | "]" | "}" => {
                    depth = depth.saturating_sub(1);
                    if depth == 0 {
                        return at;
                    }
                }
                _ => {}
            }
        }
        end
    }

    /// Returns the first of some tokens outside of brackets that is asked for, or the end.
    fn find(&self, from: usize, end: usize, wanted: impl Fn(&Self, usize) -> bool) -> usize {
        let mut at = from;
        while at < end {
            if wanted(self, at) {
                return at;
            }
            at = match self.word(at) {
                "(" | "[" | "{" => self.closing(at, end) + 1,
                _ => at + 1,
            };
        }
        end
    }

    fn find_word(&self, from: usize, end: usize, word: &str) -> usize {
        self.find(from, end, |maker, at| maker.word(at) == word)
    }

    fn statements(&mut self, from: usize, end: usize) {
        let mut at = from;
        while at < end {
            let word = self.word(at).to_owned();
            at = match word.as_str() {
                "{" => {
                    let close = self.closing(at, end);
                    self.statements(at + 1, close);
                    close + 1
                }
                "if" => self.when(at, end),
                _ => {
                    let close = self.find_word(at, end, ";");
                    self.statement(&word, at, close);
                    close + 1
                }
            };
        }
    }

    /// Makes the changes of an `if` and returns what comes behind it.
    fn when(&mut self, at: usize, end: usize) -> usize {
        let open = self.find_word(at + 1, end, "{");
        let close = self.closing(open, end);
        self.condition(at + 1, open);
        let has_else = self.word(close + 1) == "else";
        let only_skip = self.said(open, close + 1).replace([' ', ';'], "") == "{skip}";
        if !has_else {
            let line = self.said(at, open);
            if only_skip {
                self.change(ChangeSort::Scope, at..close + 1, String::new(), format!("without `{line} {{ skip; }}`"));
            } else {
                self.change(ChangeSort::Condition, at..open, String::new(), format!("always, without `{line}`"));
            }
        }
        self.statements(open + 1, close);
        if !has_else {
            return close + 1;
        }
        if self.word(close + 2) == "if" {
            return self.when(close + 2, end);
        }
        let last = self.closing(close + 2, end);
        self.statements(close + 3, last);
        last + 1
    }

    /// Makes the changes of a statement that ends before the token `close`.
    fn statement(&mut self, word: &str, at: usize, close: usize) {
        let line = self.said(at, close);
        let whole = at..close + 1;
        match word {
            "applies" | "except" => {
                let sort = if word == "except" { ChangeSort::Exception } else { ChangeSort::Scope };
                self.change(sort, whole, String::new(), format!("without `{line};`"));
                let condition = self.find_word(at, close, "where") + 1;
                self.condition(condition, close);
            }
            "presume" => self.change(ChangeSort::Presumption, whole, String::new(), format!("without `{line};`")),
            "let" => {
                let value = self.find_word(at, close, "=") + 1;
                self.group(value, close);
            }
            "need" => {
                let to = self.before_advice(at + 1, close);
                self.condition(at + 1, to);
            }
            "keep" => self.keep(at, close),
            "look" | "includes" | "skip" => {}
            // What a shared condition or an exception of its own comes to.
            _ if self.word(close) != ";" => self.condition(at, close),
            _ => {}
        }
    }

    /// Returns where the advice of a check begins, or its end.
    fn before_advice(&self, from: usize, close: usize) -> usize {
        self.find(from, close, |maker, at| maker.word(at) == "else" && maker.word(at + 1).starts_with(['"', '`']))
    }

    fn keep(&mut self, at: usize, close: usize) {
        let to = self.before_advice(at + 1, close);
        let verb_at = self.find(at + 1, to, |maker, at| VERBS.contains(&maker.word(at)));
        let verb = self.word(verb_at).to_owned();
        self.group(at + 1, verb_at);
        let and = if verb == "between" { self.find_word(verb_at, to, "and") } else { to };
        self.group(verb_at + 1, and);
        if and < to {
            self.group(and + 1, to);
        }
        let (found, limit) = (self.as_written(at + 1, verb_at), self.as_written(verb_at + 1, and));
        let line = self.said(at, to);
        let mut strict = |part: &str, instead: String| {
            self.change(ChangeSort::Limit, at..to, instead, format!("`{line}` fails {part}"));
        };
        match verb.as_str() {
            "at_most" => strict("at the limit itself", format!("need ({found}) < ({limit})")),
            "at_least" => strict("at the limit itself", format!("need ({found}) > ({limit})")),
            "between" => {
                let upper = self.as_written(and + 1, to);
                let mut strict = |part: &str, instead: String| {
                    self.change(ChangeSort::Limit, at..to, instead, format!("`{line}` fails {part}"));
                };
                strict("at the lower limit itself", format!("need ({found}) > ({limit}) && ({found}) <= ({upper})"));
                strict("at the upper limit itself", format!("need ({found}) >= ({limit}) && ({found}) < ({upper})"));
            }
            _ => {}
        }
        let turned = match verb.as_str() {
            "at_most" => "at_least",
            "at_least" => "at_most",
            _ => return,
        };
        self.change(ChangeSort::Verb, verb_at..verb_at + 1, turned.into(), format!("`{line}` with `{turned}`"));
    }

    /// Makes the changes of a condition: it is turned round, and then all of an expression.
    fn condition(&mut self, from: usize, to: usize) {
        self.group(from, to);
        // The other way round of an equation is a change of its operator.
        let parted = |maker: &Self, at: usize| {
            matches!(maker.word(at), "&&" | "||" | "any" | "every" | "count" | "sum" | "least" | "most" | "where")
        };
        let simple = self.find(from, to, parted) >= to;
        let equation = self.find(from, to, |maker, at| matches!(maker.word(at), "==" | "!=")) < to;
        if from < to && !(simple && equation) && self.said(from, to) != "true" {
            let (written, said) = (self.as_written(from, to), self.said(from, to));
            let (instead, says) = (format!("!({written})"), format!("the opposite of `{said}`"));
            self.change(ChangeSort::Condition, from..to, instead, says);
        }
    }

    /// Makes the changes inside an expression.
    fn group(&mut self, from: usize, to: usize) {
        if from >= to {
            return;
        }
        // What a quantifier asks goes on to the end of what it stands in, or to what it adds up.
        let inner = self.find(from, to, |maker, at| maker.word(at) == "where");
        let (mut ors, mut ands) = (vec![from], vec![(from, from)]);
        let mut at = from;
        while at < inner {
            match self.word(at) {
                "(" | "[" | "{" => {
                    let close = self.closing(at, inner);
                    self.parts(at + 1, close);
                    at = close;
                }
                "if" => {
                    let open = self.find_word(at, inner, "{");
                    self.condition(at + 1, open);
                    at = open - 1;
                }
                "||" => {
                    ors.push(at + 1);
                    ands.push((at + 1, at + 1));
                }
                "&&" => {
                    let or = ors.last().copied().unwrap_or(from);
                    ands.push((or, at + 1));
                }
                _ => {}
            }
            at += 1;
        }
        if inner < to {
            let of = self.find(inner + 1, to, |maker, at| matches!(maker.word(at), "of" | "or"));
            self.condition(inner + 1, of);
            if of < to {
                self.group(of + 1, to);
            }
        }
        self.leave_out(&ors, "||", to);
        for chain in ands.chunk_by(|a, b| a.0 == b.0) {
            let starts: Vec<usize> = chain.iter().map(|(_, start)| *start).collect();
            let or = chain.first().map_or(from, |(or, _)| *or);
            let next = ors.iter().find(|start| **start > or).map_or(to, |start| start - 1);
            self.leave_out(&starts, "&&", next);
        }
        let ends: Vec<usize> = ands.iter().map(|(_, start)| *start).collect();
        for at in from..inner {
            self.comparison(at, &ends, to);
        }
    }

    /// Makes the changes of what stands in brackets, part by part.
    fn parts(&mut self, from: usize, to: usize) {
        let mut start = from;
        while start < to {
            let comma = self.find(start, to, |maker, at| matches!(maker.word(at), "," | ";"));
            self.group(start, comma);
            start = comma + 1;
        }
    }

    /// Leaves out each of two or more operands, which begin at `starts` and end before `end`.
    fn leave_out(&mut self, starts: &[usize], operator: &str, end: usize) {
        if starts.len() < 2 {
            return;
        }
        for (nth, &start) in starts.iter().enumerate() {
            let next = starts.get(nth + 1).copied();
            let stop = next.map_or(end, |next| next - 1);
            let said = self.said(start, stop);
            // The operator behind the first goes with it, and that before any other one.
            let (tokens, says) = match next {
                Some(next) if nth == 0 => (start..next, format!("without `{said} {operator}`")),
                _ => (start - 1..stop, format!("without `{operator} {said}`")),
            };
            self.change(ChangeSort::Operand, tokens, String::new(), says);
        }
    }

    /// Changes the comparison at a token outside of brackets, if there is one.
    fn comparison(&mut self, at: usize, starts: &[usize], end: usize) {
        let turned = match self.word(at) {
            "<" => "<=",
            "<=" => "<",
            ">" => ">=",
            ">=" => ">",
            "==" => "!=",
            "!=" => "==",
            _ => return,
        };
        // Those in brackets were changed with what else stands there.
        let start = starts.iter().copied().rfind(|start| *start <= at).unwrap_or(at);
        if self.find(start, at + 1, |_, found| found == at) != at {
            return;
        }
        let stop = self.find(at + 1, end, |maker, at| matches!(maker.word(at), "&&" | "||"));
        let said = self.said(start, stop);
        self.change(ChangeSort::Comparison, at..at + 1, turned.into(), format!("`{said}` with `{turned}`"));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn made(block: &str) -> Vec<(ChangeSort, String)> {
        changes(block).iter().map(|change| (change.sort, change.made(block))).collect()
    }

    fn has(block: &str, sort: ChangeSort, instead: &str) {
        let all = made(block);
        assert!(all.contains(&(sort, instead.into())), "no {instead}\n{all:#?}");
    }

    #[test]
    fn scope_and_exceptions_go_and_are_turned_round() {
        let block = r#"{ applies where a.x in code.l; except "1(A)" named "n" where a.y; keep a.z at_most code.m; }"#;
        has(block, ChangeSort::Scope, r#"{  except "1(A)" named "n" where a.y; keep a.z at_most code.m; }"#);
        has(block, ChangeSort::Exception, r#"{ applies where a.x in code.l;  keep a.z at_most code.m; }"#);
        has(
            block,
            ChangeSort::Condition,
            r#"{ applies where !(a.x in code.l); except "1(A)" named "n" where a.y; keep a.z at_most code.m; }"#,
        );
        let old = "{ if a.x && a.y { skip; } need a.z; }";
        has(old, ChangeSort::Scope, "{  need a.z; }");
        has(old, ChangeSort::Operand, "{ if a.x { skip; } need a.z; }".replace("a.x {", "a.x  {").as_str());
        has(old, ChangeSort::Condition, "{ if !(a.x && a.y) { skip; } need a.z; }");
    }

    #[test]
    fn every_operand_is_left_out_once_and_with_its_operator() {
        let block = "{ need a || b && (c || d) || e; }";
        let all: Vec<String> =
            made(block).into_iter().filter(|(sort, _)| *sort == ChangeSort::Operand).map(|(_, text)| text).collect();
        assert_eq!(
            all,
            [
                "{ need b && (c || d) || e; }".replace("need b", "need  b"),
                "{ need a  || e; }".into(),
                "{ need a || (c || d) || e; }".replace("|| (c", "||  (c"),
                "{ need a || b  || e; }".into(),
                "{ need a || b && ( d) || e; }".into(),
                "{ need a || b && (c ) || e; }".into(),
                "{ need a || b && (c || d) ; }".into(),
            ]
        );
    }

    #[test]
    fn a_quantifier_keeps_its_condition() {
        let block = "{ need a.x && any d in a.list where d.y < code.n && d.z; }";
        has(block, ChangeSort::Operand, "{ need a.x && any d in a.list where  d.z; }");
        has(block, ChangeSort::Operand, "{ need a.x ; }");
        has(block, ChangeSort::Comparison, "{ need a.x && any d in a.list where d.y <= code.n && d.z; }");
        has(block, ChangeSort::Condition, "{ need a.x && any d in a.list where !(d.y < code.n && d.z); }");
    }

    #[test]
    fn verbs_are_turned_and_limits_become_strict() {
        let block = r#"{ keep a.x at_most code.n + code.m else "move"; }"#;
        has(block, ChangeSort::Verb, r#"{ keep a.x at_least code.n + code.m else "move"; }"#);
        has(block, ChangeSort::Limit, r#"{ need (a.x) < (code.n + code.m) else "move"; }"#);
        let block = "{ keep a.x between code.n and code.m; }";
        has(block, ChangeSort::Limit, "{ need (a.x) > (code.n) && (a.x) <= (code.m); }");
        has(block, ChangeSort::Limit, "{ need (a.x) >= (code.n) && (a.x) < (code.m); }");
    }

    #[test]
    fn the_condition_that_a_block_comes_to_is_changed_too() {
        let block = "{ presume a.x is true because \"s\"; a.x && a.y > code.n }";
        has(block, ChangeSort::Operand, "{ presume a.x is true because \"s\"; a.x  }");
        has(block, ChangeSort::Comparison, "{ presume a.x is true because \"s\"; a.x && a.y >= code.n }");
        has(block, ChangeSort::Presumption, "{  a.x && a.y > code.n }");
    }

    #[test]
    fn an_equation_is_not_turned_round_twice() {
        let all = made("{ need a.x == \"a && b\"; }");
        assert_eq!(all, [(ChangeSort::Comparison, "{ need a.x != \"a && b\"; }".into())]);
    }

    #[test]
    fn no_two_changes_are_called_the_same() {
        let all = changes("{ if a.x { need a.y < 1; } else { need a.y < 1; } }");
        let mut says: Vec<&str> = all.iter().map(|change| change.says.as_str()).collect();
        assert!(says.contains(&"`a.y < 1` with `<=` (2)"), "{says:?}");
        says.sort_unstable();
        says.dedup();
        assert_eq!(says.len(), all.len());
    }

    #[test]
    fn exceptions_have_names() {
        let block = "{ applies where a.x; except \"1(B)\" where a.y; except \"2\" named \"two\" where a.z; need a.w; }";
        let names: Vec<(String, String)> = exceptions(block).into_iter().map(|e| (e.name, e.section)).collect();
        assert_eq!(names, [("1(B)".into(), "1(B)".into()), ("two".into(), "2".into())]);
        assert!(exceptions("{ need a.except; }").is_empty());
    }
}
