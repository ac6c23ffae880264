//! Puts every ruleset on the shelf.

use std::sync::Arc;

use super::shelf::{Names, Shelf};
use super::text::RulesetText;
use super::{facts_file, gather, references};
use crate::model::{Schema, Symbols};
use crate::problem::Problem;
use crate::source::Files;

impl Shelf {
    /// Reads the manifests of all rulesets, and what they declare of facts: [`Shelf::schema`] is `schema` with these. Of two with the same id, the one whose origin comes later stands in front of
    /// the other as a whole.
    pub fn read(schema: Arc<Schema>, sources: Vec<RulesetText>) -> Shelf {
        let mut files = Files::new();
        let mut symbols = Symbols::new();
        let gathered = gather::gather(sources, &schema, &mut files, &mut symbols);
        files.share();
        let (schema, facts) = facts_file::extend(schema, &gathered.rulesets);
        let mut shelf = Shelf {
            schema,
            files,
            symbols,
            names: Names::default(),
            by_id: gathered.rulesets.iter().enumerate().map(|(at, ruleset)| (ruleset.id.clone(), at)).collect(),
            contents: gathered.rulesets.iter().map(|_| None).collect(),
            rulesets: gathered.rulesets,
            books: Vec::new(),
            problems: Vec::new(),
            blame: Vec::new(),
        };
        let manifests = gathered
            .problems
            .into_iter()
            .chain(facts)
            .map(|(id, problem)| (id.and_then(|id| shelf.index(&id)), problem));
        let references = references::check(&shelf).into_iter().map(|(at, problem)| (Some(at), problem));
        let mut problems: Vec<(Option<usize>, Problem)> = manifests.chain(references).collect();
        problems.sort_by_key(|(_, problem)| problem.span);
        for (blame, problem) in problems {
            shelf.blame(blame, problem);
        }
        shelf
    }

    fn blame(&mut self, ruleset: Option<usize>, problem: Problem) {
        if let Some(ruleset) = ruleset.and_then(|at| self.rulesets.get_mut(at)) {
            ruleset.broken = true;
        }
        self.problems.push(problem);
        self.blame.push(ruleset);
    }
}
