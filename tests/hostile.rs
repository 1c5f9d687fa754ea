//! Damaged drawings: each gets an answer, none ends the program.

use std::fs;

use crate::program::{folder, oddment, shared, text};

/// Numbers that look like chance and are the same every time (splitmix64).
struct Chance(u64);

impl Chance {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) % n as u64) as usize
    }
}

const NASTY: [&str; 12] = [
    "",
    "-1",
    "nan",
    "inf",
    "1e308",
    "1e-320",
    "99999999999",
    "2,5",
    "0",
    "SECTION",
    "INSERT",
    "é",
];

/// The drawing with one to four of its lines changed, doubled, swapped or dropped.
fn mutated(drawing: &str, chance: &mut Chance) -> String {
    let mut lines: Vec<&str> = drawing.lines().collect();
    for _ in 0..=chance.below(4) {
        let at = chance.below(lines.len());
        match chance.below(5) {
            0 | 1 => lines[at] = NASTY[chance.below(NASTY.len())],
            2 => lines.insert(at, lines[chance.below(lines.len())]),
            3 => drop(lines.remove(at)),
            _ => {
                let other = chance.below(lines.len());
                lines.swap(at, other);
            }
        }
    }
    lines.join("\n") + "\n"
}

#[test]
fn mutated_drawings_get_an_answer() {
    let out = folder("mutated");
    let mut chance = Chance(7);
    let mut codes = [0; 3];
    for name in ["parts/deck-bracket.dxf", "parts/rear-dropout.dxf", "sheets/S6-019.dxf"] {
        let drawing = fs::read_to_string(shared(name)).unwrap();
        for i in 0..100 {
            let file = out.join(format!("{i}.dxf"));
            fs::write(&file, mutated(&drawing, &mut chance)).unwrap();
            let read = oddment(&["read", text(&file), "--json"]);
            codes[read.code as usize] += 1;
        }
    }
    // Otherwise the mutations would be too mild, or too wild, to mean anything.
    assert!(codes[0] > 0 && codes[2] > 0, "{codes:?}");
}

/// A file that can't be used is refused, with its name, by every command that reads drawings.
fn refused(name: &str, bytes: &[u8]) {
    let out = folder("refused");
    let file = out.join(name);
    fs::write(&file, bytes).unwrap();
    let (file, tab) = (text(&file).to_owned(), shared("parts/rack-stay-tab.dxf"));
    let plan = out.join("plan");
    let (sheet, steps) = (shared("sheets/S3-041.dxf"), ["--steps", "1"]);
    for command in [
        vec!["read", &file],
        vec!["nest", "--sheet", &file, "--part", &tab, "--out", text(&plan), "--steps", "1"],
        [&["nest", "--sheet", &sheet, "--part", &file][..], &steps].concat(),
        vec!["fit", "--sheet", &sheet, "--part", &file],
    ] {
        let run = oddment(&command).ended(2);
        assert!(run.err.contains(name), "{command:?}: {}", run.err);
    }
    assert!(!plan.join("plan.json").exists());
}

#[test]
fn what_is_no_drawing_is_refused_by_name() {
    let drawing = fs::read(shared("parts/deck-bracket.dxf")).unwrap();
    refused("empty.dxf", b"");
    refused("noise.dxf", &[0xff, 0x00, 0x80, 0x13].repeat(500));
    refused("words.dxf", b"please cut four of these\n");
    refused("half.dxf", &drawing[..drawing.len() * 2 / 3]);
    refused("model.dxf", b"ISO-10303-21;\nHEADER;\nENDSEC;\n");
    refused("open.svg", b"<svg xmlns='http://www.w3.org/2000/svg'><path d='M0 0L9 0'/></svg>");
}

#[test]
fn values_that_mean_nothing_are_refused() {
    let (sheet, tab) = (shared("sheets/S3-041.dxf"), shared("parts/rack-stay-tab.dxf"));
    for more in [
        ["--kerf", "wide"],
        ["--kerf", "-1"],
        ["--web", "nan"],
        ["--edge", "1e99"],
        ["--turn", "sideways"],
        ["--seconds", "inf"],
        ["--job", "there-is-no-such.json"],
    ] {
        oddment(&[&["nest", "--sheet", &sheet, "--part", &tab][..], &more].concat()).ended(2);
    }
    oddment(&["nest", "--sheet", "0x100", "--part", &tab]).ended(2);
    oddment(&["nest", "--sheet", "no-such.dxf", "--part", &tab]).ended(2);
    oddment(&["grow", "wings"]).ended(2);
}
