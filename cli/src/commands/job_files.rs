//! Which files a command is to read.

use storystick_engine::world::World;

use crate::world::Machine;

/// Returns the job files among files and folders. In a folder, a job file is a TOML file that says its `format`.
pub(crate) fn job_files(given: &[String]) -> Result<Vec<String>, String> {
    let world = Machine;
    let mut paths = Vec::new();
    for path in given {
        if !std::path::Path::new(path).is_dir() {
            paths.push(path.clone());
            continue;
        }
        let before = paths.len();
        for file in world.walk(path)? {
            if file.ends_with(".toml") && world.read(&file).is_ok_and(|text| states_format(&text)) {
                paths.push(file);
            }
        }
        if paths.len() == before {
            return Err(format!("`{path}` holds no job file: a job file is a TOML file that begins with `format = 1`"));
        }
    }
    Ok(paths)
}

/// Returns whether a text states a `format` before its first table, as every job file does.
pub(crate) fn states_format(text: &str) -> bool {
    let top = text.lines().map(str::trim_start).take_while(|line| !line.starts_with('['));
    top.map(|line| line.strip_prefix("format")).any(|rest| rest.is_some_and(|rest| rest.trim_start().starts_with('=')))
}

#[cfg(test)]
mod tests {
    use super::states_format;

    #[test]
    fn a_job_file_states_its_format_before_its_tables() {
        assert!(states_format("# a shed\nformat = 1\n[site]\n"));
        assert!(!states_format("[site]\nformat = 1\n"));
        assert!(!states_format("formats = 1\n"));
    }
}
