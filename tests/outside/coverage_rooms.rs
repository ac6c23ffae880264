//! Wall coverage on random rooms against a brute-force sampler: the floor line in steps of a quarter inch, walked step by step.

use std::collections::VecDeque;
use std::fmt::Write as _;
use std::sync::Arc;

use storystick_engine::calc::{Ctx, Library};
use storystick_engine::job::{Document, Setting, load};
use storystick_engine::model::kinds::room;
use storystick_engine::model::{Job, Schema, Symbols};
use storystick_engine::problem::Severity;
use storystick_engine::source::Files;

use crate::codes::{INCH, book};
use crate::random::Random;

/// Quarter inches in a foot.
const FOOT: i64 = 48;
/// The model code's reach, least wall space and greatest height, in quarter inches: the sampler knows them by itself.
const REACH: i64 = 6 * FOOT;
const LEAST: i64 = 2 * FOOT;

struct Wall {
    length: i64,
    turn: i64,
    kind: &'static str,
}

struct Opening {
    wall: usize,
    at: i64,
    width: i64,
    kind: &'static str,
}

struct Receptacle {
    wall: usize,
    along: i64,
    /// What to write for it, and whether it counts.
    fields: &'static str,
    device: &'static str,
    counts: bool,
}

struct Room {
    walls: Vec<Wall>,
    openings: Vec<Opening>,
    receptacles: Vec<Receptacle>,
}

/// How receptacles may be, and whether they then count.
const WAYS: [(&str, &str, bool); 8] = [
    ("height = \"15 in\"", "", true),
    ("height = \"5 ft 6 in\"", "", true),
    ("height = \"5 ft 6 1/16 in\"", "", false),
    ("mounted = \"floor\"\nfrom_wall = \"18 in\"", "", true),
    ("mounted = \"floor\"\nfrom_wall = \"18 1/4 in\"", "", false),
    ("height = \"15 in\"", "switched = \"whole\"", false),
    ("height = \"15 in\"", "in_cabinet = true", false),
    ("height = \"15 in\"", "switched = \"half\"", true),
];

fn walls(random: &mut Random) -> Vec<Wall> {
    let (a, b) = (random.within(6 * FOOT, 24 * FOOT), random.within(6 * FOOT, 24 * FOOT));
    let (c, d) = (random.within(2 * FOOT, a - 2 * FOOT), random.within(2 * FOOT, b - 2 * FOOT));
    let cut = c.min(d).min(4 * FOOT);
    // The slanted side of a cut corner, to the nearest quarter inch.
    let slant = (cut as f64 * std::f64::consts::SQRT_2).round() as i64;
    let sides: Vec<(i64, i64)> = match random.within(0, 3) {
        0 | 1 => vec![(a, 90), (b, 90), (a, 90), (b, 90)],
        2 => vec![(a - c, 90), (d, -90), (c, 90), (b - d, 90), (a, 90), (b, 90)],
        _ => vec![(a - cut, 45), (slant, 45), (b - cut, 90), (a, 90), (b, 90)],
    };
    let kinds = ["wall", "wall", "wall", "wall", "wall", "railing", "fixed_panel", "open"];
    let kind = |random: &mut Random| kinds[random.within(0, 7) as usize];
    sides.into_iter().map(|(length, turn)| Wall { length, turn, kind: kind(random) }).collect()
}

fn random_room(random: &mut Random) -> Room {
    let walls = walls(random);
    let mut openings = Vec::new();
    for (at, wall) in walls.iter().enumerate() {
        // Openings follow each other along the wall, with room between them.
        let mut from = random.within(0, FOOT);
        while random.once_in(3) && from + 8 < wall.length {
            let width = random.within(4, (wall.length - from).min(6 * FOOT));
            let kinds = ["door", "doorway", "window", "sliding_panel", "fireplace", "fixed_cabinet"];
            openings.push(Opening { wall: at, at: from, width, kind: kinds[random.within(0, 5) as usize] });
            from += width + random.within(1, 5 * FOOT);
        }
    }
    // From none to one every two feet, so that some rooms are covered.
    let feet = walls.iter().map(|wall| wall.length).sum::<i64>() / FOOT;
    let count = if random.once_in(8) { 0 } else { random.within(1, feet / 2) };
    let receptacles = (0..count)
        .map(|_| {
            let wall = random.within(0, walls.len() as i64 - 1) as usize;
            let (fields, device, counts) = WAYS[random.within(0, WAYS.len() as i64 - 1) as usize];
            // Only a box in the floor can be where the wall has an opening.
            let free = |along: i64| {
                fields.contains("floor")
                    || !openings
                        .iter()
                        .any(|it: &Opening| it.wall == wall && (it.at..=it.at + it.width).contains(&along))
            };
            let mut along = random.within(0, walls[wall].length);
            while !free(along) {
                along = random.within(0, walls[wall].length);
            }
            Receptacle { wall, along, fields, device, counts }
        })
        .collect();
    Room { walls, openings, receptacles }
}

