//! Running the built program.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use serde_json::Value;

/// How a run ended.
pub(crate) struct Ran {
    /// The exit code.
    pub(crate) code: i32,
    /// Standard output.
    pub(crate) out: String,
    /// Standard error.
    pub(crate) err: String,
}

impl Ran {
    /// The one JSON document on standard output.
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("{e} in {}", self.out))
    }

    /// The run, if it ended with this code.
    #[track_caller]
    pub(crate) fn ended(self, code: i32) -> Self {
        assert_eq!(self.code, code, "{}{}", self.out, self.err);
        self
    }
}

/// Runs the program with these arguments in a folder of its own. However it ends, it must end by
/// itself, with an exit code that means something, and without a panic.
pub(crate) fn oddment(arguments: &[&str]) -> Ran {
    let streams = folder("streams");
    let (out, err) = (streams.join("out"), streams.join("err"));
    let mut child = Command::new(env!("CARGO_BIN_EXE_oddment"))
        .args(arguments)
        .stdin(Stdio::null())
        .stdout(File::create(&out).unwrap())
        .stderr(File::create(&err).unwrap())
        .env("HOME", &streams)
        .env_remove("RUST_BACKTRACE")
        .spawn()
        .unwrap();
    // So that a hang is a failure and no hang of the tests; nothing takes nearly so long.
    let patience = Instant::now() + Duration::from_secs(300);
    let status = loop {
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        if Instant::now() > patience {
            child.kill().unwrap();
            child.wait().unwrap();
            panic!("oddment {arguments:?} does not end");
        }
        sleep(Duration::from_millis(2));
    };
    let read = |file| String::from_utf8_lossy(&fs::read(file).unwrap()).into_owned();
    let ran = Ran { code: status.code().unwrap_or(-1), out: read(&out), err: read(&err) };
    fs::remove_dir_all(&streams).unwrap();
    assert!((0..=2).contains(&ran.code), "oddment {arguments:?}: {status}\n{}", ran.err);
    assert!(!ran.err.contains("panicked"), "oddment {arguments:?}\n{}", ran.err);
    if ran.code == 2 {
        assert!(ran.out.is_empty(), "oddment {arguments:?} printed {}", ran.out);
        assert!(ran.err.lines().any(|l| l.starts_with("error: ")), "{arguments:?}\n{}", ran.err);
    }
    ran
}

/// A new folder that no other test uses.
pub(crate) fn folder(name: &str) -> PathBuf {
    use std::sync::atomic::{AtomicUsize, Ordering};
    static COUNT: AtomicUsize = AtomicUsize::new(0);
    let number = COUNT.fetch_add(1, Ordering::Relaxed);
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}-{number}"));
    if folder.exists() {
        fs::remove_dir_all(&folder).unwrap();
    }
    fs::create_dir_all(&folder).unwrap();
    folder
}

/// The path of a file of the sample shop.
pub(crate) fn shared(file: &str) -> String {
    format!("{}/../../shared/{file}", env!("CARGO_MANIFEST_DIR"))
}

/// A path as an argument.
pub(crate) fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// The JSON in a file.
pub(crate) fn json_in(path: &Path) -> Value {
    serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap()
}
