//! What a drill asks besides the job: worksheets of computed figures, and questions with one right answer.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use jiff::civil::Date;
use storystick_engine::calc::{Ctx, Library};
use storystick_engine::inspection::Inspected;
use storystick_engine::model::ItemIndex;
use storystick_engine::model::kinds::{appliance, cable, circuit, device, luminaire};
use storystick_engine::quantity::{Dimension, Quantity, UnitSystem, parse};

use super::{Bench, corrections};
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
pub(super) fn questions(
    bench: &mut Bench,
    text: &str,
    inspected: &Inspected,
    seed: &mut Seed,
) -> Result<Vec<Question>, String> {
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
    list.extend(of_circuits(inspected, seed));
    list.extend(cable_to_order(inspected, seed));
    list.extend(another_edition(bench, text, inspected, seed));
    Ok(list)
}

/// Returns questions on a circuit: how many outlets it feeds, what they take together, and on which leg it is.
fn of_circuits(inspected: &Inspected, seed: &mut Seed) -> Vec<Question> {
    let job = &inspected.job;
    let of = |kind: &str| job.schema.kind(kind).map_or(&[][..], |kind| job.of_kind(kind));
    let on = |kind: &str, circuit: ItemIndex| {
        let linked = |item: &ItemIndex| {
            let field = job.schema.field(job.item(*item).kind, circuit::NAME);
            field.is_some_and(|field| job.link(*item, field) == Some(circuit))
        };
        of(kind).iter().copied().filter(linked).collect::<Vec<_>>()
    };
    let mut circuits = of(circuit::NAME).to_vec();
    seed.shuffle(&mut circuits);
    let ask = |competency: &str, asks: String, answer: String| Question {
        id: format!("{competency}-1"),
        competency: competency.to_owned(),
        asks,
        answer,
    };
    let mut list = Vec::new();
    for &at in &circuits {
        let id = job.id(at);
        let lights = on(luminaire::NAME, at);
        let receptacles =
            on(device::NAME, at).into_iter().filter(|&item| job.text(item, device::KIND) == Some("receptacle")).count();
        let asked =
            |list: &[Question], competency: &str| list.iter().any(|one: &Question| one.competency == competency);
        if receptacles > 0 && !asked(&list, "plan-reading") {
            let asks = format!("How many receptacles and luminaires does circuit {id} feed?");
            list.push(ask("plan-reading", asks, (receptacles + lights.len()).to_string()));
        }
        let loads: Option<Vec<Quantity>> = lights
            .iter()
            .map(|&item| job.quantity(item, luminaire::LOAD))
            .chain(on(appliance::NAME, at).iter().map(|&item| job.quantity(item, appliance::LOAD)))
            .collect();
        let sum = loads.and_then(|loads| loads.into_iter().map(Some).reduce(|sum, one| sum?.add(one?).ok()).flatten());
        if let Some(sum) = sum.filter(|_| !asked(&list, "circuit-load")) {
            let asks = format!("What do the luminaires and appliances of circuit {id} take together?");
            list.push(ask("circuit-load", asks, sum.print(UnitSystem::Customary)));
        }
        let position = job.cell(at, circuit::POSITIONS);
        let single = !position.is_missing() && job.list(position.to_list()).len() == 1;
        if single && !asked(&list, "leg-balance") {
            let ctx = Ctx::new(job, &*inspected.code.book);
            let leg = Library::standard(&job.schema).derive(&ctx, at, circuit::LEG).map(|derived| derived.cell);
            if let Some(leg) = leg.filter(|leg| !leg.is_missing()) {
                let asks =
                    format!("On which leg of its panel is circuit {id}, counted from the one of position 1: 1 or 2?");
                let leg = leg.to_quantity(Dimension::Number).print(UnitSystem::Customary);
                list.push(ask("leg-balance", asks, leg));
            }
        }
    }
    list
}

/// Asks how much of a make of cable the runs take, as their lengths are written.
fn cable_to_order(inspected: &Inspected, seed: &mut Seed) -> Option<Question> {
    let job = &inspected.job;
    let mut by_make: BTreeMap<&str, Option<Quantity>> = BTreeMap::new();
    for &item in job.of_kind(job.schema.kind(cable::NAME)?) {
        let Some(make) = job.text(item, cable::KEY_MAKE) else { continue };
        let length = job.quantity(item, cable::LENGTH);
        // A run whose length is not written leaves the sum of its make open.
        let sum = match by_make.get(make) {
            None => length,
            Some(sum) => sum.zip(length).and_then(|(sum, length)| sum.add(length).ok()),
        };
        by_make.insert(make, sum);
    }
    let known: Vec<(&str, Quantity)> = by_make.into_iter().filter_map(|(make, sum)| Some((make, sum?))).collect();
    let (make, sum) = seed.one(&known)?;
    Some(Question {
        id: String::from("take-off-1"),
        competency: String::from("take-off"),
        asks: format!("How much {make} cable do the runs take together, as their lengths are written?"),
        answer: sum.print(UnitSystem::Customary),
    })
}

/// Asks which section newly calls for a correction had the permit another date; none where no date makes a difference.
fn another_edition(bench: &mut Bench, text: &str, inspected: &Inspected, seed: &mut Seed) -> Option<Question> {
    let known: BTreeSet<String> = corrections(inspected).iter().map(|one| one.rule.clone()).collect();
    let mut days: Vec<Date> = (2019..=2026).map(|year| jiff::civil::date(year, 7, 1)).collect();
    seed.shuffle(&mut days);
    let mut found = None;
    for day in days {
        bench.options.permit_date = Some(day);
        let Ok(other) = bench.inspect(text) else { continue };
        let new = corrections(&other).into_iter().filter(|one| !known.contains(&one.rule));
        let sections: BTreeSet<&str> = new.map(|one| one.cite.as_str()).collect();
        if !sections.is_empty() {
            found = Some(Question {
                id: String::from("edition-compare-1"),
                competency: String::from("edition-compare"),
                asks: format!(
                    "Had the permit been taken out on {day}, which section would newly call for a correction? One will do."
                ),
                answer: sections.into_iter().collect::<Vec<_>>().join(", "),
            });
            break;
        }
    }
    bench.options.permit_date = None;
    found
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
