//! Which edition is in force: the kinds of date rule that are met in practice.

use super::*;

/// Returns a shelf of three bare editions and a place with these adoptions.
fn place(adopts: &str) -> Shelf {
    shelf(&[
        ("us/model-2014/ruleset.toml", &manifest("us/model-2014", "edition", "")),
        ("us/model-2017/ruleset.toml", &manifest("us/model-2017", "edition", "")),
        ("us/model-2020/ruleset.toml", &manifest("us/model-2020", "edition", "")),
        ("demo/tamarack/ruleset.toml", &manifest("demo/tamarack", "jurisdiction", adopts)),
    ])
}

fn adopts(edition: &str, from: &str, more: &str) -> String {
    format!("[[adopts]]\nruleset = \"us/model-{edition}\"\nfrom = {from}\ncites = \"Act\"\n{more}\n")
}

fn edition(shelf: &mut Shelf, ask: &Ask) -> String {
    book(shelf, ask).edition.clone()
}

fn chosen(date: &str, edition: &str) -> Ask {
    Ask { edition: Some(edition.into()), ..ask("demo/tamarack", date) }
}

#[test]
fn an_edition_begins_on_its_very_day_and_ends_with_the_next() {
    let mut shelf = place(&(adopts("2017", "2018-08-01", "") + &*adopts("2020", "2021-07-01", "")));
    for (date, expected) in [
        ("2018-08-01", "us/model-2017"),
        ("2021-06-30", "us/model-2017"),
        ("2021-07-01", "us/model-2020"),
        ("2030-01-01", "us/model-2020"),
    ] {
        assert_eq!(edition(&mut shelf, &ask("demo/tamarack", date)), expected, "{date}");
    }
    assert_eq!(
        fails(&mut shelf, &ask("demo/tamarack", "2018-07-31")),
        "no edition is in force in `demo/tamarack` on 2018-07-31 @ PERMIT\n\
         \x20 from 2018-08-01 @ \"us/model-2017\"\n\
         \x20 from 2021-07-01 @ \"us/model-2020\"\n\
         \x20 help: the first adoption known for this place begins on 2018-08-01: look at the date of the job\n"
    );
}

#[test]
fn an_adoption_may_end_by_itself() {
    let mut shelf = place(&adopts("2017", "2018-08-01", "until = 2020-12-31"));
    assert_eq!(edition(&mut shelf, &ask("demo/tamarack", "2020-12-31")), "us/model-2017");
    assert_eq!(shelf.days_of_change("demo/tamarack"), [day("2018-08-01"), day("2021-01-01")]);
    assert_eq!(shelf.newest_start("demo/tamarack"), Some(day("2018-08-01")));
    assert_eq!(
        fails(&mut shelf, &ask("demo/tamarack", "2021-01-01")),
        "no edition is in force in `demo/tamarack` on 2021-01-01 @ PERMIT\n\
         \x20 from 2018-08-01 until 2020-12-31 @ \"us/model-2017\"\n\
         \x20 help: the adoptions known for this place have ended: look at the date of the job\n"
    );
}

/// Minnesota, Massachusetts, Idaho: the day of filing counts.
#[test]
fn the_application_date_may_count() {
    let mut shelf =
        place(&(adopts("2017", "2018-08-01", "") + &*adopts("2020", "2021-07-01", "by = \"application_date\"")));
    let on = |application: &str| Ask { application_date: Some(day(application)), ..ask("demo/tamarack", "2021-09-01") };
    assert_eq!(edition(&mut shelf, &on("2021-06-30")), "us/model-2017");
    assert_eq!(edition(&mut shelf, &on("2021-07-01")), "us/model-2020");
    assert_eq!(
        fails(&mut shelf, &ask("demo/tamarack", "2021-09-01")),
        "`demo/tamarack` counts the application date, which the job does not record @ PERMIT\n\
         \x20 adopted by application date, from 2021-07-01 @ \"us/model-2020\"\n\
         \x20 help: write `application_date = 2021-09-01` with the right day under [site]\n"
    );
    // Applied for before the permit was given: the newer edition can't be meant.
    assert_eq!(edition(&mut shelf, &ask("demo/tamarack", "2021-06-30")), "us/model-2017");
}

