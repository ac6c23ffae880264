//! Runs the command as a user would: in a folder of its own, with nothing of the tester's own settings.

mod little;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::atomic::{AtomicUsize, Ordering};

use serde_json::Value;

pub(crate) use little::{EDITION_RULES, JOB};

/// A folder that goes away with the test.
#[derive(Debug)]
pub(crate) struct Folder {
    path: PathBuf,
}

/// What a run printed and how it ended.
#[derive(Debug)]
pub(crate) struct Ran {
    pub(crate) out: String,
    pub(crate) err: String,
    pub(crate) status: i32,
}

impl Folder {
    /// Returns an empty folder.
    pub(crate) fn empty() -> Folder {
        static NEXT: AtomicUsize = AtomicUsize::new(0);
        let name = format!("command-{}-{}", std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed));
        let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
        fs::create_dir_all(&path).unwrap();
        Folder { path }
    }

    /// Returns a folder with the little rulesets in `book/` and the little job as `job.toml`.
    pub(crate) fn little() -> Folder {
        let folder = Folder::empty();
        for (path, text) in little::RULESETS {
            folder.write(&format!("book/{path}"), text);
        }
        folder.write("job.toml", JOB);
        folder
    }

    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    pub(crate) fn write(&self, name: &str, text: &str) {
        let path = self.path.join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    pub(crate) fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path.join(name)).unwrap()
    }

    /// Writes at the end of a file.
    pub(crate) fn append(&self, name: &str, text: &str) {
        self.write(name, &format!("{}{text}", self.read(name)));
    }

    /// Changes a file; what is to be replaced must be there exactly once.
    pub(crate) fn change(&self, name: &str, from: &str, to: &str) {
        let text = self.read(name);
        assert_eq!(text.matches(from).count(), 1, "`{from}` in {name}");
        self.write(name, &text.replace(from, to));
    }

    /// Returns the command in this folder, on a terminal of 80 columns, with none of the tester's settings.
    pub(crate) fn command(&self) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_storystick"));
        command.current_dir(&self.path).env("HOME", &self.path).env("COLUMNS", "80").stdin(Stdio::null());
        for name in ["NO_COLOR", "XDG_CONFIG_HOME", "APPDATA", "STORYSTICK_RULESETS", "CLICOLOR_FORCE"] {
            command.env_remove(name);
        }
        command
    }

    /// Runs the command with words parted by blanks.
    pub(crate) fn run(&self, words: &str) -> Ran {
        ran(self.command().args(words.split_whitespace()).output().unwrap())
    }

    /// Inspects `job.toml` against the little rulesets on a fixed day.
    pub(crate) fn inspect(&self, words: &str) -> Ran {
        self.run(&format!("inspect job.toml --rulesets book --on 2023-06-01 {words}"))
    }

    /// Inspects as [`Folder::inspect`] does and returns the JSON of the one job.
    pub(crate) fn job(&self, words: &str) -> Value {
        self.inspect(&format!("--format json {words}")).json()["jobs"][0].clone()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.path);
    }
}

pub(crate) fn ran(output: Output) -> Ran {
    Ran {
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
        status: output.status.code().expect("the command ends by itself"),
    }
}

impl Ran {
    /// Returns standard output as JSON.
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error}\n{}\n{}", self.out, self.err))
    }

    /// Fails unless standard error has a text, and nothing came of it.
    pub(crate) fn refused(&self, says: &str) {
        assert_eq!(self.status, 2, "{self:?}");
        assert!(flat(&self.err).contains(says), "`{says}` is not in:\n{}", self.err);
    }
}

/// Returns a text without its line breaks and frames, to look for sentences in it.
pub(crate) fn flat(text: &str) -> String {
    text.replace(['│', '╰', '╭', '─'], " ").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Returns the findings of a job with this outcome as `rule item`.
pub(crate) fn found(job: &Value, outcome: &str) -> Vec<String> {
    let findings = job["findings"].as_array().unwrap();
    let of = findings.iter().filter(|finding| finding["outcome"] == outcome);
    of.map(|finding| format!("{} {}", finding["rule"].as_str().unwrap(), finding["item"].as_str().unwrap())).collect()
}

/// Returns the folder of the project's examples.
pub(crate) fn examples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples").canonicalize().unwrap()
}
