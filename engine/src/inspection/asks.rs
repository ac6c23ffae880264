//! What a failed check asks for: which fields of which items would have to change, and which way, so that it is met.
//!
//! It is read from the workings that a finding carries, never from the text of a rule or from its printed message: the verb says which
//! way the two sides must go, and the way is followed through names, arithmetic, conditions, lists and tables down to the fields. One
//! requirement asks for the same in whatever way a rule spells it.

use super::finding::{Finding, Outcome, Read};
use crate::book::{Book, EntryId, Scalar, Value};
use crate::model::{FieldId, ItemIndex};
use crate::quantity::{Dimension, Quantity};
use crate::script::{Operator, Over, Shown, Step, Verb, Working};

/// What would have to become of a value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Goal {
    /// Yes or no.
    Flag(bool),
    /// Less: no more than this, where the amount can be told.
    AtMost(Option<Quantity>),
    /// More: no less than this, where the amount can be told.
    AtLeast(Option<Quantity>),
    /// One of these.
    OneOf(Vec<Shown>),
    /// None of these.
    NoneOf(Vec<Shown>),
    /// Another one; which, can't be told.
    Other,
}

/// What is asked of one field of one item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wanted {
    /// The item.
    pub item: ItemIndex,
    /// The field.
    pub field: FieldId,
    /// Its value.
    pub is: Shown,
    /// What would have to become of it.
    pub goal: Goal,
}

/// That a list needs other members.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Members {
    /// The members that were counted or added up.
    pub counted: Vec<ItemIndex>,
    /// Whether more of them are asked for, or fewer.
    pub more: bool,
    /// How many would do, where that can be told: exact for a count, in proportion for a sum.
    pub number: Option<i64>,
}

/// Everything that a failed check asks for. Any of it may be what meets the check; some of it nobody would change.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Asks {
    /// What is asked of fields, in the order in which the rule names them, each once.
    pub fields: Vec<Wanted>,
    /// What is asked of lists.
    pub members: Vec<Members>,
    /// Lists that the check has read, where it asks for more members of one.
    pub lists: Vec<(ItemIndex, FieldId)>,
    /// By how much the first comparison that fails is missed, where it has amounts.
    pub short: Option<Quantity>,
}

/// Returns what a finding asks for; nothing where it is no correction, or where only eyes on site decide.
pub fn asks(finding: &Finding, book: &Book) -> Asks {
    let mut follower = Follower { book, asks: Asks::default(), wants_members: false };
    if finding.outcome == Outcome::Correction {
        follower.finding(finding);
    }
    let Follower { mut asks, wants_members, .. } = follower;
    if wants_members {
        asks.lists = finding.reads.iter().filter_map(field_read).collect();
    }
    asks
}

fn field_read(read: &Read) -> Option<(ItemIndex, FieldId)> {
    match *read {
        Read::Field { item, field, .. } => Some((item, field)),
        Read::Entry { .. } => None,
    }
}

/// How a comparison relates its left side to its right one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Order {
    Equal,
    Unequal,
    Less { strictly: bool },
    Greater { strictly: bool },
}

impl Order {
    fn of(operator: &Operator) -> Option<Order> {
        Some(match operator {
            Operator::Equal => Order::Equal,
            Operator::Unequal => Order::Unequal,
            Operator::Less => Order::Less { strictly: true },
            Operator::LessOrEqual => Order::Less { strictly: false },
            Operator::Greater => Order::Greater { strictly: true },
            Operator::GreaterOrEqual => Order::Greater { strictly: false },
            _ => return None,
        })
    }

    /// Returns what holds when this does not.
    fn opposite(self) -> Order {
        match self {
            Order::Equal => Order::Unequal,
            Order::Unequal => Order::Equal,
            Order::Less { strictly } => Order::Greater { strictly: !strictly },
            Order::Greater { strictly } => Order::Less { strictly: !strictly },
        }
    }
}

/// Follows what is asked down to the fields.
struct Follower<'b> {
    book: &'b Book,
    asks: Asks,
    wants_members: bool,
}