/// Washington 2014: the day of purchase counts, and before the first day the new edition may be chosen.
#[test]
fn the_new_edition_may_be_chosen_before_it_begins() {
    let more = "by = \"purchase_date\"\nchoice_from = 2014-05-01";
    let mut shelf = place(&(adopts("2014", "2010-01-01", "") + &*adopts("2017", "2014-07-01", more)));
    let bought = |date: &str, edition: Option<&str>| Ask {
        purchase_date: Some(day(date)),
        edition: edition.map(str::to_owned),
        ..ask("demo/tamarack", "2014-08-01")
    };
    assert_eq!(edition(&mut shelf, &bought("2014-06-30", None)), "us/model-2014");
    assert_eq!(edition(&mut shelf, &bought("2014-06-30", Some("us/model-2017"))), "us/model-2017");
    assert_eq!(edition(&mut shelf, &bought("2014-05-01", Some("us/model-2017"))), "us/model-2017");
    assert_eq!(edition(&mut shelf, &bought("2014-07-01", None)), "us/model-2017");
    assert!(
        fails(&mut shelf, &bought("2014-04-30", Some("us/model-2017"))).starts_with("`us/model-2017` can't be chosen")
    );
    assert!(
        fails(&mut shelf, &bought("2014-07-01", Some("us/model-2014"))).starts_with("`us/model-2014` can't be chosen")
    );
    // The very first adoption of a place may be chosen early too, but not taken for granted.
    let mut shelf = place(&adopts("2017", "2014-07-01", "choice_from = 2014-05-01"));
    assert_eq!(edition(&mut shelf, &chosen("2014-05-01", "us/model-2017")), "us/model-2017");
    assert_eq!(
        fails(&mut shelf, &ask("demo/tamarack", "2014-05-01")),
        "no edition is in force in `demo/tamarack` on 2014-05-01 @ PERMIT\n\
         \x20 from 2014-07-01 @ \"us/model-2017\"\n\
         \x20 help: `us/model-2017` may be chosen already: write `edition = \"us/model-2017\"` under [site]\n"
    );
}

/// New Jersey: six months with either edition.
#[test]
fn a_grace_period_leaves_the_choice_until_its_last_day() {
    let mut shelf =
        place(&(adopts("2014", "2015-01-01", "") + &*adopts("2017", "2015-09-21", "choice_until = 2016-03-21")));
    assert_eq!(edition(&mut shelf, &ask("demo/tamarack", "2015-09-20")), "us/model-2014");
    assert_eq!(edition(&mut shelf, &ask("demo/tamarack", "2015-09-21")), "us/model-2017");
    assert_eq!(edition(&mut shelf, &chosen("2016-03-21", "us/model-2014")), "us/model-2014");
    assert_eq!(edition(&mut shelf, &chosen("2016-03-21", "us/model-2017")), "us/model-2017");
    assert_eq!(
        fails(&mut shelf, &chosen("2016-03-22", "us/model-2014")),
        "`us/model-2014` can't be chosen in `demo/tamarack` on 2016-03-22 @ EDITION\n\
         \x20 from 2015-09-21 @ \"us/model-2017\"\n\
         \x20 help: `us/model-2017` is in force; leave `edition` out, or look at the dates\n"
    );
    assert_eq!(
        fails(&mut shelf, &chosen("2016-03-21", "us/model-2020")),
        "`us/model-2020` can't be chosen in `demo/tamarack` on 2016-03-21 @ EDITION\n\
         \x20 from 2015-09-21 @ \"us/model-2017\"\n\
         \x20 from 2015-01-01 @ \"us/model-2014\"\n\
         \x20 help: `us/model-2017` is in force; `us/model-2014` may be chosen instead\n"
    );
    assert_eq!(
        fails(&mut shelf, &chosen("2016-03-21", "us/model-2041")),
        "there is no edition `us/model-2041` @ EDITION\n  help: did you mean `us/model-2014`?\n"
    );
}