fn inches(quarters: i64) -> String {
    format!("{} in", quarters as f64 / 4.0)
}

fn write(room: &Room) -> String {
    let mut text = String::from(
        "format = 1\n[site]\npermit_date = 2023-05-10\njurisdiction = \"us/model-2020\"\nstage = \"layout\"\n\n[[room]]\nid = \"r\"\nkind = \"bedroom\"\n",
    );
    for (at, wall) in room.walls.iter().enumerate() {
        let length = inches(wall.length);
        let _ = write!(
            text,
            "[[room.wall]]\nname = \"w{at}\"\nlength = \"{length}\"\nturn = \"{} deg\"\nkind = \"{}\"\n",
            wall.turn, wall.kind
        );
    }
    for opening in &room.openings {
        let _ = write!(
            text,
            "[[room.opening]]\nwall = \"w{}\"\nkind = \"{}\"\nat = \"{}\"\nwidth = \"{}\"\n",
            opening.wall,
            opening.kind,
            inches(opening.at),
            inches(opening.width)
        );
    }
    for (at, receptacle) in room.receptacles.iter().enumerate() {
        let _ = write!(
            text,
            "[[box]]\nid = \"B{at}\"\nroom = \"r\"\nwall = \"w{}\"\nalong = \"{}\"\n{}\n[[device]]\nid = \"D{at}\"\nbox = \"B{at}\"\nkind = \"receptacle\"\n{}\n",
            receptacle.wall,
            inches(receptacle.along),
            receptacle.fields,
            receptacle.device
        );
    }
    text
}

fn job(text: &str) -> Job {
    let mut files = Files::new();
    let file = files.add("room.toml", text).unwrap();
    let document = Document::parse(&file);
    let setting = Setting {
        schema: Arc::new(Schema::dwelling()),
        files: files.clone(),
        symbols: Symbols::new(),
        shop_defaults: None,
        whole_file: true,
    };
    let (job, problems) = load(&[document.part()], &setting);
    let errors: Vec<_> = problems.iter().filter(|problem| problem.severity == Severity::Error).collect();
    job.unwrap_or_else(|| panic!("{errors:#?}\n{text}"))
}

/// Returns the worst distance as the program has it [nm].
fn own(room: &Room) -> i64 {
    let text = write(room);
    let job = job(&text);
    let book = book("us/model-2020");
    let ctx = Ctx::figures(&job, book.as_ref());
    let item = job.find("r").unwrap();
    let derived = Library::standard(&job.schema).derive(&ctx, item, room::WALL_UNCOVERED).unwrap();
    assert!(!derived.cell.is_missing(), "{:#?} {:?}\n{text}", derived.fault, derived.missing);
    derived.cell.bits()
}

/// What the sampler finds, in quarter inches: the worst distance among the points of a quarter inch, and whether a wall space has no
/// receptacle at all.
struct Sampled {
    worst: i64,
    bare: bool,
}