impl Follower<'_> {
    fn finding(&mut self, finding: &Finding) {
        let Some(found) = &finding.found else { return };
        let limit = finding.allowed.first();
        match (finding.verb, limit) {
            (Verb::Need, _) => self.follow(found, &Goal::Flag(true)),
            (Verb::AtMost, Some(limit)) => self.compare(found, Order::Less { strictly: false }, limit),
            (Verb::AtLeast, Some(limit)) => self.compare(found, Order::Greater { strictly: false }, limit),
            (Verb::EqualTo, Some(limit)) => self.compare(found, Order::Equal, limit),
            (Verb::OneOf, Some(list)) => self.one_of(found, list, true),
            (Verb::Between, Some(lower)) => {
                let upper = finding.allowed.get(1).unwrap_or(lower);
                match (amount(found), amount(lower)) {
                    (Some(found_at), Some(lower_at)) if found_at.amount() < lower_at.amount() => {
                        self.compare(found, Order::Greater { strictly: false }, lower);
                    }
                    _ => self.compare(found, Order::Less { strictly: false }, upper),
                }
            }
            (Verb::Look | Verb::Except, _) | (_, None) => {}
        }
    }

    /// Follows both sides of a comparison that has to hold.
    fn compare(&mut self, left: &Working, order: Order, right: &Working) {
        let sides = amount(left).zip(amount(right)).filter(|(a, b)| a.dimension() == b.dimension());
        let (to_left, to_right) = match (order, sides) {
            (Order::Less { strictly }, Some((a, b))) => (at_most(b, strictly), at_least(a, strictly)),
            (Order::Greater { strictly }, Some((a, b))) => (at_least(b, strictly), at_most(a, strictly)),
            (Order::Less { .. }, None) => (Goal::AtMost(None), Goal::AtLeast(None)),
            (Order::Greater { .. }, None) => (Goal::AtLeast(None), Goal::AtMost(None)),
            (Order::Equal, Some((a, b))) if a.amount() < b.amount() => (at_least(b, false), at_most(a, false)),
            (Order::Equal, Some((a, b))) => (at_most(b, false), at_least(a, false)),
            (Order::Unequal, Some((a, b))) => {
                (Goal::NoneOf(vec![Shown::Quantity(b)]), Goal::NoneOf(vec![Shown::Quantity(a)]))
            }
            (Order::Equal | Order::Unequal, None) => {
                let same = order == Order::Equal;
                (like(&right.value, same), like(&left.value, same))
            }
        };
        if let (None, Some((a, b))) = (self.asks.short, sides) {
            self.asks.short = a.sub(b).ok().map(|by| Quantity::new(by.dimension(), by.amount().saturating_abs()));
        }
        self.follow(left, &to_left);
        self.follow(right, &to_right);
    }

    /// Follows a value that has to be in a list, or must not be.
    fn one_of(&mut self, value: &Working, list: &Working, inside: bool) {
        let Shown::List(members) = &list.value else { return };
        self.follow(value, &if inside { Goal::OneOf(members.clone()) } else { Goal::NoneOf(members.clone()) });
        self.follow(list, &Goal::Other);
    }

    fn follow(&mut self, working: &Working, goal: &Goal) {
        match &working.step {
            Step::Field { item, field } => {
                let wanted = Wanted { item: *item, field: *field, is: working.value.clone(), goal: goal.clone() };
                if !self.asks.fields.contains(&wanted) {
                    self.asks.fields.push(wanted);
                }
            }
            Step::Of { operator, parts } => self.operator(operator, parts, goal),
            Step::Members { over, parts, .. } => self.members(working, *over, parts, goal),
            Step::Row { entry, key, .. } => {
                let keys = self.keys(*entry, goal).map_or(Goal::Other, Goal::OneOf);
                self.follow(key, &keys);
            }
            // What is not recorded is asked for by the finding itself; the rest of these nobody can change in a job.
            Step::Item | Step::Entry { .. } | Step::Literal { .. } | Step::Other { .. } => {}
        }
    }

    fn operator(&mut self, operator: &Operator, parts: &[Working], goal: &Goal) {
        if let (Some(order), [left, right]) = (Order::of(operator), parts) {
            match *goal {
                Goal::Flag(true) => self.compare(left, order, right),
                Goal::Flag(false) => self.compare(left, order.opposite(), right),
                _ => {}
            }
            return;
        }
        match (operator, parts) {
            (Operator::And | Operator::Or, _) => parts.iter().for_each(|part| self.follow(part, goal)),
            (Operator::Not, [part]) => {
                if let Goal::Flag(flag) = *goal {
                    self.follow(part, &Goal::Flag(!flag));
                }
            }
            (Operator::In, [value, list]) => {
                if let Goal::Flag(flag) = *goal {
                    self.one_of(value, list, flag);
                }
            }
            (Operator::Min | Operator::Max, _) => parts.iter().for_each(|part| {
                if !reached(part, goal) {
                    self.follow(part, goal);
                }
            }),
            (Operator::Negative, [part]) => {
                let turned = turned(goal, |to| Some(Quantity::new(to.dimension(), to.amount().checked_neg()?)));
                self.follow(part, &turned);
            }
            (Operator::Plus, [left, right]) => {
                self.follow(left, &kept(goal, |to| to.sub(amount(right)?).ok()));
                self.follow(right, &kept(goal, |to| to.sub(amount(left)?).ok()));
            }
            (Operator::Minus, [left, right]) => {
                self.follow(left, &kept(goal, |to| to.add(amount(right)?).ok()));
                self.follow(right, &turned(goal, |to| amount(left)?.sub(to).ok()));
            }
            (Operator::Times, [left, right]) => {
                self.follow(left, &by_sign(right, goal, |to| to.div(amount(right)?).ok()));
                self.follow(right, &by_sign(left, goal, |to| to.div(amount(left)?).ok()));
            }
            (Operator::Over, [left, right]) => {
                self.follow(left, &by_sign(right, goal, |to| to.mul(amount(right)?).ok()));
                // A part of the same whole falls as what it is divided by grows.
                self.follow(right, &turned(goal, |to| amount(left)?.div(to).ok()));
            }
            _ => parts.iter().for_each(|part| self.follow(part, &Goal::Other)),
        }
    }

    fn members(&mut self, working: &Working, over: Over, parts: &[crate::script::Part], goal: &Goal) {
        let says = parts.iter().filter_map(|part| part.says.as_ref());
        match over {
            Over::Any | Over::Every => {
                self.wants_members |= parts.is_empty() && *goal == Goal::Flag(true);
                says.for_each(|part| self.follow(part, goal));
            }
            Over::Least | Over::Most => {
                self.wants_members |= parts.is_empty();
                says.for_each(|part| self.follow(part, goal));
            }
            Over::Count | Over::Sum | Over::Distinct => {
                let (more, to) = match goal {
                    Goal::AtMost(to) => (false, *to),
                    Goal::AtLeast(to) => (true, *to),
                    _ => return,
                };
                self.wants_members |= more;
                let counted: Vec<ItemIndex> = parts
                    .iter()
                    .filter_map(|part| match part.member {
                        Shown::Item(item) => Some(item),
                        _ => None,
                    })
                    .collect();
                let number = to.zip(amount(working)).and_then(|(to, is)| match over {
                    Over::Count => whole(to, more),
                    _ => in_proportion(counted.len(), to, is, more),
                });
                self.asks.members.push(Members { counted, more, number });
                let each = if more { Goal::AtLeast(None) } else { Goal::AtMost(None) };
                says.for_each(|part| self.follow(part, &each.clone()));
            }
        }
    }

    /// Returns the keys of a table whose values are what is asked for.
    fn keys(&self, entry: EntryId, goal: &Goal) -> Option<Vec<Shown>> {
        let Value::Table(table) = &self.book.entry(entry)?.value else { return None };
        if matches!(goal, Goal::AtMost(None) | Goal::AtLeast(None) | Goal::Other) {
            return None;
        }
        let shown = |scalar: Scalar, text: &str| match scalar {
            Scalar::Quantity(quantity) => Shown::Quantity(quantity),
            Scalar::Flag(flag) => Shown::Flag(flag),
            Scalar::Text(_) => Shown::Text(text.to_owned()),
        };
        let fits = table.rows().iter().filter(|row| meets(&shown(row.value, &row.text), goal));
        Some(fits.map(|row| shown(row.key, &row.key_text)).collect())
    }
}