/// Vancouver, Washington: work inside an earlier building application keeps the earlier edition.
#[test]
fn the_first_recorded_of_several_dates_counts() {
    let more = "by = [\"application_date\", \"permit_date\"]";
    let mut shelf = place(&(adopts("2017", "2018-01-01", "") + &*adopts("2020", "2021-07-01", more)));
    assert_eq!(edition(&mut shelf, &ask("demo/tamarack", "2021-07-01")), "us/model-2020");
    let earlier = Ask { application_date: Some(day("2021-06-30")), ..ask("demo/tamarack", "2021-07-01") };
    assert_eq!(edition(&mut shelf, &earlier), "us/model-2017");
}

/// Manufactured homes go by the day they were made, under a standard complete in itself.
#[test]
fn an_edition_may_be_a_place_by_itself_and_count_the_manufacture_date() {
    let mut shelf = shelf(&[
        (
            "us/manufactured-home/ruleset.toml",
            &manifest("us/manufactured-home", "edition", "from = 1976-06-15\nby = \"manufacture_date\"\n"),
        ),
        ("us/model-2020/ruleset.toml", &manifest("us/model-2020", "edition", "")),
    ]);
    let made = |date: &str| Ask { manufacture_date: Some(day(date)), ..ask("us/manufactured-home", "2023-05-10") };
    let home = book(&mut shelf, &made("1976-06-15"));
    assert_eq!((home.edition.as_str(), home.jurisdiction.as_str()), ("us/manufactured-home", "us/manufactured-home"));
    assert_eq!(layer_ids(&home), ["us/manufactured-home"]);
    assert_eq!(
        fails(&mut shelf, &made("1976-06-14")),
        "`us/manufactured-home` is not in force on 1976-06-14 @ MADE\n\
         \x20 in force from 1976-06-15 @ \"us/manufactured-home\"\n\
         \x20 help: look at the date of the job\n"
    );
    assert_eq!(
        fails(&mut shelf, &ask("us/manufactured-home", "2023-05-10")),
        "`us/manufactured-home` counts the manufacture date, which the job does not record @ PERMIT\n\
         \x20 counts the manufacture date @ \"us/manufactured-home\"\n\
         \x20 help: write `manufacture_date = 2023-05-10` with the right day under [site]\n"
    );
    let other = Ask { edition: Some("us/model-2020".into()), ..made("2000-01-01") };
    assert_eq!(
        fails(&mut shelf, &other),
        "`us/model-2020` can't be chosen where `us/manufactured-home` itself is the place @ EDITION\n\
         \x20 the place @ PLACE\n\
         \x20 help: leave `edition` out, or name the place that adopted it as `jurisdiction`\n"
    );
}

/// Utah, Michigan, Indiana: homes under one code, other buildings under another.
#[test]
fn the_kind_of_dwelling_may_decide() {
    let homes = "dwelling = [\"one_family\", \"two_family\"]";
    let mut shelf =
        place(&(adopts("2017", "2018-01-01", homes) + &*adopts("2020", "2018-01-01", "dwelling = \"multifamily\"")));
    assert_eq!(edition(&mut shelf, &ask("demo/tamarack", "2019-01-01")), "us/model-2017");
    let of = |dwelling: &str| Ask { dwelling: Some(dwelling.into()), ..ask("demo/tamarack", "2019-01-01") };
    assert_eq!(edition(&mut shelf, &of("multifamily")), "us/model-2020");
    assert_eq!(
        fails(&mut shelf, &of("accessory")),
        "no edition is in force in `demo/tamarack` on 2019-01-01 @ PERMIT\n\
         \x20 help: `demo/tamarack` and the places around it adopt no edition for this kind of dwelling: write as `jurisdiction` the place where the job stands, a state or city within it; `storystick ruleset list` names all\n"
    );
}