fn sample(room: &Room) -> Sampled {
    let starts: Vec<i64> =
        room.walls.iter().scan(0, |at, wall| Some(std::mem::replace(at, *at + wall.length))).collect();
    let around: i64 = room.walls.iter().map(|wall| wall.length).sum();
    let count = around as usize;
    // A step leads from a point to the next one; it is barred in openings that reach the floor and along open sides.
    let mut barred = vec![false; count];
    let mut bar = |from: i64, length: i64| {
        for step in from..from + length {
            barred[step.rem_euclid(around) as usize] = true;
        }
    };
    for (wall, start) in room.walls.iter().zip(&starts) {
        if wall.kind == "open" {
            bar(*start, wall.length);
        }
    }
    for opening in room.openings.iter().filter(|opening| opening.kind != "window") {
        bar(starts[opening.wall] + opening.at, opening.width);
    }
    // Breadth first from all receptacles at once.
    let mut distance = vec![i64::MAX; count];
    let mut queue = VecDeque::new();
    for receptacle in room.receptacles.iter().filter(|receptacle| receptacle.counts) {
        let at = (starts[receptacle.wall] + receptacle.along).rem_euclid(around) as usize;
        distance[at] = 0;
        queue.push_back(at);
    }
    while let Some(at) = queue.pop_front() {
        let (before, after) = ((at + count - 1) % count, (at + 1) % count);
        for (step, next) in [(before, before), (at, after)] {
            if !barred[step] && distance[next] == i64::MAX {
                distance[next] = distance[at] + 1;
                queue.push_back(next);
            }
        }
    }
    let mut found = Sampled { worst: 0, bare: false };
    for space in spaces(&barred) {
        let length = space.len() as i64;
        if length < LEAST {
            continue;
        }
        // The points of a space are those before and after each of its steps.
        let points = space.iter().flat_map(|step| [*step, (step + 1) % count]);
        let worst = points.map(|point| distance[point]).max().unwrap_or(0);
        let (worst, bare) = if worst == i64::MAX { (REACH + length, true) } else { (worst, false) };
        if worst > found.worst {
            found = Sampled { worst, bare };
        }
    }
    found
}

/// Returns the free steps, in groups that follow each other without a barred one between.
fn spaces(barred: &[bool]) -> Vec<Vec<usize>> {
    let count = barred.len();
    let Some(first) = barred.iter().position(|barred| *barred) else { return vec![(0..count).collect()] };
    let mut spaces = vec![Vec::new()];
    for at in (first..first + count).map(|at| at % count) {
        if barred[at] {
            spaces.push(Vec::new());
        } else if let Some(space) = spaces.last_mut() {
            space.push(at);
        }
    }
    spaces.retain(|space| !space.is_empty());
    spaces
}

#[test]
fn two_hundred_random_rooms_agree_with_a_sampler_at_a_quarter_inch() {
    let mut random = Random::new(0x5eed_0002);
    let (mut bare, mut met, mut missed) = (0, 0, 0);
    for round in 0..200 {
        let room = random_room(&mut random);
        let (own, sampled) = (own(&room), sample(&room));
        let quarter = INCH / 4;
        let brute = sampled.worst * quarter;
        // The farthest point may lie between two samples, by no more than half a step.
        let within = if sampled.bare { 0 } else { quarter / 2 };
        assert!(
            (0..=within).contains(&(own - brute)),
            "room {round}: {} in against {} in\n{}",
            own as f64 / INCH as f64,
            brute as f64 / INCH as f64,
            write(&room)
        );
        bare += usize::from(sampled.bare);
        met += usize::from(own <= REACH * quarter);
        missed += usize::from(!sampled.bare && own > REACH * quarter);
    }
    // All three kinds of room were there.
    assert!(bare > 20 && met > 5 && missed > 20, "{bare} bare, {met} met, {missed} missed");
}

#[test]
fn the_sampler_tells_a_covered_room_from_one_that_is_not() {
    let square = |receptacles: Vec<Receptacle>| Room {
        walls: (0..4).map(|_| Wall { length: 6 * FOOT, turn: 90, kind: "wall" }).collect(),
        openings: vec![Opening { wall: 2, at: 0, width: 3 * FOOT, kind: "door" }],
        receptacles,
    };
    let at = |wall: usize, along: i64| Receptacle { wall, along, fields: WAYS[0].0, device: "", counts: true };
    assert_eq!(sample(&square(Vec::new())).worst, REACH + 21 * FOOT);
    // From the door's far side 9 ft to the corner of the first wall, 12 ft on round it.
    assert_eq!(sample(&square(vec![at(0, 0)])).worst, 12 * FOOT);
    assert_eq!(sample(&square(vec![at(0, 0), at(1, 3 * FOOT)])).worst, 9 * FOOT);
}
