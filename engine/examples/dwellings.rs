//! Writes generated dwellings as job files, for measuring batches: `cargo run --example dwellings -- FOLDER COUNT`.

#![allow(clippy::print_stderr, reason = "an example is a command")]

#[path = "../benches/common/dwelling.rs"]
mod dwelling;
#[path = "../benches/common/numbers.rs"]
mod numbers;

use std::process::ExitCode;

fn main() -> ExitCode {
    let mut arguments = std::env::args().skip(1);
    let (Some(folder), Some(Ok(count))) = (arguments.next(), arguments.next().map(|count| count.parse::<u64>())) else {
        eprintln!("give a folder and a number of dwellings");
        return ExitCode::FAILURE;
    };
    let written = std::fs::create_dir_all(&folder).and_then(|()| {
        (0..count).try_for_each(|number| {
            let path = std::path::Path::new(&folder).join(format!("house-{number:05}.toml"));
            std::fs::write(path, dwelling::dwelling(number))
        })
    });
    match written {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("`{folder}` can't be written: {error}");
            ExitCode::FAILURE
        }
    }
}
