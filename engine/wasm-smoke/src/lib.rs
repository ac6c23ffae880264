//! The engine behind two functions with the C calling convention, for a page or for Node.
//!
//! `room_for(length)` gives memory for the text of a job; `inspect(text, length, year, month, day)` gives the address of the answer: four
//! bytes of length, little end first, then JSON. The day is that of the inspection: the module has no clock.

use std::sync::Arc;

use storystick_engine::book::RulesetText;
use storystick_engine::inspection::finding::Outcome;
use storystick_engine::inspection::{Inspector, JobText, Options};

/// Returns memory for so many bytes. It is never given back: the module inspects a job and goes.
#[unsafe(no_mangle)]
pub extern "C" fn room_for(length: usize) -> *mut u8 {
    Box::leak(vec![0; length].into_boxed_slice()).as_mut_ptr()
}

/// Inspects a job and returns the address of the answer.
///
/// # Safety
/// `text` must come from [`room_for`] with the same `length`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn inspect(text: *const u8, length: usize, year: i32, month: i32, day: i32) -> *const u8 {
    // SAFETY: the caller filled memory of this length that `room_for` gave.
    let bytes = unsafe { std::slice::from_raw_parts(text, length) };
    let answer = answer(&String::from_utf8_lossy(bytes), year, month, day).to_string().into_bytes();
    let framed = [&(answer.len() as u32).to_le_bytes(), answer.as_slice()].concat();
    Box::leak(framed.into_boxed_slice()).as_ptr()
}

fn answer(text: &str, year: i32, month: i32, day: i32) -> serde_json::Value {
    let day = jiff::civil::Date::new(year as i16, month as i8, day as i8).unwrap_or(jiff::civil::date(2000, 1, 1));
    let rulesets = storystick_rulesets::FILES.iter().map(|&(path, text)| RulesetText::shipped(path, text));
    let mut inspector = Inspector::new(rulesets.collect());
    let options = Options::on(day);
    let job = JobText { name: String::from("job.toml"), text: Arc::from(text) };
    let inspected = inspector.prepare(job, &options).and_then(|prepared| inspector.inspect(&prepared, &options));
    match inspected {
        Ok(inspected) => {
            let (report, files) = (&inspected.report, &inspected.job.files);
            let tally = &report.tally;
            let corrections = report.findings.iter().filter(|finding| finding.outcome == Outcome::Correction);
            let lines = corrections.map(|finding| {
                let line = files.place(finding.at).map_or(0, |place| place.line);
                serde_json::json!({ "rule": finding.rule, "item": finding.item, "line": line, "message": inspected.words().message(finding) })
            });
            serde_json::json!({
                "job": report.job,
                "tally": {
                    "met": tally.met, "correction": tally.correction, "caution": tally.caution, "note": tally.note,
                    "to_measure": tally.to_measure, "permitted": tally.permitted, "excepted": tally.excepted,
                    "presumed": tally.presumed,
                },
                "corrections": lines.collect::<Vec<_>>(),
                "faults": report.faults.len(),
            })
        }
        Err(failure) => {
            let problems = failure.problems.iter().map(|problem| {
                let line = failure.files.place(problem.span).map_or(0, |place| place.line);
                serde_json::json!({ "line": line, "message": problem.message })
            });
            serde_json::json!({ "problems": problems.collect::<Vec<_>>() })
        }
    }
}
