//! The shop file as the window works with it: on a thread of its own, so that nothing that is shown
//! ever waits for a disk or for somebody else who is writing. What is done is handed over in `doing`, what
//! the thread tells is taken in in `telling`.

mod doing;
mod telling;

use std::collections::{HashMap, HashSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use oddment_core::bars::profile::Profile;
use oddment_core::sheet::Sheet;
use oddment_files::values::Learnt;
use oddment_rack::facts::{Facts, Material};
use oddment_rack::fillers::Stocked;
use oddment_rack::history::Event;
use oddment_rack::orders::Order;
use oddment_rack::outline::Outline;
use oddment_rack::record::Preview;
use oddment_rack::sheets::{Entry, RackSheet};
use oddment_rack::stock_take::{Differences, StockTake};
use oddment_rack::values::ShopValue;
use oddment_rack::{Shop, ShopFault};

use super::Tried;
use super::finding::Finding;
use super::importing::Importing;
use super::keeper::{Jobs, News, Opening, Work, failed, keep_shop};
use super::picture::Picture;
use crate::keep::Keep;
use crate::session::{OutlookOf, Wake};

pub(crate) use telling::Done;

/// All that the list shows.
#[derive(Clone, Debug, Default)]
pub struct Listing {
    /// The sheets that are there.
    pub sheets: Vec<Entry>,
    /// The shop's materials.
    pub materials: Vec<Material>,
    /// What an undo would take back.
    pub undoable: Option<Event>,
    /// The stock-take that is under way.
    pub walk: Option<StockTake>,
    /// Filler parts, and how many of each there are.
    pub fillers: Vec<Stocked>,
    /// The shop's orders.
    pub orders: Vec<Order>,
    /// The values that the shop keeps in place of starting values.
    pub values: Vec<ShopValue>,
    /// The shop's own profiles of bars.
    pub profiles: Vec<Profile>,
    /// What the shop has learnt of minutes.
    pub learnt: Learnt,
}

/// The shop file answers in less time, unless somebody else has it.
const LONG_WAIT: Duration = Duration::from_secs(2);

/// The rack, as far as it is known here.
pub struct Desk {
    /// Taken away at the end, which ends the thread.
    work: Option<Jobs>,
    /// Since when the thread has something to do of which it has told nothing.
    waits_since: Option<Instant>,
    /// Whether a cut is being recorded.
    recording: bool,
    thread: Option<JoinHandle<()>>,
    news: Receiver<News>,
    path: Option<PathBuf>,
    /// Its name, and what its prices are in.
    shop: (String, String),
    listing: Arc<Listing>,
    shapes: HashMap<i64, Arc<Outline>>,
    asked: HashSet<i64>,
    finding: Option<Finding>,
    importing: Option<Importing>,
    told: Option<Differences>,
    tried: Option<Arc<Tried>>,
    /// What the cut that is shown was looked ahead for last, and what it would do once that is known.
    outlook: Option<(OutlookOf, Option<Box<Tried>>)>,
    pictures: HashMap<String, Option<Arc<Picture>>>,
    value_history: Option<(String, Vec<ShopValue>)>,
    history: Option<(String, Vec<Event>)>,
    notices: Vec<String>,
    problem: Option<ShopFault>,
    said: Option<String>,
    refused: Option<String>,
    /// The label of the first sheet that was added last.
    added: Option<String>,
    listed: bool,
    revision: u64,
    files_opened: u64,
    /// What is known of drawings that are to be taken in.
    drawn: Option<Box<Facts>>,
    wake: Wake,
}

impl Desk {
    /// Opens the shop file used last, on a thread of its own.
    ///
    /// # Errors
    /// Where the system gives no thread.
    pub fn open(keep: Keep, wake: Wake) -> std::io::Result<Self> {
        let (work, jobs) = channel::<Work>();
        let (tell, news) = channel();
        let wake_thread = wake.clone();
        let thread = std::thread::Builder::new()
            .name("shop file".into())
            .spawn(move || keep_shop(&keep, &jobs, &tell, &wake_thread))?;
        Ok(Self {
            work: Some(Jobs::to(work)),
            waits_since: None,
            recording: false,
            thread: Some(thread),
            news,
            path: None,
            shop: <(String, String)>::default(),
            listing: Arc::default(),
            shapes: HashMap::new(),
            asked: HashSet::new(),
            finding: None,
            importing: None,
            told: None,
            tried: None,
            outlook: None,
            pictures: HashMap::new(),
            value_history: None,
            history: None,
            notices: Vec::new(),
            problem: None,
            said: None,
            refused: None,
            added: None,
            listed: false,
            revision: 0,
            files_opened: 0,
            drawn: None,
            wake,
        })
    }

    /// Name of the shop, and where its file is.
    pub fn shop(&self) -> (&str, Option<&Path>) {
        (&self.shop.0, self.path.as_deref())
    }

    /// What the shop's prices are in.
    pub fn currency(&self) -> &str {
        &self.shop.1
    }

    /// What recording the cut that was tried last would do; `None` while it is being worked out.
    pub fn tried(&self) -> Option<&Arc<Tried>> {
        self.tried.as_ref()
    }

    /// What recording the cut as planned would do, where that is known of this one.
    pub(crate) fn outlook(&self, of: OutlookOf) -> Option<&Preview> {
        let (_, tried) = self.outlook.as_ref().filter(|(known, _)| *known == of)?;
        tried.as_ref()?.outcome.as_ref().ok()
    }

    /// Whether this one is to be looked ahead for: one at a time.
    pub(crate) fn wants_outlook(&self, of: OutlookOf) -> bool {
        self.outlook.as_ref().is_none_or(|(known, tried)| *known != of && tried.is_some())
    }

    /// What ever happened to the sheet that was asked about last, the newest first.
    pub fn history(&self, label: &str) -> &[Event] {
        let known = self.history.as_ref().filter(|(of, _)| of == label);
        known.map_or(&[], |(_, events)| events)
    }

    /// The picture with this hash, once it is at hand; `Some(None)` where it can't be shown.
    pub fn picture(&self, hash: &str) -> Option<Option<&Arc<Picture>>> {
        self.pictures.get(hash).map(Option::as_ref)
    }

    /// The sheets and what else the list shows.
    pub fn listing(&self) -> &Arc<Listing> {
        &self.listing
    }

    /// How many shapes are known.
    pub(crate) fn shapes_known(&self) -> usize {
        self.shapes.len()
    }

    /// Changes whenever the list or what was found does.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// Whether the list was read at all yet.
    pub fn is_listed(&self) -> bool {
        self.listed
    }

    /// A shape, once it is at hand.
    pub fn shape(&self, number: i64) -> Option<&Arc<Outline>> {
        self.shapes.get(&number)
    }

    /// A sheet as the rack has it, where its shape is at hand.
    pub(crate) fn sheet(&self, entry: &Entry) -> Option<Sheet> {
        let outline = (**self.shape(entry.shape)?).clone();
        Some(RackSheet { entry: entry.clone(), outline }.sheet())
    }

    /// Of these shapes those that nobody has asked for yet.
    pub fn unasked(&self, numbers: impl Iterator<Item = i64>) -> Vec<i64> {
        numbers.filter(|n| !self.asked.contains(n)).collect()
    }

    /// The search for sheets with room, under way or done.
    pub fn finding(&self) -> Option<&Finding> {
        self.finding.as_ref()
    }

    /// The drawings that are being read.
    pub fn importing(&self) -> Option<&Importing> {
        self.importing.as_ref()
    }

    /// How the stock-take that has just ended differs from what was known.
    pub fn told(&self) -> Option<&Differences> {
        self.told.as_ref()
    }

    /// Why nothing, or not everything, can be done with the shop file.
    pub fn problem(&self) -> Option<&ShopFault> {
        self.problem.as_ref()
    }

    /// What there is to know of how the file was opened.
    pub fn notices(&self) -> &[String] {
        &self.notices
    }

    /// Why what was to be done last was not done.
    pub fn refused(&self) -> Option<&str> {
        self.refused.as_deref()
    }

    /// What was done last.
    pub fn said(&self) -> Option<&str> {
        self.said.as_deref()
    }

    /// The label of the sheet that was added last, the first of them where there were several.
    pub fn added(&self) -> Option<&str> {
        self.added.as_deref()
    }

    /// Whether something is being done with the shop file.
    pub fn is_waiting(&self) -> bool {
        self.waits_since.is_some()
    }

    /// Whether that takes unusually long: another program may have the file.
    pub fn waits_long(&self) -> bool {
        self.waits_since.is_some_and(|since| since.elapsed() > LONG_WAIT)
    }

    /// Whether a cut is being recorded.
    pub(crate) fn is_recording(&self) -> bool {
        self.recording
    }

    /// Something else is done now.
    pub(crate) fn forget_refusal(&mut self) {
        self.refused = None;
    }

    /// What was done last, or why it was not, was read.
    pub(crate) fn say_no_more(&mut self) {
        (self.said, self.refused, self.told) = (None, None, None);
    }

    /// Says more of what was done last.
    pub(crate) fn say_besides(&mut self, words: &str) {
        let said = self.said.get_or_insert_default();
        if !said.is_empty() {
            said.push(' ');
        }
        said.push_str(words);
    }

    /// Whether a sheet with this label is in the rack.
    pub fn has(&self, label: &str) -> bool {
        self.listing.sheets.iter().any(|e| e.label == label)
    }

    /// The labels of all that is in the rack.
    pub(crate) fn labels(&self) -> HashSet<String> {
        self.listing.sheets.iter().map(|e| e.label.clone()).collect()
    }

    /// How often a file was opened: numbers of shapes count for one of them only.
    pub fn files_opened(&self) -> u64 {
        self.files_opened
    }

    /// What was ever said of the value that was asked about last, the newest first.
    pub fn said_of(&self, key: &str) -> &[ShopValue] {
        let known = self.value_history.as_ref().filter(|(of, _)| of == key);
        known.map_or(&[], |(_, said)| said)
    }

    fn did(&self, work: impl FnOnce(&mut Shop) -> Result<String, ShopFault> + Send + 'static) {
        self.send(move |shop| work(shop).map_or_else(failed, News::Said));
    }

    /// Opens another file in place of the one that is open.
    pub(super) fn switch(&self, open: Box<Opening>) {
        if let Some(thread) = &self.work {
            thread.open(open);
        }
    }

    fn send(&self, work: impl FnOnce(&mut Shop) -> News + Send + 'static) {
        if let Some(thread) = &self.work {
            thread.give(work);
        }
    }
}

impl Drop for Desk {
    /// What was begun is finished before the program ends.
    fn drop(&mut self) {
        self.importing = None;
        self.work = None;
        if let Some(thread) = self.thread.take() {
            // Where it panicked there is nothing to wait for.
            let _ = thread.join();
        }
    }
}
