//! The thread that has the shop file open: what it is given to do, and what it tells.

use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender};
use std::time::Duration;

use oddment_core::sheet::Sheet;
use oddment_files::labels::{Stickers, labels_pdf};
use oddment_files::outputs::put;
use oddment_rack::history::Event;
use oddment_rack::outline::Outline;
use oddment_rack::pictures::LARGEST;
use oddment_rack::record::Recorded;
use oddment_rack::sheets::RackSheet;
use oddment_rack::stock_take::Differences;
use oddment_rack::values::ShopValue;
use oddment_rack::{Shop, ShopFault};

use super::picture::Picture;
use super::{Listing, NoShop, Tried, label_of, open_shop};
use crate::keep::Keep;
use crate::session::Wake;
use crate::words::in_a_sentence;

/// How often it is looked whether somebody else has changed the file.
const LOOK_AGAIN: Duration = Duration::from_secs(2);

/// Opens a shop file, and says what was done.
pub(super) type Opening = dyn FnOnce(&Keep) -> Result<(Shop, String), NoShop> + Send;

/// What the thread is given to do.
pub(super) enum Work {
    /// Something with the open file.
    Do(Box<dyn FnOnce(&mut Shop) -> News + Send>, InHand),
    /// Open another file in place of the one that is open.
    Open(Box<Opening>),
}

/// Hands the thread what it is to do, and counts what it has not done yet.
#[derive(Clone)]
pub(super) struct Jobs {
    send: Sender<Work>,
    in_hand: Arc<AtomicUsize>,
}

impl Jobs {
    /// To whoever receives what is sent.
    pub(super) fn to(send: Sender<Work>) -> Self {
        Self { send, in_hand: Arc::default() }
    }

    /// Something with the open file. Where the thread is gone it has said why.
    pub(super) fn give(&self, job: impl FnOnce(&mut Shop) -> News + Send + 'static) {
        let in_hand = self.in_hand.clone();
        in_hand.fetch_add(1, Ordering::Relaxed);
        let _ = self.send.send(Work::Do(Box::new(job), InHand(in_hand)));
    }

    /// Another file in place of the one that is open.
    pub(super) fn open(&self, open: Box<Opening>) {
        let _ = self.send.send(Work::Open(open));
    }

    /// Whether all that was given is done.
    pub(super) fn are_done(&self) -> bool {
        self.in_hand.load(Ordering::Relaxed) == 0
    }
}

/// Counts as not done until it is dropped.
pub(super) struct InHand(Arc<AtomicUsize>);

impl Drop for InHand {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::Relaxed);
    }
}

/// What the thread tells.
pub(super) enum News {
    Open(Opened),
    Closed(ShopFault),
    NoShop(NoShop),
    Listed(Box<Listing>),
    Shapes(Vec<(i64, Outline)>),
    Said(String),
    Failed(String),
    /// These labels are in the rack now.
    Added(Vec<String>),
    /// Drawings were taken in, or not.
    TookIn(Box<News>),
    Took(Box<RackSheet>),
    Recorded(Vec<(Recorded, Option<Sheet>)>),
    TakenBack(Box<Event>),
    Tried(Box<Tried>),
    /// What recording the cut that is shown would do.
    Ahead(Box<Tried>),
    Pictures(Vec<(String, Option<Picture>)>),
    History(String, Vec<Event>),
    BarsRecorded(Vec<Recorded>, Vec<usize>),
    WalkEnded(Box<Differences>),
    ValueHistory(String, Vec<ShopValue>),
}

/// What is said of a file that was opened.
pub(super) struct Opened {
    pub(super) path: PathBuf,
    /// Its name, and what its prices are in.
    pub(super) shop: (String, String),
    pub(super) notices: Vec<String>,
    /// Why nothing can be changed, if nothing can.
    pub(super) closed: Option<ShopFault>,
    /// What was done to open it.
    pub(super) said: Option<String>,
}

impl Opened {
    fn of(shop: &Shop, said: Option<String>) -> Self {
        Self {
            path: shop.path().to_path_buf(),
            shop: shop.name_and_currency().unwrap_or_default(),
            notices: shop.notices().to_vec(),
            closed: shop.closed().cloned(),
            said,
        }
    }
}

