//! `ruleset new`: a ruleset that loads, to write on from.

use std::path::Path;

use jiff::civil::Date;
use storystick_engine::book::{Ask, EntryType, RulesetKind, ScalarType, Shelf, Value, is_reserved};
use storystick_engine::inspection::Inspector;
use storystick_engine::quantity::Dimension;
use storystick_engine::world::World;

use super::next;
use crate::args::{Common, New};
use crate::world::{self, Machine};
use crate::{Answer, Status};

/// Runs the command.
pub(crate) fn run(common: &Common, args: &New) -> Answer {
    let look = super::look(common, world::stderr_is_terminal());
    let texts = match super::rulesets(common).and_then(|texts| check_id(&args.id).map(|()| texts)) {
        Ok(texts) => texts,
        Err(message) => return Answer::fault(format!("{message}\n")),
    };
    let mut inspector = Inspector::new(texts);
    let ground = match ground(inspector.shelf_mut(), args) {
        Ok(ground) => ground,
        Err(problems) => return Answer::fault(super::draw(&problems, inspector.shelf().files(), look)),
    };
    match make(args, &ground) {
        Ok(out) => Answer { out, err: String::new(), status: Status::Clean },
        Err(message) => Answer::fault(format!("{message}\n")),
    }
}

fn check_id(id: &str) -> Result<(), String> {
    let fits = |part: &str| {
        part.starts_with(|c: char| c.is_ascii_lowercase())
            && part.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-')
            && !part.ends_with('-')
            && !part.contains("--")
    };
    if id.split('/').all(fits) {
        return Ok(());
    }
    Err(format!("`{id}` can't be a ruleset's id: write small letters, digits and single `-`, such as `us-il/our-town`"))
}

/// What the new ruleset stands on.
struct Ground {
    kind: RulesetKind,
    /// The first edition to adopt, for a place that lies within no other.
    adopts: Option<(String, Date)>,
    /// The entry to amend, its value, and the new one.
    amends: Option<(String, String, String)>,
}

fn ground(shelf: &mut Shelf, args: &New) -> Result<Ground, Vec<storystick_engine::problem::Problem>> {
    let kind = args.kind.as_deref().and_then(RulesetKind::of).unwrap_or(RulesetKind::Jurisdiction);
    let (place, adopts) = match &args.within {
        Some(place) => (place.clone(), None),
        None => {
            let newest = shelf.ids().filter(|id| id.starts_with("us/model-")).last().map(str::to_owned);
            let first = Date::constant(2024, 1, 1);
            (newest.clone().unwrap_or_default(), newest.map(|id| (id, first)))
        }
    };
    // An edition and accessibility requirements stand below everything: there is nothing that they could amend.
    let amends = match kind {
        RulesetKind::Jurisdiction | RulesetKind::Shop => Some(to_amend(shelf, &place)?),
        RulesetKind::Edition | RulesetKind::Accessibility => None,
    };
    Ok(Ground { kind, adopts: adopts.filter(|_| kind == RulesetKind::Jurisdiction), amends: amends.flatten() })
}

/// Chooses a length of the code around the new place to amend: the first staple where there is one.
fn to_amend(
    shelf: &mut Shelf,
    place: &str,
) -> Result<Option<(String, String, String)>, Vec<storystick_engine::problem::Problem>> {
    shelf.open(place)?;
    let day = shelf.newest_start(place).unwrap_or_else(|| Machine.today());
    let book = shelf.resolve(&Ask { alone: true, ..Ask::on(place, day) })?;
    let scalar = |ty: &EntryType| *ty == EntryType::Scalar(ScalarType::Quantity(Dimension::Length));
    let lengths = || book.all_entries().filter(|entry| scalar(&entry.ty) && matches!(entry.value, Value::Scalar(_)));
    let chosen = lengths().find(|entry| entry.key == "nm.secured_from_box").or_else(|| lengths().next());
    Ok(chosen.and_then(|entry| {
        let old = entry.latest()?.value.clone();
        let new = if old == "6 in" { "5 in" } else { "6 in" };
        Some((entry.key.clone(), old, String::from(new)))
    }))
}