/// Returns whether a value is what a goal asks for.
pub fn meets(value: &Shown, goal: &Goal) -> bool {
    match (goal, value) {
        (Goal::Flag(flag), Shown::Flag(value)) => flag == value,
        (Goal::AtMost(Some(to)), Shown::Quantity(value)) => value.amount() <= to.amount(),
        (Goal::AtLeast(Some(to)), Shown::Quantity(value)) => value.amount() >= to.amount(),
        (Goal::OneOf(members), value) => members.contains(value),
        (Goal::NoneOf(members), value) => !members.contains(value),
        _ => false,
    }
}

fn reached(working: &Working, goal: &Goal) -> bool {
    meets(&working.value, goal)
}

fn amount(working: &Working) -> Option<Quantity> {
    match working.value {
        Shown::Quantity(quantity) => Some(quantity),
        _ => None,
    }
}

fn at_most(limit: Quantity, strictly: bool) -> Goal {
    Goal::AtMost(moved(limit, -i64::from(strictly)))
}

fn at_least(limit: Quantity, strictly: bool) -> Goal {
    Goal::AtLeast(moved(limit, i64::from(strictly)))
}

/// Returns an amount moved by so many base units.
fn moved(quantity: Quantity, by: i64) -> Option<Quantity> {
    Some(Quantity::new(quantity.dimension(), quantity.amount().checked_add(by)?))
}

