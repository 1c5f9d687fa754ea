//! Runs commands as `main` does, with their streams caught.

use std::ffi::OsString;
use std::path::{Path, PathBuf};

use oddment_app::keep::Keep;
use oddment_commands::{Console, Outcome, run_in};
use oddment_core::job::Stop;
use serde_json::Value;

/// A folder of a test's own, empty at first.
pub(crate) struct Bench {
    pub(crate) dir: PathBuf,
}

/// What a command did.
#[derive(Debug)]
pub(crate) struct Ran {
    pub(crate) outcome: Option<Outcome>,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Bench {
    pub(crate) fn new(name: &str) -> Self {
        let dir = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
        let _ = std::fs::remove_dir_all(&dir);
        std::fs::create_dir_all(&dir).unwrap();
        Self { dir }
    }

    /// Where the file `name` of the test lies.
    pub(crate) fn path(&self, name: &str) -> String {
        self.dir.join(name).to_str().unwrap().to_owned()
    }

    pub(crate) fn write(&self, name: &str, content: impl AsRef<[u8]>) -> String {
        std::fs::write(self.dir.join(name), content).unwrap();
        self.path(name)
    }

    /// A drawing with these closed polygons and circles (x, y, radius), in mm.
    pub(crate) fn drawing(
        &self,
        name: &str,
        polygons: &[&[(f64, f64)]],
        circles: &[(f64, f64, f64)],
    ) -> String {
        let mut text = String::from(
            "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n",
        );
        for polygon in polygons {
            for (i, (x, y)) in polygon.iter().enumerate() {
                let (to_x, to_y) = polygon[(i + 1) % polygon.len()];
                text += &format!("0\nLINE\n8\n0\n10\n{x}\n20\n{y}\n11\n{to_x}\n21\n{to_y}\n");
            }
        }
        for (x, y, radius) in circles {
            text += &format!("0\nCIRCLE\n8\n0\n10\n{x}\n20\n{y}\n40\n{radius}\n");
        }
        self.write(name, text + "0\nENDSEC\n0\nEOF\n")
    }
}

/// Runs `oddment` with these arguments.
pub(crate) fn oddment<S: Into<OsString> + Clone>(args: &[S]) -> Ran {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let line = std::iter::once("oddment".into()).chain(args.iter().cloned().map(Into::into));
    let keep = Some(Keep::in_folder(&Path::new(env!("CARGO_TARGET_TMPDIR")).join("kept")));
    let stop = Stop::default();
    let mut console = Console { out: &mut out, err: &mut err, live: false, stop, keep };
    let outcome = run_in(line, &mut console);
    let text = |bytes| String::from_utf8(bytes).unwrap();
    Ran { outcome, out: text(out), err: text(err) }
}

impl Ran {
    /// The one JSON document on standard output.
    #[track_caller]
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("{e}: {self:?}"))
    }

    /// Asserts that the input was refused: lines of the form `error: SUBJECT: …` that hold `says`,
    /// and nothing on standard output.
    #[track_caller]
    pub(crate) fn refused(&self, says: &str) {
        assert_eq!(self.outcome, Some(Outcome::Refused), "{self:?}");
        assert_eq!(self.out, "", "{self:?}");
        assert!(self.err.contains(says), "“{says}” is not said: {self:?}");
        for line in self.err.lines() {
            let subject = line.strip_prefix("error: ").and_then(|l| l.split_once(": "));
            assert!(subject.is_some_and(|(s, what)| !s.is_empty() && !what.is_empty()), "{line}");
        }
    }
}
