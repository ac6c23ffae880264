//! Questions for the answers that a job is started from. Each answer is read at once, and asked for again where it can't be used.

use std::io::{BufRead, Result, Write};

use storystick_engine::book::Shelf;
use storystick_engine::problem::Problem;
use storystick_engine::source::Files;

use super::{YOURS, answers, rooms};
use crate::args::ANSWERS;
use crate::render::report::{Drawn, Look};
use crate::render::wrap::wrap;

const ROOMS: &str =
    "Now the rooms, such as `bedroom 12x14`, after each its parts, such as `door south 3 32in`. An empty line ends.";

/// What a question came to.
enum Reply {
    Answer(String),
    /// The answer before is taken back.
    Back,
    /// Nothing was answered.
    Nothing,
    /// Nobody answers any more.
    End,
}

/// Somebody who is asked.
struct Asked<'a, I, O> {
    input: &'a mut I,
    out: &'a mut O,
    shelf: &'a Shelf,
    look: Look,
    /// Answers that can be used.
    lines: Vec<String>,
}

/// Asks for everything that a job begins with. Returns the answers, one on a line.
pub(super) fn asked(input: &mut impl BufRead, out: &mut impl Write, shelf: &Shelf, look: Look) -> Result<String> {
    let mut asked = Asked { input, out, shelf, look, lines: Vec::new() };
    asked.tell("`?` shows the form of answers, `back` takes the last one back.")?;
    let first = [
        ("name", "What is the job called", false),
        ("place", "Where is it (`storystick ruleset list` names the places)", true),
        ("permit-date", "Day of the permit, as 2023-05-10", true),
    ];
    let mut at = 0;
    while let Some((key, question, needed)) = first.get(at) {
        match asked.ask(question, asked.lines.len(), |answer| format!("{key} {answer}"))? {
            Reply::Answer(line) => {
                asked.lines.push(line);
                at += 1;
            }
            Reply::Back => {
                at = at.saturating_sub(1);
                let before = first.get(at).map_or("", |(key, ..)| key);
                asked.lines.retain(|line| !line.starts_with(before));
            }
            Reply::Nothing if *needed => asked.tell("Without it nobody can tell which code is in force.")?,
            Reply::Nothing => at += 1,
            Reply::End => return Ok(asked.text()),
        }
    }
    let fixed = asked.lines.len();
    asked.tell(ROOMS)?;
    loop {
        match asked.ask("Room or part", asked.lines.len(), line_of)? {
            Reply::Answer(line) => asked.lines.push(line),
            Reply::Back if asked.lines.len() > fixed => {
                let line = asked.lines.pop().unwrap_or_default();
                asked.tell(&format!("Without `{line}`."))?;
            }
            Reply::Back => asked.tell("There is no room to take back.")?,
            Reply::End => return Ok(asked.text()),
            Reply::Nothing if asked.agree()? => return Ok(asked.text()),
            Reply::Nothing => {}
        }
    }
}

/// Returns whether a line is a part of a room.
fn is_part(line: &str) -> bool {
    rooms::is_part(line.split_whitespace().next().unwrap_or_default())
}

/// Returns the line of an answer about rooms; what names no key is a room.
fn line_of(answer: &str) -> String {
    let key = answer.split_whitespace().next().unwrap_or_default();
    if is_part(answer) || answers::KEYS.contains(&key) { answer.to_owned() } else { format!("room {answer}") }
}

