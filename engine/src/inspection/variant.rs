//! A code that differs from one in force in a single thing: another text of a rule, or another value of an entry.

use std::sync::Arc;

use super::code::{Code, Compiled};
use crate::book::{Book, RuleSource};
use crate::model::Symbols;
use crate::problem::Problem;
use crate::script::{Compiler, Rule};
use crate::source::{Files, Span};

impl Code {
    /// Returns a code with this book and this one rule in force, compiled as it is here or as it is given.
    pub(crate) fn only(&self, id: &str, book: &Arc<Book>, changed: Option<&Rule>) -> Option<Code> {
        let compiled = self.rules.iter().find(|compiled| compiled.in_force.source.id == id)?;
        Some(Code {
            book: Arc::clone(book),
            stage: self.stage,
            rules: vec![compiled.again(changed.map(|rule| rule.bind(book)))],
            files: self.files.clone(),
            symbols: Arc::clone(&self.symbols),
        })
    }

    /// Compiles a rule of this code with another block in place of one: its own, or that of a shared condition or an added exception.
    ///
    /// # Errors
    /// What keeps it from being a rule of the language.
    pub(crate) fn compile_changed(
        &self,
        compiler: &Compiler,
        source: &RuleSource,
        changed: Span,
        block: &str,
    ) -> Result<Rule, Vec<Problem>> {
        let mut files = self.files.clone();
        let name = format!("{}, changed", source.id);
        let file = files.add(name, block.to_owned());
        let file = file.map_err(|error| vec![Problem::new(source.id_span, error.to_string())])?;
        let at = file.span(0..file.text().len());
        if changed == source.body {
            let mut source = source.clone();
            source.body = at;
            return compile_anew(compiler, &files, &source, &self.book, &self.symbols);
        }
        compile_anew(compiler, &files, source, &self.book.with_block(changed, at), &self.symbols)
    }
}

/// Compiles a rule against a book, whether or not another book has brought that about already.
pub(crate) fn compile_anew(
    compiler: &Compiler,
    files: &Files,
    source: &RuleSource,
    book: &Book,
    symbols: &Arc<Symbols>,
) -> Result<Rule, Vec<Problem>> {
    compiler.compile(files, source, book, &mut Symbols::on(Arc::clone(symbols)))
}

impl Compiled {
    /// Returns the rule once more, to be bound to another book, or as it is bound.
    fn again(&self, bound: Option<crate::script::Bound>) -> Compiled {
        let again = Compiled::new(self.in_force.clone(), self.lazy());
        if let Some(bound) = bound {
            again.bind_to(bound);
        }
        again
    }
}
