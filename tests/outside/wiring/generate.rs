//! Circuits made from a seed: a random tree of boxes with receptacles, switches, lights, three-way pairs and GFCI devices.

/// A small generator of numbers (SplitMix64; Steele, Lea and Flood 2014), so that a seed always makes the same circuit.
pub(super) struct Seeded(u64);

impl Seeded {
    pub(super) fn new(seed: u64) -> Seeded {
        Seeded(seed)
    }

    pub(super) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    pub(super) fn below(&mut self, end: usize) -> usize {
        (self.next() % end.max(1) as u64) as usize
    }

    pub(super) fn pick<'a, T>(&mut self, all: &'a [T]) -> &'a T {
        &all[self.below(all.len())]
    }
}

/// Returns the short form of a circuit of a seed; every third one is a multiwire circuit.
pub(super) fn circuit(seed: u64) -> String {
    let mut random = Seeded::new(seed);
    let multi = seed.is_multiple_of(3);
    let boxes = 2 + random.below(3);
    let mut text = String::from(if multi { "circuit 1 | multiwire_with = \"3\"\ncircuit 3\n" } else { "circuit 1\n" });
    let more = if multi { " | second_circuit = \"3\"" } else { "" };
    for at in 0..boxes {
        let from = if at == 0 { String::from("P1") } else { format!("B{}", random.below(at)) };
        let make = *random.pick(&["14/4", "14/5", "14/6"]);
        text.push_str(&format!("box B{at}\ncable C{at} {make} 1 {from} B{at}{more}\n"));
    }
    let of = |random: &mut Seeded| if multi && random.below(2) == 1 { 3 } else { 1 };
    let (mut lights, mut switches) = (0, 0);
    for _ in 0..1 + random.below(2) {
        let (circuit, at) = (of(&mut random), random.below(boxes));
        let light = format!("L{lights}");
        text.push_str(&format!("light {light} B{at} {circuit}\n"));
        lights += 1;
        let kinds: &[&str] = match random.below(4) {
            0 | 1 => &["single_pole"],
            2 => &["three_way", "three_way"],
            _ => &["three_way", "four_way", "three_way"],
        };
        for kind in kinds {
            let at = random.below(boxes);
            text.push_str(&format!("switch S{switches} B{at} {circuit} {light} {kind}\n"));
            switches += 1;
        }
    }
    for number in 0..1 + random.below(2) {
        let (circuit, at) = (of(&mut random), random.below(boxes));
        text.push_str(&format!(
            "receptacle R{number} B{at} {circuit}{}\n",
            if random.below(4) == 0 { " | gfci = true" } else { "" }
        ));
    }
    text
}