/// Returns the goal of a value that has to be like another one, or unlike it.
fn like(value: &Shown, same: bool) -> Goal {
    match (value, same) {
        (Shown::Flag(flag), _) => Goal::Flag(*flag == same),
        (Shown::Unknown, _) => Goal::Other,
        (value, true) => Goal::OneOf(vec![value.clone()]),
        (value, false) => Goal::NoneOf(vec![value.clone()]),
    }
}

/// Returns a goal that goes the same way, with the amount reckoned back. Words and flags do not go through arithmetic.
fn kept(goal: &Goal, back: impl Fn(Quantity) -> Option<Quantity>) -> Goal {
    match goal {
        Goal::AtMost(to) => Goal::AtMost(to.and_then(back)),
        Goal::AtLeast(to) => Goal::AtLeast(to.and_then(back)),
        Goal::OneOf(members) => Goal::OneOf(members.iter().filter_map(|member| each(member, &back)).collect()),
        Goal::NoneOf(members) => Goal::NoneOf(members.iter().filter_map(|member| each(member, &back)).collect()),
        Goal::Flag(_) | Goal::Other => Goal::Other,
    }
}

fn each(member: &Shown, back: impl Fn(Quantity) -> Option<Quantity>) -> Option<Shown> {
    match member {
        Shown::Quantity(quantity) => back(*quantity).map(Shown::Quantity),
        _ => None,
    }
}

/// Returns a goal that goes the other way.
fn turned(goal: &Goal, back: impl Fn(Quantity) -> Option<Quantity>) -> Goal {
    match kept(goal, back) {
        Goal::AtMost(to) => Goal::AtLeast(to),
        Goal::AtLeast(to) => Goal::AtMost(to),
        other => other,
    }
}

/// Returns a goal that goes the same way where a factor is positive, else the other way.
fn by_sign(factor: &Working, goal: &Goal, back: impl Fn(Quantity) -> Option<Quantity>) -> Goal {
    match amount(factor).map(Quantity::amount) {
        Some(sign) if sign > 0 => kept(goal, back),
        Some(sign) if sign < 0 => turned(goal, back),
        _ => Goal::Other,
    }
}

/// Returns a number of things that is no more, or no less, than an amount.
fn whole(to: Quantity, up: bool) -> Option<i64> {
    if to.dimension() != Dimension::Number {
        return None;
    }
    let one = 1_000_000_000;
    let down = to.amount().div_euclid(one);
    Some(if up && to.amount().rem_euclid(one) != 0 { down + 1 } else { down })
}

/// Returns how many of some members give another sum, if each gives as much.
fn in_proportion(members: usize, to: Quantity, is: Quantity, up: bool) -> Option<i64> {
    if is.amount() <= 0 || to.amount() < 0 || is.dimension() != to.dimension() {
        return None;
    }
    let product = i128::try_from(members).ok()? * i128::from(to.amount());
    let is = i128::from(is.amount());
    i64::try_from(if up { (product + is - 1) / is } else { product / is }).ok()
}

#[cfg(test)]
mod tests;
