//! `walk`: goes through what is to measure and to look at, room by room, at a prompt or from a list of answers. Each answer is in
//! the job file, safe from a crash, before the next question is asked.

mod questions;
mod reply;

use std::collections::BTreeSet;
use std::io::{BufRead, IsTerminal};

use jiff::civil::Date;
use storystick_engine::inspection::finding::{Finding, Outcome};
use storystick_engine::inspection::{Inspected, Inspector, JobText, Options};
use storystick_engine::model::Stage;
use storystick_engine::quantity::UnitSystem;
use storystick_engine::sheet::Desk;
use storystick_engine::world::World;

use super::{Sink, next};
use crate::Status;
use crate::args::{Common, WalkArgs};
use crate::record::{Measured, Seen, measured, seen};
use crate::render::wrap::{indented, wrap};
use crate::world::{self, Machine};
use questions::{Key, Question, Wants};
use reply::Reply;

/// Runs the command.
pub(crate) fn run(common: &Common, args: &WalkArgs, sink: &mut Sink<'_>) -> Status {
    match walk(common, args, sink) {
        Ok(status) => status,
        Err(message) => {
            sink("", &message);
            Status::Fault
        }
    }
}

/// Where answers come from.
struct Answers {
    lines: Box<dyn Iterator<Item = std::io::Result<String>>>,
    /// Whether they must be shown, because nobody typed them where the questions are.
    echo: bool,
}

impl Answers {
    fn of(file: Option<&str>) -> Result<Answers, String> {
        let Some(path) = file else {
            let echo = !std::io::stdin().is_terminal();
            return Ok(Answers { lines: Box::new(std::io::stdin().lock().lines()), echo });
        };
        let text = Machine.read(path).map_err(|message| {
            next::with(
                &message,
                &["without `--answers` the walk asks; `storystick walk --help` says what can be answered"],
            )
        })?;
        let lines: Vec<String> = text.lines().map(str::to_owned).collect();
        Ok(Answers { lines: Box::new(lines.into_iter().map(Ok)), echo: true })
    }

    /// Asks; the end of the answers is `None`.
    fn ask(&mut self, prompt: &str, sink: &mut Sink<'_>) -> Option<String> {
        if !sink(prompt, "") {
            return None;
        }
        let line = self.lines.next().and_then(Result::ok);
        let shown = match &line {
            Some(line) if self.echo => format!("{}\n", line.trim()),
            None => String::from("\n"),
            Some(_) => String::new(),
        };
        sink(&shown, "");
        line
    }
}

/// A walk under way.
struct Walk<'a> {
    common: &'a Common,
    args: &'a WalkArgs,
    inspector: Inspector,
    options: Options,
    inspected: Inspected,
    units: UnitSystem,
    by: String,
    on: Date,
    /// Questions that were asked, latest last.
    asked: Vec<Question>,
    /// What is answered or left open on this walk.
    done: BTreeSet<Key>,
    recorded: usize,
    /// What was left open on purpose.
    left: BTreeSet<Key>,
}

fn walk(common: &Common, args: &WalkArgs, sink: &mut Sink<'_>) -> Result<Status, String> {
    let mut inspector = Inspector::new(super::rulesets(common).map_err(|message| format!("{message}\n"))?);
    let on = args.job.on.unwrap_or_else(|| Machine.today());
    let mut options = Options::on(on);
    options.stage = args.stage.as_deref().and_then(Stage::of);
    let text = super::read_job(&args.job.job, super::look(common, world::stderr_is_terminal()))?.text;
    let inspected = inspect(&mut inspector, &args.job.job, &text, &options, common)?;
    let desk = Desk::new(&inspected.job, &inspected.code.book, &inspected.report, inspector.library());
    let units = desk.units;
    super::papers::check_rooms_or_whole(&desk, &args.room)?;
    let mut answers = Answers::of(args.answers.as_deref())?;
    let by = match &args.by {
        Some(by) => by.clone(),
        None => {
            let who = "Who measures and looks? Every answer is signed (`--by NAME` spares the question).";
            let prompt = format!("{}  [name] > ", wrap(who, world::columns(), ""));
            match answers.ask(&prompt, sink) {
                Some(name) if !name.trim().is_empty() => name.trim().to_owned(),
                _ => {
                    let why = "a walk is signed, and nobody is named: nothing was recorded";
                    let next = format!("`storystick walk {} --by NAME`", args.job.job);
                    return Err(next::with(why, &[&next]));
                }
            }
        }
    };
    let mut walk = Walk {
        common,
        args,
        inspector,
        options,
        inspected,
        units,
        by,
        on,
        asked: Vec::new(),
        done: BTreeSet::new(),
        recorded: 0,
        left: BTreeSet::new(),
    };
    sink(&walk.opening(), "");
    walk.all(&mut answers, sink);
    sink(&walk.tally(), "");
    Ok(if !walk.inspected.report.faults.is_empty() {
        Status::Fault
    } else if walk.inspected.report.tally.correction > 0 {
        Status::Corrections
    } else {
        Status::Clean
    })
}

