//! A comparison for the window: on a thread of its own, with its best so far.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, TryRecvError, channel};
use std::time::{Duration, Instant};

use oddment_core::compare::{Comparer, Comparison, Way};
use oddment_core::job::{Budget, Stop};
use oddment_core::part::MadeFrom;
use oddment_files::values::Values;
use oddment_rack::Shop;

use super::told::{NoPlace, no_place};
use super::{Asked, NoQuestion, Posed, pose};
use crate::background::background;
use crate::session::Wake;

/// What can be done in the place Compare.
#[derive(Clone, Debug, PartialEq)]
pub enum CompareAct {
    /// Compare, or compare again.
    Begin,
    /// End the search; what it found stays.
    Stop,
    /// Search on where the time was up.
    SearchOn,
    /// Ask so, and compare again where it was compared before.
    Wish(Wishes),
    /// Look at the way that uses these candidates.
    Choose(Vec<usize>),
    /// Open the way that is looked at in the place Sheet.
    Take,
    /// Hold the rack's sheets of the way that is looked at.
    Hold,
    /// Ask for the folder to write the comparison into.
    Export,
    /// Write the comparison into this folder, as a table and to print.
    ExportTo(PathBuf),
    /// Ask for an order to be cut together with the one on the slip.
    AddOrder,
    /// Cut the order of this job or plan together with the one on the slip.
    AddOrderFrom(PathBuf),
    /// Cut one of the sample shop's orders together with the one on the slip.
    AddSample(usize),
    /// Leave out an order that was added.
    RemoveOrder(usize),
    /// When an order is due: the one on the slip, or the so manieth that was added after it.
    Due(usize, Option<i64>),
}

/// What a person says of how it is to be compared.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wishes {
    /// The metal; what the order says where `None`.
    pub metal: Option<MadeFrom>,
    /// Whether materials that may stand in come into question too.
    pub stand_ins: bool,
    /// Fresh sizes of the shop (mm) that are not to be had now.
    pub without: Vec<[f64; 2]>,
}

/// What the thread tells.
enum News {
    Posed(Box<Posed>),
    Better(Box<Comparison>),
    Failed(NoQuestion),
    NoPlace(Vec<NoPlace>),
    /// The time is up; it could be searched on.
    Rests,
}

/// A comparison, under way or done. Dropping it stops it.
pub struct Comparing {
    news: Receiver<News>,
    more: Sender<()>,
    stop: Stop,
    /// When it was begun, less the time that it has rested.
    started: Instant,
    /// How long it may take, and by how much that grows when it is searched on.
    limit: Duration,
    step: Duration,
    /// How long it took, once it has ended or rests.
    took: Option<Duration>,
    rests: bool,
    posed: Option<Arc<Posed>>,
    found: Option<Arc<Comparison>>,
    no_place: Vec<NoPlace>,
    failed: Option<NoQuestion>,
    values: Arc<Values>,
}

