//! A small typed builder of SVG: shapes with a class from one list, numbers with two decimals, text escaped.

use std::fmt::Write as _;

/// A point in drawing units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct At(pub(crate) f64, pub(crate) f64);

/// How a shape is drawn; the style sheet gives each class its line and fill.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ink {
    /// The outline of a wall.
    Wall,
    /// An open side or railing.
    OpenSide,
    /// A stud.
    Stud,
    /// An opening or fixture.
    Opening,
    /// A counter.
    Counter,
    /// A box to scale.
    Box,
    /// A box with something to put right.
    FlaggedBox,
    /// A line or outline of a symbol.
    Symbol,
    /// A filled part of a symbol.
    SymbolFill,
    /// A symbol's white ground.
    Ground,
    /// A line at a height that is marked.
    StoryLine,
    /// A dimension line or leader.
    Dimension,
    /// A stretch out of reach.
    Bare,
    /// The line between a switch and what it controls.
    Control,
    /// The wood of the stick.
    Stick,
    /// A tick on the stick.
    Tick,
    /// A notch on the stick.
    Notch,
    /// A conductor; its colour goes by its name, its label says it too.
    Wire(&'static str),
}

impl Ink {
    fn class(self) -> &'static str {
        match self {
            Ink::Wall => "wall",
            Ink::OpenSide => "openside",
            Ink::Stud => "stud",
            Ink::Opening => "opening",
            Ink::Counter => "counter",
            Ink::Box => "bx",
            Ink::FlaggedBox => "bx flagged",
            Ink::Symbol => "sym",
            Ink::SymbolFill => "symfill",
            Ink::Ground => "ground",
            Ink::StoryLine => "story",
            Ink::Dimension => "dim",
            Ink::Bare => "bare",
            Ink::Control => "control",
            Ink::Stick => "stick",
            Ink::Tick => "tick",
            Ink::Notch => "notch",
            Ink::Wire(class) => class,
        }
    }
}

/// How a text is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Letter {
    /// Plain.
    Plain,
    /// Small.
    Small,
    /// Strong.
    Strong,
    /// The label of a story line.
    Story,
    /// Something to put right.
    Flag,
    /// Inside a symbol.
    Symbol,
    /// Small, with the paper showing round it where it lies over lines.
    Halo,
}

impl Letter {
    fn class(self) -> &'static str {
        match self {
            Letter::Plain => "t",
            Letter::Small => "t small",
            Letter::Strong => "t strong",
            Letter::Story => "t storyt",
            Letter::Flag => "t flag",
            Letter::Symbol => "t symt",
            Letter::Halo => "t small halo",
        }
    }
}

/// Where a text is anchored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Anchor {
    /// At its beginning.
    Start,
    /// In its middle.
    Middle,
    /// At its end.
    End,
}

/// A drawing.
#[derive(Clone, Debug)]
pub(crate) struct Svg {
    body: String,
    size: At,
    label: String,
    description: String,
    class: &'static str,
}

/// Writes a number with at most two decimals.
fn n(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { String::from("0") } else { text.to_owned() }
}

/// Escapes a text for element content and attributes.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            // No control character has a place in XML.
            letter if letter.is_control() => out.push(' '),
            letter => out.push(letter),
        }
    }
    out
}

impl Svg {
    /// Returns an empty drawing with its text alternative.
    pub(crate) fn new(size: At, label: impl Into<String>, description: impl Into<String>, class: &'static str) -> Svg {
        Svg { body: String::new(), size, label: label.into(), description: description.into(), class }
    }

    /// Returns the width in drawing units.
    pub(crate) fn width(&self) -> f64 {
        self.size.0
    }

