//! Questions on the circuits of a job: what they feed, what they take, on which leg they are, which share a neutral.

use storystick_engine::calc::{Code, Ctx, Library};
use storystick_engine::inspection::Inspected;
use storystick_engine::model::ItemIndex;
use storystick_engine::model::kinds::{appliance, circuit, device, luminaire};
use storystick_engine::quantity::{Dimension, Quantity, UnitSystem, parse};

use crate::teach::papers::Question;
use crate::teach::seed::Seed;

struct Look<'a> {
    inspected: &'a Inspected,
    ctx: Ctx<'a>,
    library: Library,
}

impl<'a> Look<'a> {
    fn of(&self, kind: &str) -> &'a [ItemIndex] {
        let job = &self.inspected.job;
        job.schema.kind(kind).map_or(&[][..], |kind| job.of_kind(kind))
    }

    /// Returns the items of a kind that a circuit feeds.
    fn on(&self, kind: &str, circuit: ItemIndex) -> Vec<ItemIndex> {
        let job = &self.inspected.job;
        let linked = |item: &ItemIndex| {
            let field = job.schema.field(job.item(*item).kind, circuit::NAME);
            field.is_some_and(|field| job.link(*item, field) == Some(circuit))
        };
        self.of(kind).iter().copied().filter(linked).collect()
    }

    fn receptacles(&self, circuit: ItemIndex) -> Vec<ItemIndex> {
        let mut all = self.on(device::NAME, circuit);
        all.retain(|&item| self.inspected.job.text(item, device::KIND) == Some("receptacle"));
        all
    }

    /// Returns the leg of a circuit with one pole.
    fn leg(&self, circuit: ItemIndex) -> Option<i64> {
        let job = &self.inspected.job;
        let position = job.cell(circuit, circuit::POSITIONS);
        if position.is_missing() || job.list(position.to_list()).len() != 1 {
            return None;
        }
        let cell = self.library.derive(&self.ctx, circuit, circuit::LEG)?.cell;
        if cell.is_missing() { None } else { cell.to_quantity(Dimension::Number).whole() }
    }
}

/// Returns the questions for which the job records enough.
pub(super) fn questions(inspected: &Inspected, seed: &mut Seed) -> Vec<Question> {
    let job = &inspected.job;
    let look = Look { inspected, ctx: Ctx::new(job, &*inspected.code.book), library: Library::standard(&job.schema) };
    let mut circuits = look.of(circuit::NAME).to_vec();
    seed.shuffle(&mut circuits);
    let mut list = Vec::new();
    list.extend(circuits.iter().find_map(|&at| {
        let receptacles = look.receptacles(at).len();
        let count = receptacles + look.on(luminaire::NAME, at).len();
        let asks = format!("How many receptacles and luminaires does circuit {} feed?", job.id(at));
        (receptacles > 0).then(|| Question::new("plan-reading", 1, asks, count.to_string()))
    }));
    list.extend(shared(&look, seed));
    list.extend(circuits.iter().find_map(|&at| {
        let lights = look.on(luminaire::NAME, at);
        let loads: Option<Vec<Quantity>> = lights
            .iter()
            .map(|&item| job.quantity(item, luminaire::LOAD))
            .chain(look.on(appliance::NAME, at).iter().map(|&item| job.quantity(item, appliance::LOAD)))
            .collect();
        let sum = loads.and_then(|loads| loads.into_iter().map(Some).reduce(|sum, one| sum?.add(one?).ok()).flatten());
        let asks = format!("What do the luminaires and appliances of circuit {} take together?", job.id(at));
        sum.map(|sum| Question::new("circuit-load", 1, asks, sum.print(UnitSystem::Customary)))
    }));
    list.extend(continuous(&look, seed));
    list.extend(legs(&look, &circuits, seed));
    list
}

/// Asks for the breaker of a circuit with a load that runs for hours and one that does not, by the factor and the standard ratings of the
/// code in force; none where it has not both.
fn continuous(look: &Look<'_>, seed: &mut Seed) -> Option<Question> {
    let book: &dyn Code = &*look.inspected.code.book;
    let factor = book.quantity("circuit.continuous_factor", Dimension::Ratio).ok()?;
    let ratings = book.quantities("circuit.standard_ratings", Dimension::Current).ok()?;
    let unit = |amount: i64, unit: &str, dimension| parse(&format!("{amount} {unit}"), dimension).ok();
    // Multiples of 120 VA are whole amperes at 120 V, and of 480 VA still so with a quarter more.
    let runs_on = unit(480 * seed.between(1, 4), "VA", Dimension::Power)?;
    let rest = unit(120 * seed.between(4, 14), "VA", Dimension::Power)?;
    let volts = unit(120, "V", Dimension::Voltage)?;
    let raised = runs_on.mul(factor.quantity).ok()?;
    let all = raised.add(rest).ok()?;
    let amperes = all.div(volts).ok()?;
    let rating = ratings.iter().filter(|one| one.amount() >= amperes.amount()).min_by_key(|one| one.amount())?;
    let print = |quantity: Quantity| quantity.print(UnitSystem::Customary);
    let asks = format!(
        "A circuit of 120 V is to carry {} for three hours and more, and {} for short times. Which is the smallest standard rating of its \
         breaker? Write the continuous load as it counts, the sum, then the current.",
        print(runs_on),
        print(rest)
    );
    let question = Question::new("circuit-load", 2, asks, print(rating.quantity))
        .line("continuous load as it counts", print(raised))
        .line("together", print(all))
        .line("current", print(amperes));
    Some(Question { why: format!("{}, {}", factor.cite, rating.cite), ..question })
}