/// The thread that has the file open.
pub(super) fn keep_shop(keep: &Keep, jobs: &Receiver<Work>, tell: &Sender<News>, wake: &Wake) {
    let say = |news: News| {
        // Whoever listened has gone: then the thread ends soon.
        let _ = tell.send(news);
        wake();
    };
    let mut shop = match open_shop(keep, None) {
        Ok(shop) => {
            say(News::Open(Opened::of(&shop, None)));
            Some(shop)
        }
        Err(why) => {
            say(News::NoShop(why));
            None
        }
    };
    let mut shown = None;
    let mut sound = shop.as_ref().is_some_and(|shop| shop.closed().is_none());
    loop {
        if let Some(shop) = &shop {
            // Marks of a stock-take are no events, so that the list is read after every change here too.
            let elsewhere = shop.written_elsewhere();
            if sound && let Err(why @ ShopFault::Moved) = &elsewhere {
                say(News::Closed(why.clone()));
                sound = false;
            }
            let now = shop.newest_event().ok().zip(elsewhere.ok());
            if shown.is_none() || shown != now {
                match listing(shop) {
                    Ok(listing) => say(News::Listed(Box::new(listing))),
                    Err(why) => say(failed(why)),
                }
                shown = now;
                // Damage that only reading finds.
                if sound && let Some(why) = shop.closed() {
                    say(News::Closed(why.clone()));
                    sound = false;
                }
            }
        }
        match jobs.recv_timeout(LOOK_AGAIN) {
            Ok(Work::Do(job, in_hand)) => {
                let Some(shop) = &mut shop else {
                    say(News::Failed("No shop file is open.".into()));
                    continue;
                };
                let news = job(shop);
                drop(in_hand);
                let only_read = matches!(
                    news,
                    News::Shapes(_)
                        | News::Took(_)
                        | News::Tried(_)
                        | News::Ahead(_)
                        | News::Pictures(_)
                        | News::History(..)
                        | News::ValueHistory(..)
                );
                if !only_read {
                    shown = None;
                }
                say(news);
            }
            Ok(Work::Open(open)) => {
                // The file is let go of first: it may be the one that is put right.
                let before = shop.take().map(|shop| shop.path().to_path_buf());
                match open(keep) {
                    Ok((opened, said)) => {
                        say(News::Open(Opened::of(&opened, Some(said))));
                        shop = Some(opened);
                    }
                    // What is to be done about it is offered.
                    Err(why) if matches!(why.fault, ShopFault::Damaged { backup: Some(_), .. }) => {
                        say(News::NoShop(why));
                    }
                    Err(why) => {
                        shop = before.and_then(|path| Shop::open(&path).ok());
                        if let Some(shop) = &shop {
                            say(News::Open(Opened::of(shop, None)));
                        }
                        say(News::Failed(in_a_sentence(&why.to_string())));
                    }
                }
                shown = None;
                sound = shop.as_ref().is_some_and(|shop| shop.closed().is_none());
            }
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => return,
        }
    }
}

fn listing(shop: &Shop) -> Result<Listing, ShopFault> {
    Ok(Listing {
        sheets: shop.list()?,
        materials: shop.materials()?,
        undoable: shop.undoable()?,
        walk: shop.stock_take()?,
        fillers: shop.fillers()?,
        orders: shop.orders()?,
        values: shop.values()?,
        profiles: shop.own_profiles()?,
        learnt: shop.learnt()?,
    })
}

/// What could not be done.
pub(super) fn failed(why: ShopFault) -> News {
    News::Failed(in_a_sentence(&why.to_string()))
}

/// The outlines of these shapes.
pub(super) fn shapes(shop: &Shop, numbers: &[i64]) -> Vec<(i64, Outline)> {
    // One that can't be read is drawn as nothing.
    numbers.iter().filter_map(|n| Some((*n, shop.outline_numbered(*n).ok()?))).collect()
}

/// The content of a picture's file, as far as one is kept.
pub(super) fn picture_in(file: &Path) -> std::io::Result<Vec<u8>> {
    let mut content = Vec::new();
    std::fs::File::open(file)?.take(LARGEST as u64 + 1).read_to_end(&mut content)?;
    Ok(content)
}

/// Writes the labels of these sheets into a file.
pub(super) fn print_labels(
    shop: &Shop,
    labels: &[String],
    stickers: Stickers,
    file: &Path,
) -> Result<(), ShopFault> {
    let sheets = labels.iter().map(|l| shop.sheet(l)).collect::<Result<Vec<_>, _>>()?;
    let printed: Vec<_> = sheets.iter().map(label_of).collect();
    let refused = |why: String| ShopFault::System(format!("the labels can't be made: {why}"));
    let pdf = labels_pdf(&printed, stickers).map_err(|why| refused(why.to_string()))?;
    put(file, &pdf).map_err(|why| refused(why.to_string()))
}
