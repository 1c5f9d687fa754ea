//! Whether there is any place for a part on the sheet as it is now, at any angle: found or disproven
//! on a thread of its own.

use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use oddment_core::fit::{Answer, RESOLUTION, Verdict, fit_telling};
use oddment_core::job::{Budget, Stop};
use oddment_core::shape::{PartSpace, Pose, SheetSpace};
use oddment_core::units::LengthUnit;

use crate::background::background;
use crate::open_job::{Copy, OpenJob, SheetSlot};
use crate::session::Wake;
use crate::where_it_fits::with_parts_cut_out;

/// How long to look before giving up.
const LIMIT: Duration = Duration::from_secs(10);

/// A search that is running. Dropping it stops it.
#[derive(Debug)]
pub struct AnyPlace {
    /// Which of the wanted parts.
    pub part: usize,
    /// The sheet it is looked for on.
    pub slot: SheetSlot,
    /// The laid copy that is to move there; none where one more is to be laid.
    pub instead_of: Option<Copy>,
    started: Instant,
    news: Receiver<News>,
    closest: Option<(f64, Pose<PartSpace, SheetSpace>, Instant)>,
    stop: Stop,
}

/// What the thread tells.
#[derive(Debug)]
enum News {
    /// A pose that is short by less (mm) than those before.
    Closer(f64, Pose<PartSpace, SheetSpace>),
    /// The end of it.
    Answer(Answer),
}

impl AnyPlace {
    /// Starts to look for a place for a part among what lies in a slot, but for `instead_of`.
    ///
    /// # Errors
    /// What the system said when it gave no thread.
    pub fn start(
        open: &OpenJob,
        slot: SheetSlot,
        part: usize,
        instead_of: Option<Copy>,
        wake: Wake,
    ) -> Result<Self, std::io::Error> {
        let (send, news) = channel();
        let stop = Stop::default();
        let (stopped, open, started) = (stop.clone(), open.clone(), Instant::now());
        let work = move || {
            let time_up = || started.elapsed() >= LIMIT;
            let budget = Budget { steps: None, time_up: &time_up, stop: stopped };
            let laid = open.layout(slot).map_or(&[][..], |l| &l.placements);
            let others: Vec<_> =
                laid.iter().copied().filter(|p| Some(Copy::of(p)) != instead_of).collect();
            let sheet = with_parts_cut_out(open.job(), slot.stock, &others);
            let wanted = &open.job().wanted[part].part;
            // Nobody listening means that the plan has changed meanwhile.
            let mut closer = |spare: f64, pose| {
                let _ = send.send(News::Closer((-spare).max(0.0), pose));
                wake();
            };
            let kept = &open.job().clearances;
            let answer = fit_telling(&sheet, wanted, kept, RESOLUTION, &budget, &mut closer);
            let _ = send.send(News::Answer(answer));
            wake();
        };
        background("any place", work)?;
        Ok(Self { part, slot, instead_of, started, news, closest: None, stop })
    }

    /// Takes in what is new; the answer, once there is one.
    pub fn poll(&mut self) -> Option<Answer> {
        loop {
            match self.news.try_recv().ok()? {
                News::Closer(short, pose) => self.closest = Some((short, pose, Instant::now())),
                News::Answer(answer) => return Some(answer),
            }
        }
    }

    /// By how much (mm) the closest pose so far is short, and the pose.
    pub fn closest(&self) -> Option<(f64, Pose<PartSpace, SheetSpace>)> {
        self.closest.map(|(short, pose, _)| (short, pose))
    }

    /// Time since the closest so far was found.
    pub fn unchanged(&self) -> Option<Duration> {
        self.closest.map(|(.., found)| found.elapsed())
    }

    /// Time since it started.
    pub fn elapsed(&self) -> Duration {
        self.started.elapsed()
    }

    /// How long it looks at most.
    pub fn limit(&self) -> Duration {
        LIMIT
    }
}

impl Drop for AnyPlace {
    fn drop(&mut self) {
        self.stop.raise();
    }
}

/// What to say of an answer that is no yes.
pub fn in_words(name: &str, answer: &Answer, unit: LengthUnit) -> String {
    let closest = answer
        .shortfall()
        .map(|mm| format!("; the closest, shown here, is {} {unit} short", unit.show(mm)))
        .unwrap_or_default();
    match answer.verdict {
        Verdict::CannotFit => {
            format!("Proven: no place for {name} at any angle among what lies here{closest}")
        }
        _ => format!("No place was found for {name} in {} s{closest}", LIMIT.as_secs()),
    }
}