/// Asks whether two outlets are on one circuit.
fn shared(look: &Look<'_>, seed: &mut Seed) -> Option<Question> {
    let job = &look.inspected.job;
    let mut outlets: Vec<(ItemIndex, ItemIndex)> = look
        .of(circuit::NAME)
        .iter()
        .flat_map(|&at| look.receptacles(at).into_iter().map(move |it| (it, at)))
        .collect();
    seed.shuffle(&mut outlets);
    let same = seed.below(2) == 0;
    let (first, circuit) = *outlets.first()?;
    let fits = |(it, at): &&(ItemIndex, ItemIndex)| *it != first && (*at == circuit) == same;
    let (second, other) = outlets.iter().find(fits).or_else(|| outlets.get(1)).copied()?;
    let asks = format!("Are receptacles {} and {} on the same circuit?", job.id(first), job.id(second));
    let answer = if other == circuit { "yes" } else { "no" };
    Some(Question::new("plan-reading", 2, asks, answer).choose(vec!["yes".into(), "no".into()]))
}

/// Asks for the leg of a circuit, for the mate of a multiwire circuit where there is one, and for the current of a shared neutral.
fn legs(look: &Look<'_>, circuits: &[ItemIndex], seed: &mut Seed) -> Vec<Question> {
    const LEGS: &str = "leg-balance";
    let job = &look.inspected.job;
    let placed: Vec<(ItemIndex, i64)> = circuits.iter().filter_map(|&at| Some((at, look.leg(at)?))).collect();
    let mut list = Vec::new();
    let Some(&(first, leg)) = placed.first() else { return list };
    let asks =
        format!("On which leg of its panel is circuit {}, counted from the one of position 1: 1 or 2?", job.id(first));
    list.push(Question::new(LEGS, 1, asks, leg.to_string()));
    let pair = circuits.iter().find_map(|&at| Some((at, job.link(at, circuit::MULTIWIRE_WITH)?)));
    if let Some((at, mate)) = pair {
        let asks = format!("Which circuit shares the neutral of circuit {}?", job.id(at));
        list.push(Question::new(LEGS, 2, asks, job.id(mate)));
    }
    let of = |at: ItemIndex| placed.iter().find(|(it, _)| *it == at).copied();
    let same_panel = |at: ItemIndex| job.link(at, circuit::PANEL) == job.link(first, circuit::PANEL);
    let mate = placed.iter().skip(1).copied().find(|(at, _)| same_panel(*at));
    let both = pair.and_then(|(at, mate)| of(at).zip(of(mate))).or_else(|| mate.map(|mate| ((first, leg), mate)));
    if let Some(((one, leg), (other, mate))) = both {
        // The currents of opposite legs flow against each other in the neutral, those of one leg add up (Kirchhoff's current law).
        let (amperes, others) = (seed.between(6, 15), seed.between(2, 5));
        let opposite = leg != mate;
        let neutral = if opposite { amperes - others } else { amperes + others };
        let shares = if pair.is_some() { "share" } else { "were to share" };
        let asks = format!(
            "Circuits {} and {} {shares} a neutral; one carries {amperes} A, the other {others} A, to plain resistive loads. By their \
             positions in the panel, what does the neutral carry? Write on which leg each is.",
            job.id(one),
            job.id(other)
        );
        let question = Question::new(LEGS, 3, asks, format!("{neutral} A"))
            .line(format!("leg of circuit {}", job.id(one)), leg.to_string())
            .line(format!("leg of circuit {}", job.id(other)), mate.to_string());
        list.push(Question { listed: true, ..question });
        let asks =
            format!("May circuits {} and {} share a neutral, as they stand in the panel?", job.id(one), job.id(other));
        let answer = if opposite { "yes" } else { "no" };
        list.push(Question::new(LEGS, 4, asks, answer).choose(vec!["yes".into(), "no".into()]));
    }
    list
}
