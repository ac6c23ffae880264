//! `completions` and `man`: made from the command line's own description.

use clap::{Args, CommandFactory};
use clap_complete::Shell;

use crate::Answer;
use crate::args::Command;

/// Options of `completions`.
#[derive(Args, Debug)]
pub(crate) struct Completions {
    /// The shell
    #[arg(value_enum)]
    shell: Shell,
}

/// Options of `man`.
#[derive(Args, Debug)]
pub(crate) struct Man {
    /// The folder that the pages go into; it is made where it is not there
    #[arg(value_name = "DIR")]
    dir: String,
}

/// Prints the script of a shell.
pub(crate) fn completions(args: &Completions) -> Answer {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Command::command(), "storystick", &mut script);
    Answer::clean(String::from_utf8_lossy(&script).into_owned())
}

/// Writes the pages.
pub(crate) fn pages(args: &Man) -> Answer {
    let made =
        std::fs::create_dir_all(&args.dir).and_then(|()| clap_mangen::generate_to(Command::command(), &args.dir));
    match made {
        Ok(()) => Answer::clean(format!("{}\n", args.dir)),
        Err(error) => Answer::fault(format!("the pages can't be written into `{}`: {error}\n", args.dir)),
    }
}