impl<I: BufRead, O: Write> Asked<'_, I, O> {
    fn text(&self) -> String {
        self.lines.iter().map(|line| format!("{line}\n")).collect()
    }

    fn tell(&mut self, text: &str) -> Result<()> {
        self.out.write_all(wrap(text, self.look.width, "").as_bytes())
    }

    /// Asks until the answer can be used behind the first lines, so many.
    fn ask(&mut self, question: &str, behind: usize, line_of: impl Fn(&str) -> String) -> Result<Reply> {
        loop {
            let prompt = wrap(&format!("{question}:"), self.look.width.saturating_sub(1), "");
            write!(self.out, "{} ", prompt.trim_end())?;
            self.out.flush()?;
            let mut read = Vec::new();
            if self.input.read_until(b'\n', &mut read)? == 0 {
                return Ok(Reply::End);
            }
            // What is no text becomes characters that no answer has, and is told as such.
            match String::from_utf8_lossy(&read).trim() {
                "" => return Ok(Reply::Nothing),
                "back" => return Ok(Reply::Back),
                "?" => self.tell(ANSWERS)?,
                answer => {
                    let line = line_of(answer);
                    match self.fault_of(behind, &line) {
                        None => return Ok(Reply::Answer(line)),
                        Some((problem, files)) => self.show(&problem, &files)?,
                    }
                }
            }
        }
    }

    fn show(&mut self, problem: &Problem, files: &Files) -> Result<()> {
        writeln!(self.out, "{}", Drawn::problem(files, problem).draw(self.look))
    }

    /// Returns what is wrong with an answer behind the first lines, with the text that the problem points into.
    fn fault_of(&self, behind: usize, line: &str) -> Option<(Problem, Files)> {
        let mut files = Files::new();
        let before: String = self.lines.iter().take(behind).map(|line| format!("{line}\n")).collect();
        let file = files.add(YOURS, format!("{before}{line}\n")).ok()?;
        let problem = answers::each(&file, self.shelf).problems.into_iter().next()?;
        Some((problem, files))
    }

    /// Returns the first line that does not agree with the others, and why.
    fn first_fault(&self) -> Option<(usize, Problem, Files)> {
        let mut files = Files::new();
        let file = files.add(YOURS, self.text()).ok()?;
        let problem = answers::read(&file, self.shelf).err()?.into_iter().next()?;
        let line = file.line_of(problem.span.start().saturating_sub(file.base()));
        Some((line, problem, files))
    }

    /// Asks for other answers until all agree with each other; `false` where somebody wants to add to them first.
    fn agree(&mut self) -> Result<bool> {
        while let Some((line, problem, files)) = self.first_fault() {
            self.show(&problem, &files)?;
            let Some(now) = self.lines.get(line).cloned() else { return Ok(true) };
            let question = format!("Instead of `{now}` (nothing leaves it out, `back` keeps it to add a room)");
            match self.ask(&question, line, line_of)? {
                Reply::Answer(other) => self.lines.splice(line..=line, [other]).for_each(drop),
                // The parts of a room go with it.
                Reply::Nothing => {
                    let parts = self.lines.iter().skip(line + 1).take_while(|_| now.starts_with("room"));
                    let end = line + parts.take_while(|line| is_part(line)).count();
                    self.lines.drain(line..=end).for_each(drop);
                }
                Reply::Back => return Ok(false),
                Reply::End => return Ok(true),
            }
        }
        Ok(true)
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use storystick_engine::book::RulesetText;
    use storystick_engine::model::Schema;

    use super::*;

    /// Returns the answers that come of what is typed, and what is shown meanwhile.
    fn typed(text: &str) -> (String, String) {
        let texts = storystick_rulesets::FILES.iter().map(|&(path, text)| RulesetText::shipped(path, text));
        let shelf = Shelf::read(Arc::new(Schema::dwelling()), texts.collect());
        let mut out = Vec::new();
        let look = Look { width: 80, color: false, plain: false };
        let lines = asked(&mut text.as_bytes(), &mut out, &shelf, look).expect("memory can be read");
        (lines, String::from_utf8(out).expect("text"))
    }

    #[test]
    fn a_wrong_answer_is_told_at_once_and_asked_for_again() {
        let (lines, shown) = typed(
            "12 Fern Row\n\nus-txx\nus-tx\n2026-13-05\n2026-01-05\nbedrom 9x9\nbedroom 12x14\ndoor sout 3 32in\ndoor south 3 32in\n\n",
        );
        assert_eq!(
            lines,
            "name 12 Fern Row\nplace us-tx\npermit-date 2026-01-05\nroom bedroom 12x14\ndoor south 3 32in\n"
        );
        for told in [
            "Without it nobody can tell",
            "there is no place `us-txx`",
            "`2026-13-05` is no date",
            "no kind of room `bedrom`",
            "no wall `sout`",
        ] {
            assert!(shown.contains(told), "{told} in\n{shown}");
        }
        assert_eq!(shown.matches("Where is it").count(), 3, "{shown}");
    }

    #[test]
    fn back_takes_answers_back_and_a_question_mark_tells_their_form() {
        let (lines, shown) = typed(
            "One\nback\nTwo\nus-tx\nback\nus-ia\n2026-01-05\n?\nbedroom 12x14\nden 9x9\nback\nback\nback\noffice 9x9\n\n",
        );
        assert_eq!(lines, "name Two\nplace us-ia\npermit-date 2026-01-05\nroom office 9x9\n");
        for told in ["An answer a line", "Without `room den 9x9`.", "There is no room to take back."] {
            assert!(shown.contains(told), "{told} in\n{shown}");
        }
    }

    #[test]
    fn answers_that_do_not_agree_are_asked_for_again_at_the_end() {
        let start = "\nus-tx\n2026-01-05\nden 9x9\ndoor south 3 32in to hall\n";
        let (lines, shown) = typed(&format!("{start}\ndoor south 3 32in to dan\ndoor south 3 32in\n\n"));
        assert!(lines.ends_with("room den 9x9\ndoor south 3 32in\n"), "{lines}");
        assert!(shown.contains("leads to `dan`") && shown.contains("known here: den"), "{shown}");
        let (lines, _) = typed(&format!("{start}\n\n"));
        assert!(lines.ends_with("room den 9x9\n"), "left out: {lines}");
        let (lines, _) = typed(&format!("{start}\nback\nhallway 9x4 \"Hall\"\n\n"));
        assert!(lines.ends_with("to hall\nroom hallway 9x4 \"Hall\"\n"), "the room follows: {lines}");
        let (lines, _) = typed("\nus-tx\n2026-01-05\nstoreys 1\nden 9x9 @2\ntub\nattic 9x9\n\n\n");
        assert!(lines.ends_with("storeys 1\nroom attic 9x9\n"), "a room goes with its parts: {lines}");
    }

    #[test]
    fn an_end_of_the_answers_ends_the_questions() {
        for text in ["", "One\n", "One\nus-tx\n2026-01-05\nden 9x9\ndoor south 3 32in to hall", "\u{0}\n\u{1b}[2J\n"] {
            typed(text);
        }
    }
}
