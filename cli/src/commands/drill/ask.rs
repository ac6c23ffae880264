//! What a drill asks besides the job: worksheets of computed figures, and questions with one right answer.

use std::fmt::Write as _;

use storystick_engine::inspection::Inspected;
use storystick_engine::quantity::{Dimension, Quantity, UnitSystem, parse};

use super::Bench;
use crate::render::working;
use crate::teach::papers::{Key, Mistakes, Question, Worked};
use crate::teach::sections;
use crate::teach::seed::Seed;

/// Questions of each kind.
const OF_EACH: usize = 3;

/// Returns the worksheets that are asked for, on items for which they can be worked out.
pub(super) fn figures(bench: &Bench, inspected: &Inspected, table: &Mistakes, seed: &mut Seed) -> Vec<Worked> {
    let job = &inspected.job;
    let mut asked = Vec::new();
    for ask in &table.ask {
        let Some((kind, field)) = ask.figure.split_once('.') else { continue };
        let Some(kind) = job.schema.kind(kind) else { continue };
        let mut items = job.of_kind(kind).to_vec();
        seed.shuffle(&mut items);
        let worked = items
            .into_iter()
            .filter_map(|item| working::worked_out(inspected, bench.inspector.library(), item, field, &ask.figure));
        asked.extend(worked.filter(|worked| !worked.lines.is_empty()).take(ask.count));
    }
    asked
}

/// Returns questions with figures by the seed.
pub(super) fn questions(inspected: &Inspected, seed: &mut Seed) -> Result<Vec<Question>, String> {
    let mut list = Vec::new();
    for number in 1..=OF_EACH {
        let (asks, answer) = ohm(number, seed).ok_or("a sum of volts and amperes can't be made\n")?;
        list.push(Question { id: format!("ohms-law-{number}"), competency: "ohms-law".into(), asks, answer });
    }
    for number in 1..=OF_EACH {
        let (asks, answer) = tape(seed).ok_or("a sum of lengths can't be made\n")?;
        list.push(Question { id: format!("measure-{number}"), competency: "measure".into(), asks, answer });
    }
    let book = &inspected.code.book;
    let mut rules: Vec<_> = book
        .rules
        .iter()
        .filter(|rule| rule.source.ruleset == book.edition && sections(&rule.source.cites).len() == 1)
        .filter(|rule| rule.source.cites.starts_with(|first: char| first.is_ascii_digit()))
        .collect();
    seed.shuffle(&mut rules);
    for (at, rule) in rules.into_iter().take(OF_EACH).enumerate() {
        let guide = rule.source.doc.split_inclusive(". ").next().unwrap_or(&rule.source.doc).trim();
        list.push(Question {
            id: format!("code-lookup-{}", at + 1),
            competency: "code-lookup".into(),
            asks: format!("Which section of {} asks for this? {guide}", book.edition),
            answer: rule.source.cites.clone(),
        });
    }
    Ok(list)
}

/// Returns a sum of Ohm's law: one of four forms, in turn.
fn ohm(number: usize, seed: &mut Seed) -> Option<(String, String)> {
    let quantity = |amount: i64, unit: &str, dimension| parse(&format!("{amount} {unit}"), dimension).ok();
    let (amperes, ohms) = (seed.between(2, 12), seed.between(3, 15));
    let (current, resistance) =
        (quantity(amperes, "A", Dimension::Current)?, quantity(ohms, "ohm", Dimension::Resistance)?);
    let voltage = current.mul(resistance).ok()?;
    let print = |quantity: Quantity| quantity.print(UnitSystem::Customary);
    Some(match number % 3 {
        1 => (format!("{amperes} A flow through {ohms} ohm. What is the voltage across it?"), print(voltage)),
        2 => {
            let watts = current.mul(voltage).ok()?;
            (format!("A heater takes {amperes} A at {}. What is its power?", print(voltage)), print(watts))
        }
        _ => {
            // Two equal resistors side by side carry twice the current of one.
            let both = current.add(current).ok()?;
            let text = format!(
                "Two resistors of {ohms} ohm lie in parallel on {}. What current do they take together?",
                print(voltage)
            );
            (text, print(both))
        }
    })
}

/// Returns a sum with a tape.
fn tape(seed: &mut Seed) -> Option<(String, String)> {
    let mut length = |feet: i64| {
        let text = format!("{feet} ft {} {}/16 in", seed.between(0, 11), 2 * seed.between(0, 7) + 1);
        parse(&text, Dimension::Length).ok().map(|length| (length, length.print(UnitSystem::Customary)))
    };
    let ((long, long_text), (short, short_text)) = (length(9)?, length(3)?);
    let (plus, sum) = (seed.below(2) == 0, (long.add(short).ok()?, long.sub(short).ok()?));
    let answer = if plus { sum.0 } else { sum.1 }.print(UnitSystem::Customary);
    let word = if plus { "and" } else { "less" };
    Some((format!("How long is {long_text} {word} {short_text}?"), answer))
}

/// Returns the form that a learner fills in.
pub(super) fn form(key: &Key) -> String {
    let mut text = String::from(
        "# Answers. Put right what is wrong in job.toml, and write here what you found.\n#\n# name = \"\"\n\n\
         # One for each correction that you would write, with the section:\n#\n# [[correction]]\n# item = \"\"\n# cites = \"\"\n\
         # says = \"\"\n",
    );
    if !key.asked.is_empty() {
        text.push_str("\n# Figures, with a line of working for each step that has a total.\n");
    }
    for one in &key.asked {
        let _ = write!(
            text,
            "\n[[worked]]\nitem = {}\nfigure = {}\nvalue = \"\"\nlines = [\n  # {{ what = \"\", total = \"\" }},\n]\n",
            toml::Value::from(one.item.as_str()),
            toml::Value::from(one.figure.as_str()),
        );
    }
    for one in &key.question {
        let asks = one.asks.replace(['\n', '\r'], " ");
        let _ =
            write!(text, "\n# {asks}\n[[reply]]\nquestion = {}\nvalue = \"\"\n", toml::Value::from(one.id.as_str()));
    }
    text
}