    /// Draws a line.
    pub(crate) fn line(&mut self, a: At, b: At, ink: Ink) {
        let (x1, y1, x2, y2) = (n(a.0), n(a.1), n(b.0), n(b.1));
        let _ = write!(self.body, r#"<path class="{}" d="M{x1} {y1}L{x2} {y2}"/>"#, ink.class());
    }

    /// Draws a rectangle.
    pub(crate) fn rect(&mut self, at: At, width: f64, height: f64, ink: Ink) {
        let (x, y, w, h) = (n(at.0), n(at.1), n(width.max(0.0)), n(height.max(0.0)));
        let _ = write!(self.body, r#"<rect class="{}" x="{x}" y="{y}" width="{w}" height="{h}"/>"#, ink.class());
    }

    /// Draws a circle.
    pub(crate) fn circle(&mut self, at: At, radius: f64, ink: Ink) {
        let _ = write!(
            self.body,
            r#"<circle class="{}" cx="{}" cy="{}" r="{}"/>"#,
            ink.class(),
            n(at.0),
            n(at.1),
            n(radius)
        );
    }

    /// Draws a line through points, closed or not.
    pub(crate) fn poly(&mut self, points: &[At], closed: bool, ink: Ink) {
        let mut d = String::new();
        for (at, point) in points.iter().enumerate() {
            let _ = write!(d, "{}{} {}", if at == 0 { 'M' } else { 'L' }, n(point.0), n(point.1));
        }
        if closed {
            d.push('Z');
        }
        let _ = write!(self.body, r#"<path class="{}" d="{d}"/>"#, ink.class());
    }

    /// Draws a curve through a control point.
    pub(crate) fn curve(&mut self, from: At, by: At, to: At, ink: Ink) {
        let _ = write!(
            self.body,
            r#"<path class="{}" d="M{} {}Q{} {} {} {}"/>"#,
            ink.class(),
            n(from.0),
            n(from.1),
            n(by.0),
            n(by.1),
            n(to.0),
            n(to.1)
        );
    }

    /// Draws a line that leaves and arrives level.
    pub(crate) fn sway(&mut self, from: At, to: At, ink: Ink) {
        let half = n((from.0 + to.0) / 2.0);
        let (x, y, to_x, to_y) = (n(from.0), n(from.1), n(to.0), n(to.1));
        let _ =
            write!(self.body, r#"<path class="{}" d="M{x} {y}C{half} {y} {half} {to_y} {to_x} {to_y}"/>"#, ink.class());
    }

    /// Draws part of a circle from one point to another.
    pub(crate) fn arc(&mut self, from: At, to: At, radius: f64, clockwise: bool, ink: Ink) {
        let _ = write!(
            self.body,
            r#"<path class="{}" d="M{} {}A{r} {r} 0 0 {} {} {}"/>"#,
            ink.class(),
            n(from.0),
            n(from.1),
            u8::from(clockwise),
            n(to.0),
            n(to.1),
            r = n(radius)
        );
    }

    /// Sets a text.
    pub(crate) fn text(&mut self, at: At, anchor: Anchor, letter: Letter, text: &str) {
        self.turned(at, 0.0, anchor, letter, text);
    }

    /// Sets a text turned by some degrees.
    pub(crate) fn turned(&mut self, at: At, degrees: f64, anchor: Anchor, letter: Letter, text: &str) {
        let anchor = match anchor {
            Anchor::Start => "",
            Anchor::Middle => " mid",
            Anchor::End => " end",
        };
        let (x, y) = (n(at.0), n(at.1));
        let turn =
            if degrees == 0.0 { String::new() } else { format!(r#" transform="rotate({} {x} {y})""#, n(degrees)) };
        let _ = write!(
            self.body,
            r#"<text class="{}{anchor}" x="{x}" y="{y}"{turn}>{}</text>"#,
            letter.class(),
            escape(text)
        );
    }

    /// Draws into a group with data that tests and scripts read, and a title that a pointer shows.
    pub(crate) fn group(&mut self, data: &[(&str, String)], title: &str, draw: impl FnOnce(&mut Svg)) {
        self.body.push_str("<g");
        for (name, value) in data {
            let _ = write!(self.body, r#" data-{name}="{}""#, escape(value));
        }
        let _ = write!(self.body, "><title>{}</title>", escape(title));
        draw(self);
        self.body.push_str("</g>");
    }

    fn open(&self, more: &str) -> String {
        let (w, h) = (n(self.size.0), n(self.size.1));
        format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" class="drawing {}" viewBox="0 0 {w} {h}" width="{w}" height="{h}" role="img" aria-label="{}"{more}><desc>{}</desc>"#,
            self.class,
            escape(&self.label),
            escape(&self.description),
        )
    }

    /// Returns the drawing for a page that has the style sheet.
    pub(crate) fn inline(&self) -> String {
        format!("{}{}</svg>", self.open(""), self.body)
    }

    /// Returns the drawing as a file of its own.
    pub(crate) fn standalone(&self) -> String {
        let paper = format!(r#"<rect class="paper" width="{}" height="{}"/>"#, n(self.size.0), n(self.size.1));
        format!("{}<style>{STYLE}</style>{HATCH}{paper}{}</svg>\n", self.open(""), self.body)
    }
}

/// The pattern of stretches out of reach, once in a document.
pub(crate) const HATCH: &str = r#"<defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect class="hatchground" width="6" height="6"/><path class="hatchline" d="M0 0V6"/></pattern></defs>"#;

/// Line, fill and letters of all drawings: ink on paper, chalk blue for heights, lumber-crayon red for what is wrong, pine for the stick.
pub(crate) const STYLE: &str = include_str!("drawing.css");
