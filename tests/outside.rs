//! Outside judges: drawings that no one here made, and other people's code to check what comes out.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::program::{folder, json_in, oddment, text};

/// The folder of the outside corpus where the environment names it. Named but missing is an error.
fn corpus() -> Option<PathBuf> {
    let folder = PathBuf::from(std::env::var_os("ODDMENT_CORPUS")?);
    assert!(folder.is_dir(), "ODDMENT_CORPUS names {}, which is no folder", folder.display());
    Some(folder)
}

/// Whether Python has what the outside judges need.
fn judges() -> bool {
    python(&["-c", "import shapely, ezdxf"]).is_some_and(|(ok, _)| ok)
}

/// Whether Python went well, and what it printed; `None` where there is no Python.
fn python(arguments: &[&str]) -> Option<(bool, String)> {
    let output = Command::new("python3").args(arguments).output().ok()?;
    let text = String::from_utf8_lossy(&[output.stdout, output.stderr].concat()).into_owned();
    Some((output.status.success(), text))
}

const AUDIT: &str = "
import sys, ezdxf
doc = ezdxf.readfile(sys.argv[1])
audit = doc.audit()
found = [e.message for e in audit.errors + audit.fixes]
print(found)
sys.exit(1 if found or doc.units != 4 else 0)
";

/// Has the files in `out` checked by code of other people.
fn judged(out: &Path, tools: &Path) {
    let verify = tools.join("verify_plan.py");
    let (clear, said) = python(&[text(&verify), text(&out.join("plan.json"))]).unwrap();
    assert!(clear, "{said}");
    let (clean, said) = python(&["-c", AUDIT, text(&out.join("nest.dxf"))]).unwrap();
    assert!(clean, "{said}");
}

/// A short search on a puzzle of the corpus; the plan must be clear, whatever it holds.
fn puzzle(name: &str) {
    let Some(corpus) = corpus() else { return };
    let from = corpus.join("bench/jigsaw").join(name);
    let job = json_in(&from.join("job.json"));
    let gap = |key: &str| job["clearances"][key].to_string();
    let (kerf, web, edge) = (gap("kerf"), gap("web"), gap("edge"));
    let sheet = from.join("sheet.dxf");
    let out = folder("puzzle");
    let mut command = vec!["nest", "--sheet", text(&sheet)];
    command.extend(["--kerf", &kerf, "--web", &web, "--edge", &edge]);
    command.extend(["--steps", "20", "--seed", "1", "--out", text(&out)]);
    let parts: Vec<PathBuf> = job["parts"]
        .as_object()
        .unwrap()
        .iter()
        .map(|(part, count)| {
            assert_eq!(count, 1);
            from.join(format!("{part}.dxf"))
        })
        .collect();
    for part in &parts {
        command.extend(["--part", text(part)]);
    }
    let ran = oddment(&command);
    assert_ne!(ran.code, 2, "{}", ran.err);
    let plan = json_in(&out.join("plan.json"));
    assert_eq!(plan["check"]["clear"], true);
    assert!(plan["wanted"].as_array().unwrap().iter().any(|w| w["placed"] != 0));
    if judges() {
        judged(&out, &corpus.join("tools"));
    }
}

#[test]
fn puzzle_01_is_clear_by_other_code() {
    puzzle("01");
}

#[test]
fn puzzle_02_is_clear_by_other_code() {
    puzzle("02");
}

#[test]
fn the_demo_is_clear_by_other_code() {
    let Some(corpus) = corpus().filter(|_| judges()) else { return };
    let out = folder("demo-judged");
    oddment(&["demo", "--out", text(&out)]).ended(0);
    judged(&out, &corpus.join("tools"));
}
