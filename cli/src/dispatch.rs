//! Which command runs what.

use crate::Status;
use crate::args::{Command, PaperTask, Ruleset, RulesetTask, Task};
use crate::commands::{
    Sink, code, compare, drill, fields, grade, inspect, loads, manual, meter, papers, propose, ruleset, schema, start,
    update, walk, watch,
};

/// Runs a command.
pub(crate) fn run(command: &Command, sink: &mut Sink<'_>) -> Status {
    let answer = match &command.task {
        Task::Inspect(args) if args.watch => return watch::inspect(&command.common, args, sink),
        Task::Inspect(args) => return inspect::run(&command.common, args, sink),
        Task::Start(args) => start::run(&command.common, args),
        Task::Propose(args) => propose::run(&command.common, args),
        Task::Update(args) => update::run(args),
        Task::Loads(args) => loads::run(&command.common, args),
        Task::Code(args) => code::run(&command.common, args),
        Task::Compare(args) => compare::run(&command.common, args),
        Task::Grade(args) => grade::run(&command.common, args),
        Task::Drill(args) => drill::run(&command.common, args),
        Task::Meter(args) => meter::run(&command.common, args),
        Task::Ruleset(Ruleset { task: RulesetTask::Try { which, watch: true } }) => {
            return watch::trials(&command.common, which, sink);
        }
        Task::Ruleset(args) => ruleset::run(&command.common, args),
        Task::Papers(PaperTask::Walk(args)) if !args.print => return walk::run(&command.common, args, sink),
        Task::Papers(task) => papers::run(&command.common, task),
        Task::Fields(args) => fields::run(&command.common, args),
        Task::Schema(args) => schema::run(&command.common, args),
        Task::Completions(args) => manual::completions(args),
        Task::Man(args) => manual::pages(args),
        Task::Lsp => return crate::lsp::serve(&command.common),
    };
    sink(&answer.out, &answer.err);
    answer.status
}
