//! The command `storystick`: arguments in, text out. No rule of any code is known here.

mod args;
mod commands;
mod dispatch;
mod edit;
mod lsp;
mod record;
mod render;
mod statuses;
mod teach;
mod world;

use std::io::Write;
use std::process::ExitCode;

use render::wrap::{width, wrap};

/// A dwelling is read and told in some ten thousand small pieces.
#[global_allocator]
static MEMORY: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// How a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Status {
    /// Nothing to correct.
    Clean = 0,
    /// Corrections found.
    Corrections = 1,
    /// The input or the rulesets are at fault.
    Fault = 2,
}

/// What a command has to say.
#[derive(Debug)]
pub(crate) struct Answer {
    /// For standard output.
    pub(crate) out: String,
    /// For standard error.
    pub(crate) err: String,
    /// How it ended.
    pub(crate) status: Status,
}

impl Answer {
    /// Returns an answer that is a fault and nothing else. Lines that nobody has laid out are broken to the terminal.
    pub(crate) fn fault(err: impl Into<String>) -> Answer {
        let columns = world::columns();
        let broken = |line: &str| {
            let laid_out = line.starts_with(' ') || width(line) <= columns;
            if laid_out { format!("{line}\n") } else { wrap(line, columns, "") }
        };
        Answer { out: String::new(), err: err.into().lines().map(broken).collect(), status: Status::Fault }
    }

    /// Returns a clean answer.
    pub(crate) fn clean(out: impl Into<String>) -> Answer {
        Answer { out: out.into(), err: String::new(), status: Status::Clean }
    }
}

fn main() -> ExitCode {
    let command = statuses::read();
    let status = dispatch::run(&command, &mut |out, err| {
        // A reader that closed the pipe has seen enough: that is no failure.
        let _ = std::io::stderr().lock().write_all(err.as_bytes());
        let mut stdout = std::io::stdout().lock();
        stdout.write_all(out.as_bytes()).and_then(|()| stdout.flush()).is_ok()
    });
    // Everything is written: ending here spares freeing what the system takes back anyway.
    let _ = std::io::stdout().lock().flush();
    leave(status)
}

#[allow(
    clippy::exit,
    reason = "the one place where the process ends; freeing the parsed rules one by one would cost milliseconds"
)]
fn leave(status: Status) -> ExitCode {
    std::process::exit(status as i32)
}
