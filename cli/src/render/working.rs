//! How computed figures came about: the worksheet of every derived field of an item.

use serde_json::{Value, json};
use storystick_engine::calc::load::load_worksheets;
use storystick_engine::calc::{Ctx, Derived, Library, Line};
use storystick_engine::inspection::Inspected;
use storystick_engine::model::kinds::site;
use storystick_engine::model::{Cell, FieldId, FieldSpec, ItemIndex, Job, Type};
use storystick_engine::quantity::{Quantity, UnitSystem};
use storystick_engine::source::{Files, Span};

use super::report::{Drawn, Look};
use super::wrap::{indented, visible, wrap};

/// The worksheets of one item.
#[derive(Debug)]
pub(crate) struct Working {
    job: String,
    file: String,
    item: String,
    kind: String,
    units: UnitSystem,
    sheets: Vec<Sheet>,
}

#[derive(Debug)]
struct Sheet {
    field: &'static str,
    asks: &'static str,
    value: Option<String>,
    /// What it comes to, in a sentence.
    says: Option<String>,
    /// Whether it has a figure that is the least it can be.
    at_least: bool,
    missing: Vec<String>,
    derived: Derived,
}

/// Returns the worksheets of an item: every field of it that is computed.
pub(crate) fn of(inspected: &Inspected, library: &Library, item: ItemIndex) -> Working {
    let job = &inspected.job;
    let kind = job.item(item).kind;
    let units = units(job);
    let ctx = Ctx::new(job, &*inspected.code.book);
    let mut sheets = Vec::new();
    for (at, spec) in job.schema.spec(kind).fields.iter().enumerate() {
        let Some(derived) = library.derive(&ctx, item, FieldId(at as u16)) else { continue };
        let missing = derived.missing.iter().map(|&(item, field)| job.path(item, field)).collect();
        let value = shown(job, spec, derived.cell, units);
        sheets.push(Sheet { field: spec.name, asks: spec.doc, value, says: None, at_least: false, missing, derived });
    }
    Working {
        job: inspected.report.job.clone(),
        file: inspected.report.file.clone(),
        item: job.id(item).to_owned(),
        kind: job.schema.spec(kind).word.to_owned(),
        units,
        sheets,
    }
}

/// Returns one computed figure with its working, as trainer and trainee write it; none where it is not known.
pub(crate) fn worked_out(
    inspected: &Inspected,
    library: &Library,
    item: ItemIndex,
    field: &str,
    figure: &str,
) -> Option<crate::teach::papers::Worked> {
    let working = of(inspected, library, item);
    let sheet = working.sheets.iter().find(|sheet| sheet.field == field)?;
    let lines = sheet.derived.lines.iter().filter(|line| line.total.is_some());
    let lines = lines.map(|line| crate::teach::papers::Line {
        what: line.what.clone(),
        total: working.amount(line.total),
        cites: line.cite.clone().unwrap_or_default(),
    });
    let (item, figure) = (working.item.clone(), figure.to_owned());
    Some(crate::teach::papers::Worked { item, figure, value: sheet.value.clone()?, lines: lines.collect() })
}

/// Returns what a field of an item holds, in the units of the job.
pub(crate) fn written(job: &Job, item: ItemIndex, field: &str) -> Option<String> {
    let kind = job.item(item).kind;
    let at = job.schema.field(kind, field)?;
    shown(job, job.schema.field_spec(kind, at), job.cell(item, at), units(job))
}

/// Returns the load worksheet of a dwelling.
pub(crate) fn loads(inspected: &Inspected) -> Working {
    let job = &inspected.job;
    let ctx = Ctx::new(job, &*inspected.code.book);
    let units = units(job);
    let sheets = load_worksheets(&ctx)
        .into_iter()
        .map(|part| Sheet {
            field: part.title,
            asks: part.about,
            value: part.value.map(|value| value.print(units)),
            says: part.installed.map(|installed| installed.sentence()),
            at_least: part.is_at_least(),
            missing: part.missing.iter().map(|&(item, field)| job.path(item, field)).collect(),
            derived: Derived { cell: Cell::MISSING, missing: part.missing, lines: part.lines, fault: part.fault },
        })
        .collect();
    Working {
        job: inspected.report.job.clone(),
        file: inspected.report.file.clone(),
        item: String::from("worksheet"),
        kind: String::from("load"),
        units,
        sheets,
    }
}