impl Comparing {
    /// Begins.
    ///
    /// # Errors
    /// Where the system gives no thread.
    pub fn start(
        shop: &Path,
        values: Arc<Values>,
        asked: Asked,
        limit: Duration,
        wake: Wake,
    ) -> std::io::Result<Self> {
        let (tell, news) = channel();
        let (more, asked_on) = channel();
        let (stop, started) = (Stop::default(), Instant::now());
        let (stopped, of, shop) = (stop.clone(), values.clone(), shop.to_path_buf());
        background("compare", move || {
            let say = |news: News| {
                // Nobody may be listening any more.
                let _ = tell.send(news);
                wake();
            };
            // The window has it open already.
            let posed = Shop::look_at(&shop).map_err(NoQuestion::from);
            match posed.and_then(|shop| pose(&shop, &of, &asked)) {
                Ok(posed) => {
                    let question = posed.question.clone();
                    say(News::Posed(Box::new(posed)));
                    let mut comparer = Comparer::new(&question, 1);
                    loop {
                        let begun = Instant::now();
                        let time_up = || begun.elapsed() > limit;
                        let stop = stopped.clone();
                        let budget = Budget { steps: None, time_up: &time_up, stop };
                        let found = comparer.search(&budget, &mut |now| {
                            say(News::Better(Box::new(now.clone())));
                        });
                        let nowhere = no_place(&question, found, &stopped);
                        say(News::Better(Box::new(found.clone())));
                        say(News::NoPlace(nowhere));
                        if found.settled || stopped.raised() {
                            break;
                        }
                        say(News::Rests);
                        // Nobody asks any more where the comparison was given up.
                        if asked_on.recv().is_err() {
                            break;
                        }
                    }
                }
                Err(why) => say(News::Failed(why)),
            }
            drop(tell);
            wake();
        })?;
        Ok(Self {
            news,
            more,
            stop,
            started,
            limit,
            step: limit,
            took: None,
            rests: false,
            posed: None,
            found: None,
            no_place: Vec::new(),
            failed: None,
            values,
        })
    }

    /// Takes in what is new.
    pub(crate) fn poll(&mut self) {
        loop {
            match self.news.try_recv() {
                Ok(News::Posed(posed)) => self.posed = Some(Arc::from(posed)),
                Ok(News::Better(found)) => self.found = Some(Arc::from(found)),
                Ok(News::Failed(why)) => self.failed = Some(why),
                Ok(News::NoPlace(none)) => self.no_place = none,
                Ok(News::Rests) => {
                    self.rests = true;
                    self.took.get_or_insert(self.started.elapsed());
                }
                Err(TryRecvError::Empty) => return,
                // Also where the thread panicked: what it had found stands.
                Err(TryRecvError::Disconnected) => {
                    self.rests = false;
                    self.took.get_or_insert(self.started.elapsed());
                    return;
                }
            }
        }
    }

    /// Ends the search; what it found stays.
    pub(crate) fn end(&self) {
        self.stop.raise();
    }

    /// Searches on for as long again, where it rests.
    pub(crate) fn search_on(&mut self) {
        if let (true, Some(took)) = (self.rests, self.took)
            && self.more.send(()).is_ok()
        {
            (self.rests, self.took) = (false, None);
            self.limit = took + self.step;
            self.started = Instant::now().checked_sub(took).unwrap_or_else(Instant::now);
        }
    }

    /// Whether its time is up and more could be found.
    pub fn could_go_on(&self) -> bool {
        self.rests
    }

    /// Whether it is still under way.
    pub fn is_running(&self) -> bool {
        self.took.is_none()
    }

    /// How long it has been going on, or took; and how long it may take.
    pub fn time(&self) -> (Duration, Duration) {
        (self.took.unwrap_or_else(|| self.started.elapsed()), self.limit)
    }

    /// The question, once it is put together.
    pub fn posed(&self) -> Option<&Arc<Posed>> {
        self.posed.as_ref()
    }

    /// The ways found so far.
    pub fn found(&self) -> Option<&Arc<Comparison>> {
        self.found.as_ref()
    }

    /// Parts that no way places.
    pub fn no_place(&self) -> &[NoPlace] {
        &self.no_place
    }

    /// Why nothing can be compared.
    pub fn failed(&self) -> Option<&NoQuestion> {
        self.failed.as_ref()
    }

    /// What it is worked out with.
    pub(crate) fn values(&self) -> &Arc<Values> {
        &self.values
    }

    /// The way of these candidates; the best where it is none of those found.
    pub fn way(&self, key: Option<&[usize]>) -> Option<&Way> {
        let ways = &self.found.as_ref()?.ways;
        key.and_then(|key| ways.iter().find(|w| w.key() == key)).or(ways.first())
    }
}

impl Drop for Comparing {
    fn drop(&mut self) {
        self.stop.raise();
    }
}
