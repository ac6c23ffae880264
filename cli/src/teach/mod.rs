//! What drills and grading share: the files that go between trainer and trainee, chance from a seed, and the shipped tables of
//! mistakes and competencies.

pub(crate) mod fault;
pub(crate) mod papers;
pub(crate) mod readings;
pub(crate) mod seed;

/// The shipped rubric.
pub(crate) const RUBRIC: &str = include_str!("data/rubric.toml");

/// The shipped table of mistakes, of figures to change and of worksheets to ask for.
pub(crate) const MISTAKES: &str = include_str!("data/mistakes.toml");

/// The shipped bank of terms.
pub(crate) const TERMS: &str = include_str!("data/terms.toml");

/// Reads one of these files.
///
/// # Errors
/// What the user should read: file, place, and what is wrong there.
pub(crate) fn read<T: serde::de::DeserializeOwned>(name: &str, text: &str) -> Result<T, String> {
    toml::from_str(text).map_err(|error| format!("`{name}`: {}\n", error.to_string().trim_end()))
}

/// Returns the sections that a citation names, without their subdivisions: `314.16(B)(1), 110.3` as `314.16` and `110.3`.
/// A citation of another form is itself.
pub(crate) fn sections(cites: &str) -> Vec<String> {
    let parts = cites.split([',', ';']).map(str::trim).filter(|part| !part.is_empty());
    let plain =
        |part: &str| part.split('(').next().unwrap_or(part).split(" exception").next().unwrap_or(part).to_owned();
    parts.map(|part| plain(part).trim().to_lowercase()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sections_stand_without_their_subdivisions() {
        assert_eq!(sections("334.30, 312.5(C)"), ["334.30", "312.5"]);
        assert_eq!(sections("300.22(C) exception"), ["300.22"]);
        assert_eq!(sections("shop book, make-up"), ["shop book", "make-up"]);
    }

    #[test]
    fn the_shipped_tables_can_be_read() {
        read::<papers::Rubric>("rubric", RUBRIC).unwrap();
        read::<papers::Mistakes>("mistakes", MISTAKES).unwrap();
    }

    #[test]
    fn every_competency_looks_at_rules_and_figures_that_exist() {
        let rubric: papers::Rubric = read("rubric", RUBRIC).unwrap();
        let rules: Vec<&str> = storystick_rulesets::FILES
            .iter()
            .filter(|(path, _)| path.ends_with(".rhai"))
            .flat_map(|(_, text)| text.lines())
            .filter_map(|line| line.strip_prefix("rule \"")?.split('"').next())
            .collect();
        let schema = storystick_engine::model::Schema::dwelling();
        for one in &rubric.competency {
            for pattern in &one.rules {
                assert!(rules.iter().any(|rule| papers::fits(pattern, rule)), "{}: no rule `{pattern}`", one.id);
            }
            for figure in one.figures.iter().chain(&one.fields) {
                let (kind, field) = figure.split_once('.').unwrap();
                let kind = schema.kind(kind).unwrap_or_else(|| panic!("{}: no kind in `{figure}`", one.id));
                assert!(schema.field(kind, field).is_some(), "{}: no field in `{figure}`", one.id);
            }
        }
    }
}
