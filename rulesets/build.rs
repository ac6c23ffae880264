//! Lists every text file of the shipped rulesets, so that the crate can carry them.

use std::error::Error;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs, io};

/// Folders and files of this package that are no rulesets.
const NOT_RULESETS: [&str; 4] = ["src", "target", "Cargo.toml", "build.rs"];

fn main() -> Result<(), Box<dyn Error>> {
    let root = PathBuf::from(env::var("CARGO_MANIFEST_DIR")?);
    let mut files = Vec::new();
    // A new file anywhere changes its folder, so that watching folders and files finds every change.
    watch(&root);
    for path in sorted(&root)? {
        let name = path.file_name().and_then(|name| name.to_str()).unwrap_or("");
        if path.is_dir() && !name.starts_with('.') && !NOT_RULESETS.contains(&name) {
            collect(&path, name, &mut files)?;
        }
    }
    files.sort();
    let mut code = format!(
        "/// The path of every file below the folder of rulesets, written with `/`, and its text: {} files, sorted by path.\npub const FILES: &[(&str, &str)] = &[\n",
        files.len()
    );
    for (name, path) in &files {
        writeln!(code, "    ({name:?}, include_str!({:?})),", path.to_str().ok_or("a path is not UTF-8")?)?;
    }
    code.push_str("];\n");
    fs::write(Path::new(&env::var("OUT_DIR")?).join("files.rs"), code)?;
    Ok(())
}

/// Collects the ruleset files below a folder, each with its path below the root, written with `/`.
fn collect(folder: &Path, name: &str, files: &mut Vec<(String, PathBuf)>) -> io::Result<()> {
    watch(folder);
    for path in sorted(folder)? {
        let Some(own) = path.file_name().and_then(|own| own.to_str()) else { continue };
        if own.starts_with('.') {
            continue;
        }
        let name = format!("{name}/{own}");
        if path.is_dir() {
            collect(&path, &name, files)?;
        } else if own.ends_with(".toml") || own.ends_with(".rhai") {
            watch(&path);
            files.push((name, path));
        }
    }
    Ok(())
}

fn sorted(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut paths: Vec<PathBuf> = fs::read_dir(folder)?.map(|entry| Ok(entry?.path())).collect::<io::Result<_>>()?;
    paths.sort();
    Ok(paths)
}

#[expect(clippy::print_stdout, reason = "this is how a build script speaks to cargo")]
fn watch(path: &Path) {
    println!("cargo::rerun-if-changed={}", path.display());
}
