//! Commands that write, killed at any moment: a file is the old one or the new one, a folder is whole or not there, and what a kill
//! leaves beside it stands in nobody's way.

use std::process::Stdio;
use std::time::{Duration, Instant};

use crate::support::{Folder, examples};

/// Runs a command again and again and kills it at moments all over its run, the later ones closer together: it writes at its end.
/// `reset` puts things as they were; `check` looks at what is there.
fn killed(folder: &Folder, words: &str, reset: impl Fn(), check: impl Fn(bool)) {
    reset();
    let begun = Instant::now();
    let whole = folder.run(words);
    let took = begun.elapsed();
    assert!(whole.status < 2, "{words}: {whole:?}");
    check(true);
    let mut ended_early = 0;
    for round in 0..24_u32 {
        reset();
        let mut command = folder.command();
        command.args(words.split_whitespace()).stdout(Stdio::null()).stderr(Stdio::null());
        let mut child = command.spawn().unwrap();
        let share = f64::from(round + 1) / 24.0;
        std::thread::sleep(took.mul_f64(0.4 + 0.65 * share).max(Duration::from_millis(1)));
        let _ = child.kill();
        let status = child.wait().unwrap();
        ended_early += usize::from(status.code().is_none());
        check(status.code().is_some());
    }
    assert!(ended_early > 0, "{words}: no kill came in time");
}

#[test]
fn a_folder_of_rulesets_is_whole_or_not_there() {
    let folder = Folder::empty();
    let remove = |path: &str| {
        let _ = std::fs::remove_dir_all(folder.path().join(path));
    };
    let shipped: Vec<_> =
        storystick_rulesets::FILES.iter().filter(|(path, _)| path.starts_with("us/model-2020/")).collect();
    killed(
        &folder,
        "ruleset export us/model-2020 --dir own",
        || remove("own/us/model-2020"),
        |done| {
            let there = folder.path().join("own/us/model-2020").exists();
            assert!(there || !done);
            for (path, text) in shipped.iter().filter(|_| there) {
                assert_eq!(folder.read(&format!("own/{path}")), *text, "{path}");
            }
        },
    );
    killed(
        &folder,
        "ruleset new our-town --within demo/millrace --dir ours",
        || remove("ours/our-town"),
        |done| {
            let there = folder.path().join("ours/our-town").exists();
            assert!(there || !done);
            if there {
                let ran = folder.run("ruleset try ours");
                assert!(ran.status == 0 && ran.out.contains("3 trials, 0 failed"), "{}{}", ran.out, ran.err);
            }
        },
    );
    // What a kill left begins with a point, and is no ruleset.
    folder.write("ours/.storystick-x/ruleset.toml", "torn");
    folder.write("jobs/.storystick-y.toml", "format = 1\ntorn");
    folder.write("jobs/a.toml", &std::fs::read_to_string(examples().join("hobby-room.toml")).unwrap());
    if folder.path().join("ours/our-town").exists() {
        assert_eq!(folder.run("ruleset try ours").status, 0);
    }
    assert_eq!(folder.run("inspect jobs").status, 1);
}

#[test]
fn a_file_is_the_old_one_or_the_new_one() {
    let folder = Folder::empty();
    let answers = "name Shed\nplace demo/millrace\npermit-date 2024-01-01\nroom bedroom 12x14\ndoor south 3 32in to hallway\n\
                   room hallway 4x14\n";
    folder.write("answers.txt", answers);
    assert_eq!(folder.run("start job.toml --answers answers.txt").status, 0);
    let started = folder.read("job.toml");
    assert!(folder.run("propose job.toml").status < 2);
    let proposed = folder.read("job.toml");
    assert_ne!(started, proposed);
    let old_or = |name: &str, old: &str, new: &str, done: bool| {
        let text = folder.read(name);
        assert!(text == new || (text == old && !done), "{name} is torn, or not written ({done}):\n{text}");
    };
    killed(
        &folder,
        "propose job.toml",
        || folder.write("job.toml", &started),
        |done| old_or("job.toml", &started, &proposed, done),
    );
    killed(
        &folder,
        "start job.toml --force --answers answers.txt",
        || folder.write("job.toml", "old\n"),
        |done| old_or("job.toml", "old\n", &started, done),
    );
    folder.write("house.toml", &proposed);
    assert_eq!(folder.run("packet house.toml --on 2024-06-01 -o page.html").status, 0);
    let page = folder.read("page.html");
    killed(
        &folder,
        "packet house.toml --on 2024-06-01 -o page.html",
        || folder.write("page.html", "old\n"),
        |done| old_or("page.html", "old\n", &page, done),
    );
}

#[test]
fn a_page_of_the_manual_is_the_old_one_or_the_new_one() {
    let folder = Folder::empty();
    assert_eq!(folder.run("man pages").status, 0);
    let names: Vec<String> = std::fs::read_dir(folder.path().join("pages"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    let whole: Vec<(String, String)> =
        names.into_iter().map(|name| (format!("pages/{name}"), folder.read(&format!("pages/{name}")))).collect();
    assert!(whole.len() > 20 && whole.iter().all(|(name, _)| name.ends_with(".1")), "{whole:?}");
    killed(
        &folder,
        "man pages",
        || whole.iter().for_each(|(name, _)| folder.write(name, "old\n")),
        |done| {
            for (name, text) in &whole {
                let there = folder.read(name);
                assert!(there == *text || (there == "old\n" && !done), "{name} is torn, or not written ({done})");
            }
        },
    );
    // A page that is read-only is left alone, and named.
    let path = folder.path().join("pages/storystick-code.1");
    folder.write("pages/storystick-code.1", "mine\n");
    let mut permissions = std::fs::metadata(&path).unwrap().permissions();
    permissions.set_readonly(true);
    std::fs::set_permissions(&path, permissions).unwrap();
    folder.run("man pages").refused("`pages/storystick-code.1` can't be written: it is read-only");
    assert_eq!(folder.read("pages/storystick-code.1"), "mine\n");
}
