//! `completions` and `man`: made from the command line's own description.

use clap::Args;
use clap_complete::Shell;

use crate::Answer;
use crate::statuses::documented;

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
    clap_complete::generate(args.shell, &mut documented(), "storystick", &mut script);
    Answer::clean(String::from_utf8_lossy(&script).into_owned())
}

/// Writes the pages.
pub(crate) fn pages(args: &Man) -> Answer {
    let made = std::fs::create_dir_all(&args.dir).and_then(|()| clap_mangen::generate_to(documented(), &args.dir));
    match made {
        Ok(()) => Answer::clean(format!("{}\n", args.dir)),
        Err(error) => {
            let said = crate::world::plain(&error);
            Answer::fault(format!("the pages can't be written into `{}`: {said}\n", args.dir))
        }
    }
}