fn make(args: &New, ground: &Ground) -> Result<String, String> {
    let folder = Path::new(&args.dir).join(&args.id);
    if folder.exists() {
        let message = format!("`{}` is there already: choose another id, or name another --dir", folder.display());
        let check = format!("`storystick ruleset check {}` tells how it stands", folder.display());
        return Err(next::told(&message, &[&check], world::columns()));
    }
    let words = Words::of(args, ground);
    let (manifest, code, rule, trials) = (words.manifest(args, ground), words.code(), words.rule(), words.trials());
    let files: [(&str, &str); 4] = [
        ("ruleset.toml", &manifest),
        ("code/values.toml", &code),
        ("rules/rules.rhai", &rule),
        ("trials/trials.toml", &trials),
    ];
    world::new_folder(&folder, &files)?;
    let (dir, id) = (&args.dir, &args.id);
    let first = if ground.amends.is_some() { ", and a first amendment" } else { "" };
    let used = match ground.kind {
        RulesetKind::Jurisdiction => format!("Then: storystick inspect JOB --at {id} --rulesets {dir}"),
        RulesetKind::Shop => {
            format!("It counts for jobs that say `shop = \"{id}\"` under [site], with --rulesets {dir}")
        }
        RulesetKind::Edition | RulesetKind::Accessibility => {
            format!("It counts where a place adopts it: [[adopts]] with `ruleset = \"{id}\"`")
        }
    };
    Ok(format!(
        "{folder}/ruleset.toml        what it is{first}\n\
         {folder}/code/values.toml    a value of its own\n\
         {folder}/rules/rules.rhai    a rule that reads it\n\
         {folder}/trials/trials.toml  three trials of the rule\n\n\
         Next: storystick ruleset try {dir}\n      storystick ruleset check {id} --rulesets {dir}\n      \
         storystick ruleset guide {id} --rulesets {dir}\n{used}\n",
        folder = folder.display(),
    ))
}

/// The names in the new files.
struct Words {
    title: String,
    /// Beginning of its rule's id: the id with `-`.
    rule: String,
    /// Beginning of its entry's name: the id with `_`.
    entry: String,
    today: Date,
}

impl Words {
    fn of(args: &New, _: &Ground) -> Words {
        let last = args.id.rsplit('/').next().unwrap_or(&args.id);
        let title = last.split('-').map(capital).collect::<Vec<_>>().join(" ");
        let mut entry = args.id.replace(['/', '-'], "_");
        if is_reserved(&entry) {
            entry.push_str("_book");
        }
        Words { title, rule: args.id.replace('/', "-"), entry, today: Machine.today() }
    }

    fn manifest(&self, args: &New, ground: &Ground) -> String {
        let Words { title, today, .. } = self;
        let mut text = format!(
            "# What this ruleset is. Every line can be changed; the id must stay the path of the folder.\n\
             id = \"{}\"\ntitle = \"{title}\"\nkind = \"{}\"\nversion = \"1\"\nreviewed = {today}\n\
             source = \"{title}: name here the law, or the shop's book, that the values come from\"\n\
             # How the values were checked: law_text, official_page, secondary, memory. What is not read in the law is not verified.\n\
             checked = \"memory\"\ndraft = \"made from a pattern; take this line out when every value has been checked\"\n",
            args.id,
            ground.kind.word(),
        );
        if let Some(place) = &args.within {
            text.push_str(&format!(
                "# The place around it: its adoptions and amendments hold here too.\nwithin = \"{place}\"\n"
            ));
        }
        if let Some((edition, from)) = &ground.adopts {
            text.push_str(&format!(
                "\n# The edition in force, and since when.\n[[adopts]]\nruleset = \"{edition}\"\nfrom = {from}\ncites = \"{title} Code 1\"\n"
            ));
        }
        if let Some((entry, old, new)) = &ground.amends {
            let (says, cites) = match ground.kind {
                RulesetKind::Shop => (format!("where most codes say {old}, this shop says {new}"), "book"),
                _ => (format!("{old} in the code around, {new} here"), "Code"),
            };
            text.push_str(&format!(
                "\n# A first amendment: {says}. `storystick code` names every value that can be amended.\n\
                 [[amends]]\nentry = \"{entry}\"\nvalue = \"{new}\"\ncites = \"{title} {cites} 2\"\n"
            ));
        }
        text
    }

    fn code(&self) -> String {
        format!(
            "# Values that rules of this ruleset read. A rule holds no number itself, so that a place inside can amend it.\n\
             [{}.switch_box_top]\nvalue = \"48 in\"\ncites = \"{} Code 3\"\n",
            self.entry, self.title
        )
    }

    fn rule(&self) -> String {
        format!(
            "/// The top of a switch box sits no higher than this, so that everybody reaches the switch.\n\
             rule \"{}-switch-box-top\" on box at rough_in cites \"{} Code 3\" {{\n    \
             applies where box.purpose == \"switch\";\n    \
             keep box.top_edge at_most code.{}.switch_box_top\n        else \"lower the box before the wall is closed\";\n}}\n",
            self.rule, self.title, self.entry
        )
    }

    fn trials(&self) -> String {
        let mut text =
            String::from("# Small jobs with the outcome that the rule must give: met, failed, and nothing recorded.\n");
        for (name, expect, top) in [
            ("at the limit", "met", ", top = \"48 in\""),
            ("half an inch too high", "correction", ", top = \"48 1/2 in\""),
            ("nobody measured it", "to_measure", ""),
        ] {
            text.push_str(&format!(
                "\n[[trial]]\nrule = \"{}-switch-box-top\"\nname = \"{name}\"\nexpect = \"{expect}\"\n\
                 job.box = [{{ id = \"B1\", purpose = \"switch\"{top} }}]\n",
                self.rule
            ));
        }
        text
    }
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}