#[test]
fn two_editions_can_not_begin_on_one_day() {
    let mut shelf = place(&(adopts("2017", "2018-01-01", "") + &*adopts("2020", "2018-01-01", "")));
    assert_eq!(
        fails(&mut shelf, &ask("demo/tamarack", "2019-01-01")),
        "`demo/tamarack` adopts two editions for one dwelling from 2018-01-01 on @ \"us/model-2020\"\n\
         \x20 the other @ \"us/model-2017\"\n\
         \x20 help: give them different days, or say with `dwelling` which kinds of dwelling each is for\n"
    );
}

#[test]
fn the_nearest_place_with_an_edition_in_force_decides() {
    let city = adopts("2020", "2022-01-01", "choice_until = 2022-06-30");
    let mut shelf = shelf(&[
        ("us/model-2017/ruleset.toml", &manifest("us/model-2017", "edition", "")),
        ("us/model-2020/ruleset.toml", &manifest("us/model-2020", "edition", "")),
        ("demo/tamarack/ruleset.toml", &manifest("demo/tamarack", "jurisdiction", &adopts("2017", "2018-01-01", ""))),
        ("demo/harlow/ruleset.toml", &manifest("demo/harlow", "jurisdiction", "within = \"demo/tamarack\"\n")),
        (
            "demo/millrace/ruleset.toml",
            &manifest("demo/millrace", "jurisdiction", &format!("within = \"demo/harlow\"\n{city}")),
        ),
    ]);
    let on = |date: &str| ask("demo/millrace", date);
    let before = book(&mut shelf, &on("2021-12-31"));
    assert_eq!(layer_ids(&before), ["us/model-2017", "demo/tamarack", "demo/harlow", "demo/millrace"]);
    assert_eq!(before.layers[0].adopted.as_ref().map(|adopted| adopted.by.as_str()), Some("demo/tamarack"));
    let after = book(&mut shelf, &on("2022-01-01"));
    assert_eq!(layer_ids(&after), ["us/model-2020", "demo/tamarack", "demo/harlow", "demo/millrace"]);
    assert_eq!(after.layers[0].adopted.as_ref().map(|adopted| adopted.by.as_str()), Some("demo/millrace"));
    // In the city's grace period the earlier edition is the state's.
    let state = Ask { edition: Some("us/model-2017".into()), ..on("2022-06-30") };
    assert_eq!(edition(&mut shelf, &state), "us/model-2017");
    assert!(
        fails(&mut shelf, &Ask { permit_date: day("2022-07-01"), ..state })
            .starts_with("`us/model-2017` can't be chosen")
    );
    assert_eq!(shelf.newest_start("demo/millrace"), Some(day("2022-07-01")));
    assert_eq!(shelf.newest_start("us/model-2017"), Some(day("2026-11-25")));
    assert_eq!(shelf.days_of_change("demo/millrace"), [day("2018-01-01"), day("2022-01-01"), day("2022-07-01")]);
}

#[test]
fn the_counting_date_decides_on_amendments_too() {
    let adopted = adopts("2017", "2018-01-01", "by = \"application_date\"");
    let amended =
        "[[amends]]\nentry = \"a.b\"\nvalue = \"8 in\"\ncites = \"Act\"\nfrom = 2022-01-01\nuntil = 2022-12-31\n";
    let mut shelf = shelf(&[
        ("us/model-2017/ruleset.toml", &manifest("us/model-2017", "edition", "")),
        ("us/model-2017/code/a.toml", "[a.b]\nvalue = \"12 in\"\ncites = \"x\"\n"),
        ("demo/tamarack/ruleset.toml", &manifest("demo/tamarack", "jurisdiction", &(adopted + amended))),
    ]);
    let applied = |date: &str| Ask { application_date: Some(day(date)), ..ask("demo/tamarack", "2023-06-01") };
    for (date, expected) in
        [("2021-12-31", "12 in"), ("2022-01-01", "8 in"), ("2022-12-31", "8 in"), ("2023-01-01", "12 in")]
    {
        assert_eq!(value(&book(&mut shelf, &applied(date)), "a.b"), expected, "{date}");
    }
}