fn inspect(
    inspector: &mut Inspector,
    name: &str,
    text: &str,
    options: &Options,
    common: &Common,
) -> Result<Inspected, String> {
    let look = super::look(common, world::stdout_is_terminal());
    let failed = |failure: storystick_engine::inspection::Failure| super::draw(&failure.problems, &failure.files, look);
    let text = JobText { name: name.to_owned(), text: text.into() };
    let prepared = inspector.prepare(text, options).map_err(failed)?;
    inspector.inspect(&prepared, options).map_err(failed)
}

impl Walk<'_> {
    /// Asks until nothing is left, somebody quits, or the answers end.
    fn all(&mut self, answers: &mut Answers, sink: &mut Sink<'_>) {
        let mut room = String::new();
        let mut again: Option<Question> = None;
        while let Some(question) = again.take().or_else(|| self.next()) {
            if question.room != room {
                room.clone_from(&question.room);
                sink(&format!("\n{room}\n"), "");
            }
            sink(&self.shown(&question), "");
            let prompt = format!("  [{}] > ", question.wants.prompt(self.units));
            let Some(line) = answers.ask(&prompt, sink) else { return };
            match reply::read(&line, &question.wants, self.units) {
                Err(why) => {
                    sink(&indented(&format!("{why}."), world::columns(), 2, ""), "");
                    again = Some(question);
                }
                Ok(Reply::Quit) => return,
                Ok(Reply::Help) => {
                    sink(&help(&question, self.units), "");
                    again = Some(question);
                }
                Ok(Reply::Skip) => {
                    self.done.insert(question.key.clone());
                    self.left.insert(question.key.clone());
                    self.asked.push(question);
                }
                Ok(Reply::Back) => match self.asked.pop() {
                    Some(before) => {
                        self.done.remove(&before.key);
                        again = Some(before);
                    }
                    None => {
                        sink("  This is the first question.\n", "");
                        again = Some(question);
                    }
                },
                Ok(reply) => match self.record(&question, &reply) {
                    Ok(told) => {
                        self.recorded += 1;
                        self.left.remove(&question.key);
                        self.done.insert(question.key.clone());
                        self.asked.push(question);
                        sink(&told, "");
                    }
                    Err(why) => {
                        sink(&format!("{why}  Nothing is recorded of that.\n"), "");
                        again = Some(question);
                    }
                },
            }
        }
    }

    /// Says what is going to be asked and what can be typed, before the first question.
    fn opening(&self) -> String {
        let columns = world::columns();
        let open = self.open();
        if open.is_empty() {
            return String::from("\nNothing is to measure or to look at on this walk.\n");
        }
        let count = |count: usize, one: &str| format!("{count} {one}{}", if count == 1 { "" } else { "s" });
        let rooms: BTreeSet<&str> = open.iter().map(|question| question.room.as_str()).collect();
        let (questions, rooms) = (count(open.len(), "question"), count(rooms.len(), "place"));
        let saved = format!("{questions} in {rooms}. Each answer is in {} at once.", self.args.job.job);
        let lines = [
            saved.as_str(),
            "Type what the brackets ask for: a reading such as `11` or `11 in`, `yes` or `no`, `ok` or `no`. A remark can stand behind \
             `ok` and `no`: `no, cracked`.",
            "`?` explains, `skip` leaves it open, `back` asks the one before, `quit` ends.",
            "Before hands go into a box: circuit off, locked out, absence of voltage verified.",
        ];
        format!("\n{}", lines.map(|line| wrap(line, columns, "  ")).concat())
    }

    fn next(&self) -> Option<Question> {
        self.open().into_iter().find(|question| !self.done.contains(&question.key))
    }

    fn open(&self) -> Vec<Question> {
        let inspected = &self.inspected;
        let desk = Desk::new(&inspected.job, &inspected.code.book, &inspected.report, self.inspector.library());
        questions::open(&desk, &self.args.room)
    }

    fn shown(&self, question: &Question) -> String {
        let columns = world::columns();
        let item = match &question.key {
            Key::Field { item, .. } | Key::Look { item, .. } => item,
        };
        let what = if question.wants == Wants::Look { "look at " } else { "" };
        let kind = question.kind.replace('_', " ");
        let mut text = wrap(&format!("{kind} {item}: {what}{}", question.what), columns, "  ");
        if matches!(question.wants, Wants::Flag | Wants::Word(_)) {
            text.push_str(&indented(&question.about, columns, 2, ""));
        }
        text.push_str(&indented(&question.limits.join("; "), columns, 2, "  "));
        text
    }

    /// Writes an answer into the file as it stands now, unless the job could not be read with it, and tells what it brought.
    fn record(&mut self, question: &Question, reply: &Reply) -> Result<String, String> {
        let path = &self.args.job.job;
        // Somebody may have written in it meanwhile: what stands in the file counts, not what was read before.
        let text = Machine.read(path)?;
        let (by, on) = (self.by.as_str(), self.on);
        let (next, what) = match (&question.key, reply) {
            (Key::Field { item, field }, Reply::Value(value)) => {
                (measured(&text, &Measured { item, field, value, by, on }), format!("{item} {field} = {value}"))
            }
            (Key::Look { rule, item }, Reply::Seen(ok, note)) => {
                let verdict = if *ok { "ok" } else { "not as it must be" };
                let seen = seen(&text, &Seen { rule, item, ok: *ok, by, on, note: note.as_deref() });
                (seen, format!("{rule} of {item}: {verdict}"))
            }
            _ => return Err(String::from("  That is no answer to this question.\n")),
        };
        let next = next.map_err(|why| format!("  {why}\n"))?;
        let after = inspect(&mut self.inspector, path, &next, &self.options, self.common)?;
        world::replace(path, &next).map_err(|why| format!("  {why}\n"))?;
        let told = format!("  recorded: {what}\n{}", self.brought(&after));
        self.inspected = after;
        Ok(told)
    }

    /// Tells which corrections are new and which are gone.
    fn brought(&self, after: &Inspected) -> String {
        let columns = world::columns();
        let (old, new) = (corrections(&self.inspected), corrections(after));
        let (was, words) = (self.inspected.words(), after.words());
        let had = |list: &[&Finding], one: &Finding| {
            list.iter().any(|it| {
                let same = (&it.rule, &it.item, it.check) == (&one.rule, &one.item, one.check);
                same && was.message(it) == words.message(one)
            })
        };
        let mut text = String::new();
        for one in new.iter().filter(|one| !had(&old, one)) {
            let weight = match one.weight {
                storystick_engine::inspection::finding::Weight::Correction => "PUT RIGHT",
                storystick_engine::inspection::finding::Weight::Caution => "caution",
                storystick_engine::inspection::finding::Weight::Note => "note",
            };
            let line = format!("{weight}: {}: {} ({})", words.item(one.index), words.message(one), one.cite);
            text.push_str(&indented(&line, columns, 2, "  "));
            if let Some(fix) = &one.fix {
                text.push_str(&indented(&format!("do: {fix}"), columns, 4, "  "));
            }
        }
        for one in old.iter().filter(|one| !new.iter().any(|it| (&it.rule, &it.item) == (&one.rule, &one.item))) {
            text.push_str(&indented(&format!("cleared: {} ({})", was.item(one.index), one.rule), columns, 2, "  "));
        }
        text
    }

    fn tally(&self) -> String {
        let left = self.open().len();
        let columns = world::columns();
        let tally = format!(
            "{} recorded · {} skipped · {left} still open on this walk · {} to put right in the whole job",
            self.recorded,
            self.left.len(),
            self.inspected.report.tally.correction,
        );
        let path = &self.args.job.job;
        let on = format!("`storystick walk {path}` goes on with what is open");
        let right = format!("`storystick inspect {path}` shows what to put right");
        let next: Vec<&str> = match (left, self.inspected.report.tally.correction) {
            (1.., _) => vec![&on],
            (0, 1..) => vec![&right],
            (0, 0) => Vec::new(),
        };
        format!("\n{}{}", wrap(&tally, columns, "  "), next::block(&next, columns))
    }
}

fn corrections(inspected: &Inspected) -> Vec<&Finding> {
    inspected.report.findings.iter().filter(|finding| finding.outcome == Outcome::Correction).collect()
}

fn help(question: &Question, units: UnitSystem) -> String {
    let about = if question.about.is_empty() { String::new() } else { format!("{} ", question.about) };
    let bare = match &question.wants {
        Wants::Amount(dimension) | Wants::Amounts(dimension) => questions::unit(*dimension, units)
            .map_or_else(String::new, |unit| {
                format!(" A bare number counts in `{unit}`; another unit can stand behind it.")
            }),
        _ => String::new(),
    };
    let typed = match &question.wants {
        Wants::Amount(_) if !bare.is_empty() => String::from("the reading"),
        Wants::Amounts(_) if !bare.is_empty() => String::from("the readings, parted by commas"),
        wants => wants.prompt(units),
    };
    let text = format!(
        "{about}Type {typed}.{bare} `skip` leaves it open, `back` asks the one before again, `quit` stops; what is recorded stays."
    );
    indented(&text, world::columns(), 2, "")
}