fn units(job: &Job) -> UnitSystem {
    let item = job.schema.kind(site::NAME).and_then(|kind| job.of_kind(kind).first().copied());
    match item.and_then(|item| job.text(item, site::UNITS)) {
        Some("metric") => UnitSystem::Metric,
        _ => UnitSystem::Customary,
    }
}

fn shown(job: &Job, spec: &FieldSpec, cell: Cell, units: UnitSystem) -> Option<String> {
    if cell.is_missing() {
        return None;
    }
    Some(match &spec.ty {
        Type::Flag if cell.to_flag() => String::from("yes"),
        Type::Flag => String::from("no"),
        Type::Text | Type::Word(_) => job.symbols.text(cell.to_symbol()).to_owned(),
        Type::Quantity(dimension) => cell.to_quantity(*dimension).print(units),
        Type::Item(_) => cell.linked().map_or("none", |item| job.id(item)).to_owned(),
        Type::List(_) => format!("{} items", cell.to_list().len),
    })
}

fn places(files: &Files, spans: &[Span]) -> Vec<String> {
    spans.iter().filter_map(|span| files.place(*span)).map(|at| format!("{}:{}", at.file, at.line)).collect()
}

impl Working {
    fn amount(&self, amount: Option<Quantity>) -> String {
        amount.map_or_else(String::new, |amount| amount.print(self.units))
    }

    /// Returns how many times how much: `3 × 2.25 in3`.
    fn reckoning(&self, line: &Line) -> String {
        match (line.count, line.each) {
            (Some(count), Some(each)) => format!("{} × {}", count.print(self.units), each.print(self.units)),
            (one, other) => self.amount(one.or(other)),
        }
    }
}

/// Returns worksheets for people.
pub(crate) fn text(working: &Working, files: &Files, look: Look) -> String {
    let mut text = wrap(&format!("{} · {}", working.job, working.file), look.width, "  ");
    text.push_str(&wrap(&format!("{} {}, with its working", working.kind, working.item), look.width, "  "));
    text.push('\n');
    if working.sheets.is_empty() {
        text.push_str("  nothing of it is computed\n\n");
    }
    for sheet in &working.sheets {
        let value = sheet.value.as_deref().unwrap_or("not known");
        let least = if sheet.at_least { "at least " } else { "" };
        text.push_str(&wrap(&format!("{} = {least}{value}", sheet.field.replace('_', " ")), look.width, "  "));
        if let Some(says) = &sheet.says {
            text.push_str(&indented(says, look.width, 2, ""));
        }
        text.push_str(&indented(sheet.asks, look.width, 2, ""));
        for line in &sheet.derived.lines {
            text.push_str(&worked(working, line, files, look.width));
        }
        if !sheet.missing.is_empty() {
            text.push_str(&indented(&format!("not recorded: {}", sheet.missing.join("; ")), look.width, 2, "  "));
        }
        if let Some(fault) = &sheet.derived.fault {
            text.push_str(&Drawn::problem(files, fault).draw(look));
        }
        text.push('\n');
    }
    text.push_str(&wrap(super::json::NOTICE, look.width, ""));
    text
}

/// Returns a line of a worksheet as people write one: what, and its amount at the right edge; below it how it was reckoned, by which
/// section, and where its figures stand.
fn worked(working: &Working, line: &Line, files: &Files, width: usize) -> String {
    let total = working.amount(line.total.or(if line.each.is_none() { line.count } else { None }));
    let reckoning = if line.total.is_some() { working.reckoning(line) } else { String::new() };
    let shown = places(files, &line.from);
    let own = format!("{}:", working.file);
    let from =
        shown.iter().map(|place| place.strip_prefix(&own).map_or_else(|| place.clone(), |line| format!("line {line}")));
    let below: Vec<String> = [Some(reckoning).filter(|text| !text.is_empty() && *text != total), line.cite.clone()]
        .into_iter()
        .flatten()
        .chain(from)
        .collect();
    let room = width.saturating_sub(4 + total.chars().count() + 2).max(20);
    let mut text = String::new();
    let what = wrap(&line.what, room, "  ");
    for (at, part) in what.lines().enumerate() {
        let amount = if at == 0 { total.as_str() } else { "" };
        let gap = width.saturating_sub(2 + part.chars().count() + amount.chars().count());
        text.push_str(format!("  {part}{}{amount}", " ".repeat(gap)).trim_end());
        text.push('\n');
    }
    if !below.is_empty() {
        text.push_str(&indented(&below.join(" · "), width, 6, ""));
    }
    text
}

