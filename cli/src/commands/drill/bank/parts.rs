//! Questions on the take-off of a job: how many of each kind, and how much cable.

use std::collections::BTreeMap;

use storystick_engine::model::kinds::cable;
use storystick_engine::quantity::Quantity;
use storystick_engine::sheet::{Amount, Desk, Group, take_off};

use crate::teach::papers::Question;
use crate::teach::seed::Seed;

const TAKE_OFF: &str = "take-off";

/// Groups that are counted, by the name of the question.
const COUNTED: [(Group, &str, &str); 4] = [
    (Group::Boxes, "boxes", "boxes, by volume"),
    (Group::Devices, "devices", "devices, by kind"),
    (Group::Plates, "plates", "plates and covers"),
    (Group::Breakers, "breakers", "panels and breakers, by rating"),
];

/// Returns a count for each group, line by line, and lengths of cable.
pub(super) fn questions(desk: &Desk<'_>, seed: &mut Seed) -> Vec<Question> {
    let paper = take_off(desk);
    let mut list: Vec<Question> = written(desk, seed).into_iter().collect();
    for (group, name, words) in COUNTED {
        let mut sum = 0;
        let mut question = Question::new(TAKE_OFF, name, format!("Count the {words}. How many are they together?"), "");
        for line in paper.lines.iter().filter(|line| line.group == group) {
            if let Amount::Count(count) = line.net {
                sum += count;
                question = question.line(line.what.clone(), count.to_string());
            }
        }
        if sum > 0 {
            list.push(Question { listed: true, answer: sum.to_string(), ..question });
        }
    }
    let mut lengths = Vec::new();
    let asks = "How long is the cable of each make with the shop's slack, before waste? All together?";
    let mut question = Question::new(TAKE_OFF, "cable", asks, "");
    for line in paper.lines.iter().filter(|line| line.group == Group::Cable) {
        if let Amount::Length(length) = line.net {
            lengths.push(length);
            question = question.line(line.what.clone(), desk.print(length));
        }
    }
    let whole = !paper.open.iter().any(|open| open.starts_with("length not recorded"));
    let sum = lengths.into_iter().map(Some).reduce(|sum, one| sum?.add(one?).ok()).flatten();
    if let Some(sum) = sum.filter(|_| whole) {
        list.push(Question { listed: true, answer: desk.print(sum), ..question });
    }
    list
}

/// Asks how much of a make of cable the runs take, as their lengths are written.
fn written(desk: &Desk<'_>, seed: &mut Seed) -> Option<Question> {
    let mut by_make: BTreeMap<&str, Option<Quantity>> = BTreeMap::new();
    for &item in desk.items(cable::NAME) {
        let Some(make) = desk.job.text(item, cable::KEY_MAKE) else { continue };
        let length = desk.job.quantity(item, cable::LENGTH);
        // A run whose length is not written leaves the sum of its make open.
        let sum = match by_make.get(make) {
            None => length,
            Some(sum) => sum.zip(length).and_then(|(sum, length)| sum.add(length).ok()),
        };
        by_make.insert(make, sum);
    }
    let known: Vec<(&str, Quantity)> = by_make.into_iter().filter_map(|(make, sum)| Some((make, sum?))).collect();
    let (make, sum) = seed.one(&known)?;
    let asks = format!("How much {make} cable do the runs take together, as their lengths are written?");
    Some(Question::new(TAKE_OFF, 1, asks, desk.print(*sum)))
}
