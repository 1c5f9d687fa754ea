//! Input that can't be used is answered with sentences, and nothing is written.

use crate::common::{Bench, oddment};

const SQUARE: &[(f64, f64)] = &[(0.0, 0.0), (50.0, 0.0), (50.0, 50.0), (0.0, 50.0)];

#[test]
fn files_that_are_none() {
    let bench = Bench::new("files_that_are_none");
    let empty = bench.write("empty.dxf", "");
    let junk = bench.write("junk.dxf", [0u8, 255, 3, 128, 10, 13, 0, 0, 77]);
    let missing = bench.path("missing.dxf");
    let folder = bench.path("");
    let part = bench.drawing("part.dxf", &[SQUARE], &[]);
    for (file, says) in [
        (&missing, "no such file"),
        (&folder, "folder"),
        (&empty, "empty"),
        (&junk, "neither a DXF nor an SVG"),
    ] {
        oddment(&["read", file]).refused(says);
        oddment(&["nest", "--sheet", file, "--part", &part]).refused(says);
        oddment(&["nest", "--sheet", "100x100", "--part", file]).refused(says);
        oddment(&["fit", "--sheet", "100x100", "--part", file]).refused(says);
    }
    for command in ["check", "shorten"] {
        for file in [&missing, &folder, &empty, &junk, &part] {
            oddment(&[command, file]).refused("");
        }
    }
    for file in [&missing, &folder, &empty, &junk, &part] {
        oddment(&["nest", "--job", file]).refused("");
    }
}

#[test]
fn all_that_is_wrong_is_said_at_once() {
    let bench = Bench::new("all_that_is_wrong");
    let (one, two) = (bench.path("one.dxf"), bench.path("two.dxf"));
    let ran = oddment(&["nest", "--sheet", "0x5", "--sheet", &one, "--part", &two]);
    ran.refused("above 0");
    ran.refused("one.dxf");
    ran.refused("two.dxf");
    assert_eq!(ran.err.lines().count(), 3, "{ran:?}");
}

#[test]
fn values_that_mean_nothing() {
    let bench = Bench::new("values_that_mean_nothing");
    let part = bench.drawing("part.dxf", &[SQUARE], &[]);
    let cases: &[(&[&str], &str)] = &[
        (&["--kerf", "-1"], "--kerf"),
        (&["--kerf", "nan"], "--kerf"),
        (&["--web", "inf"], "--web"),
        (&["--edge", "wide"], "--edge"),
        (&["--turn", "sometimes"], "--turn"),
        (&["--turn", "-90"], "--turn"),
        (&["--seconds", "-1"], "--seconds"),
        (&["--seconds", "nan"], "--seconds"),
        (&["--steps", "-1"], "--steps"),
        (&["--steps", "1.5"], "--steps"),
        (&["--threads", "0"], "--threads"),
        (&["--seed", "many"], "--seed"),
        (&["--units", "furlong"], "--units"),
        (&["--starts", "maybe"], "neither on nor off"),
        (&["--pierce", "-1"], "--pierce"),
        (&["--wide"], "--wide"),
        (&["--job", "job.json"], "--job"),
    ];
    for (flags, says) in cases {
        let out = bench.path("out");
        let mut line = vec!["nest", "--sheet", "100x100", "--part", &part, "--out", &out];
        line.extend_from_slice(flags);
        oddment(&line).refused(says);
        assert!(!bench.dir.join("out").exists(), "{flags:?}");
    }
    oddment(&["nest", "--sheet", "100x100"]).refused("--part");
    oddment(&["nest"]).refused("--sheet");
    oddment(&["nst"]).refused("nst");
    oddment(&["read"]).refused("DRAWING");
}

#[test]
fn counts_that_are_none() {
    let bench = Bench::new("counts_that_are_none");
    let part = bench.drawing("part.dxf", &[SQUARE], &[]);
    for count in ["0", "-3", "", "1.5", "999999999", "99999999999999999999999"] {
        let typed = format!("{part}={count}");
        oddment(&["nest", "--sheet", "100x100", "--part", &typed]).refused("count");
        let typed = format!("100x100={count}");
        oddment(&["nest", "--sheet", &typed, "--part", &part]).refused("count");
    }
    oddment(&["nest", "--sheet", "100x100=max", "--part", &part]).refused("count");
}

#[test]
fn places_that_can_not_be_written_to() {
    let bench = Bench::new("places_that_can_not_be_written_to");
    let part = bench.drawing("part.dxf", &[SQUARE], &[]);
    let nest = |out: &str| oddment(&["nest", "--sheet", "100x100", "--part", &part, "--out", out]);
    nest(&part).refused("a file");
    nest(&format!("{part}/plan")).refused("part.dxf/plan");
    oddment(&["demo", "--out", &part]).refused("a file");
}

#[test]
fn sheets_that_enclose_no_metal() {
    let bench = Bench::new("sheets_that_enclose_no_metal");
    let part = bench.drawing("part.dxf", &[SQUARE], &[]);
    let open = bench.write(
        "open.dxf",
        "0\nSECTION\n2\nENTITIES\n0\nLINE\n8\n0\n10\n0\n20\n0\n11\n100\n21\n50\n0\nENDSEC\n0\nEOF\n",
    );
    oddment(&["nest", "--sheet", &open, "--part", &part]).refused("open.dxf");
}

#[test]
fn strips_that_are_none() {
    let bench = Bench::new("strips_that_are_none");
    let shorten = |width: &str, rotations: &str, items: &str| {
        let text = format!(
            r#"{{"name": "a", "strip_width": {width}, "rotations_deg": {rotations}, "items": [{items}]}}"#
        );
        let instance = bench.write("strip.json", text);
        oddment(&["shorten", &instance, "--steps", "1"])
    };
    let item = r#"{"quantity": 1, "outline": [[0, 0], [10, 0], [0, 10]]}"#;
    let many = r#"{"quantity": 99999999, "outline": [[0, 0], [10, 0], [0, 10]]}"#;
    let line = r#"{"quantity": 1, "outline": [[0, 0], [10, 0]]}"#;
    shorten("0", "[0]", item).refused("width");
    shorten("-5", "[0]", item).refused("width");
    shorten("50", "[0]", "").refused("at least one part");
    shorten("5", "[0]", item).refused("item 0");
    shorten("50", "[]", item).refused("rotations_deg");
    shorten("50", "\"all\"", item).refused("rotations_deg");
    shorten("50", "[0]", many).refused("fewer");
    shorten("50", "[0]", line).refused("items[0]");
}

#[cfg(unix)]
#[test]
fn names_that_are_no_text() {
    use std::ffi::OsString;
    use std::os::unix::ffi::OsStringExt;
    let odd = OsString::from_vec(b"part\xff.dxf".to_vec());
    let line = |words: &[&str]| {
        let mut line: Vec<OsString> = words.iter().map(Into::into).collect();
        line.push(odd.clone());
        oddment(&line)
    };
    line(&["nest", "--sheet", "100x100", "--part"]).refused("not Unicode");
    line(&["fit", "--sheet", "100x100", "--part"]).refused("not Unicode");
    line(&["read"]).refused("no such file");
    line(&["check"]).refused("no such file");
}

#[test]
fn without_a_command_the_window_is_wanted() {
    let none: &[&str] = &[];
    assert_eq!(oddment(none).outcome, None);
}