/// Returns worksheets for programs.
pub(crate) fn json(all: &[(Working, &Files)]) -> String {
    let jobs: Vec<Value> = all.iter().map(|(working, files)| one_json(working, files)).collect();
    let whole = json!({
        "schema": super::json::SCHEMA, "program": "storystick", "version": env!("CARGO_PKG_VERSION"),
        "notice": super::json::NOTICE, "working": jobs,
    });
    serde_json::to_string_pretty(&whole).unwrap_or_default() + "\n"
}

fn one_json(working: &Working, files: &Files) -> Value {
    let amount = |amount: Option<Quantity>| amount.map(|amount| amount.print(working.units));
    let line = |line: &Line| {
        json!({
            "what": line.what, "count": amount(line.count), "each": amount(line.each), "total": amount(line.total),
            "cite": line.cite, "from": line.from.iter().filter_map(|span| super::json::At::of(files, *span, "")).collect::<Vec<_>>(),
        })
    };
    let fields: Vec<Value> = working
        .sheets
        .iter()
        .map(|sheet| {
            json!({
                "field": sheet.field, "asks": sheet.asks, "value": sheet.value, "at_least": sheet.at_least,
                "says": sheet.says, "missing": sheet.missing,
                "fault": sheet.derived.fault.as_ref().map(|fault| fault.message.clone()),
                "lines": sheet.derived.lines.iter().map(line).collect::<Vec<_>>(),
            })
        })
        .collect();
    json!({ "job": working.job, "file": working.file, "kind": working.kind, "item": working.item, "fields": fields })
}

/// Returns worksheets as comma-separated values after RFC 4180: a row for each line, and one for the figure that they give.
pub(crate) fn csv(all: &[(Working, &Files)]) -> String {
    let mut text = row(&["file", "item", "field", "line", "count", "each", "total", "cite", "from"]);
    for (working, files) in all {
        for sheet in &working.sheets {
            let mut add = |cells: [&str; 6]| {
                let [what, count, each, total, cite, from] = cells;
                text.push_str(&row(&[&working.file, &working.item, sheet.field, what, count, each, total, cite, from]));
            };
            for line in &sheet.derived.lines {
                let cite = line.cite.as_deref().unwrap_or_default();
                let (count, each, total) =
                    (working.amount(line.count), working.amount(line.each), working.amount(line.total));
                add([&line.what, &count, &each, &total, cite, &places(files, &line.from).join(" ")]);
            }
            let missing = if sheet.missing.is_empty() { String::new() } else { sheet.missing.join("; ") };
            match &sheet.value {
                Some(value) if sheet.at_least => {
                    add(["at least", "", "", value, "", ""]);
                    add(["not recorded", "", "", "", "", &missing]);
                }
                Some(value) => add(["result", "", "", value, "", ""]),
                None => add(["not known", "", "", "", "", &missing]),
            }
            if let Some(says) = &sheet.says {
                add([says, "", "", "", "", ""]);
            }
        }
    }
    text
}

fn row(cells: &[&str]) -> String {
    let quoted = |cell: &&str| {
        let cell = super::paper::csv::inert(&visible(cell)).into_owned();
        if cell.contains([',', '"', '\n']) { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell }
    };
    cells.iter().map(quoted).collect::<Vec<_>>().join(",") + "\r\n"
}

#[cfg(test)]
mod tests {
    use super::row;

    #[test]
    fn cells_are_quoted_where_they_must_be() {
        assert_eq!(row(&["a", "b, c", "4'-6 1/2\""]), "a,\"b, c\",\"4'-6 1/2\"\"\"\r\n");
    }
}
