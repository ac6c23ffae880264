//! The same input gives the same bytes, whatever the number of threads and however often it runs.

use crate::support::{Folder, examples};

#[test]
fn one_thread_and_two_say_the_same() {
    let folder = Folder::little();
    for n in 0..12 {
        let job =
            folder.read("job.toml").replace("13 in", &format!("{n} in")).replace("5 Alder", &format!("{n} Alder"));
        folder.write(&format!("jobs/{n:02}.toml"), &job);
    }
    folder.write("jobs/broken.toml", &folder.read("job.toml").replace("\"50 in\"", "50"));
    for form in ["text", "json", "sarif", "junit"] {
        let run = |threads: usize| {
            folder
                .run(&format!("inspect jobs --rulesets book --on 2023-06-01 --all --format {form} --threads {threads}"))
        };
        let one = run(1);
        for threads in [2, 2, 4] {
            let other = run(threads);
            assert_eq!(
                (&other.out, &other.err, other.status),
                (&one.out, &one.err, one.status),
                "{form}, {threads} threads"
            );
        }
    }
}

#[test]
fn the_examples_say_the_same_on_two_threads() {
    let folder = Folder::empty();
    let run = |threads: usize| {
        let mut command = folder.command();
        command.arg("inspect").arg(examples()).args(["--on", "2023-06-01", "--format", "json", "--threads"]);
        crate::support::ran(command.arg(threads.to_string()).output().unwrap())
    };
    let (one, two) = (run(1), run(2));
    assert!(one.json()["jobs"].as_array().unwrap().len() >= 4, "the examples were found");
    assert_eq!((one.out, one.err), (two.out, two.err));
}
