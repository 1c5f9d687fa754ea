//! The shop file as the window works with it: on a thread of its own, so that nothing that is shown
//! ever waits for a disk or for somebody else who is writing.

use std::collections::{HashMap, HashSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::JoinHandle;

use oddment_core::bars::clear;
use oddment_core::bars::profile::Profile;
use oddment_core::sheet::Sheet;
use oddment_files::drawing::ReadOptions;
use oddment_files::values::Learnt;
use oddment_files::words::counted;
use oddment_rack::facts::{Facts, Material};
use oddment_rack::fillers::Stocked;
use oddment_rack::history::Event;
use oddment_rack::orders::Order;
use oddment_rack::outline::Outline;
use oddment_rack::record::{BarRecording, Recorded};
use oddment_rack::sheets::{Entry, RackSheet};
use oddment_rack::stock_take::{Differences, Mark, StockTake};
use oddment_rack::values::ShopValue;
use oddment_rack::{Shop, ShopFault, when};
use serde_json::Value;

use super::act::RackAct;
use super::exchange::{export, import, is_drawn};
use super::finding::Finding;
use super::importing::Importing;
use super::keeper::{
    News, Opened, Opening, Work, failed, keep_shop, picture_in, print_labels, shapes,
};
use super::picture::Picture;
use super::{CutOfJob, NoShop, Tried};
use crate::bars::PlannedBars;
use crate::compare::{Posed, hold_all};
use crate::keep::Keep;
use crate::session::Wake;
use crate::words::{in_a_sentence, joined};

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

/// What the session has to do about something that was done.
pub(crate) enum Done {
    /// This sheet is wanted in the place Sheet.
    Took(Box<RackSheet>),
    /// These cuts were recorded, and the sheets are so now, where they are still there.
    Recorded(Vec<(Recorded, Option<Sheet>)>),
    /// The cut was not recorded, and why.
    NotRecorded(String),
    /// This event was taken back.
    TakenBack(i64),
    /// These cuts of bars were recorded; so many of each line of the list were made.
    BarsRecorded(Vec<Recorded>, Vec<usize>),
}

/// The rack, as far as it is known here.
pub struct Desk {
    /// Taken away at the end, which ends the thread.
    work: Option<Sender<Work>>,
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
    pictures: HashMap<String, Option<Arc<Picture>>>,
    value_history: Option<(String, Vec<ShopValue>)>,
    history: Option<(String, Vec<Event>)>,
    notices: Vec<String>,
    problem: Option<ShopFault>,
    said: Option<String>,
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
            work: Some(work),
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
            pictures: HashMap::new(),
            value_history: None,
            history: None,
            notices: Vec::new(),
            problem: None,
            said: None,
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

    /// What was done last, or why it was not.
    pub fn said(&self) -> Option<&str> {
        self.said.as_deref()
    }

    /// The label of the sheet that was added last, the first of them where there were several.
    pub fn added(&self) -> Option<&str> {
        self.added.as_deref()
    }

    /// What was done last was read.
    pub(crate) fn say_no_more(&mut self) {
        self.said = None;
    }

    /// Whether a sheet with this label is in the rack.
    pub fn has(&self, label: &str) -> bool {
        self.listing.sheets.iter().any(|e| e.label == label)
    }

    /// The labels of all that is in the rack.
    pub(crate) fn labels(&self) -> HashSet<String> {
        self.listing.sheets.iter().map(|e| e.label.clone()).collect()
    }

    /// Takes in what the thread tells; returns what is left for the session to do.
    pub(crate) fn poll(&mut self) -> Vec<Done> {
        let mut done = Vec::new();
        while let Ok(news) = self.news.try_recv() {
            let news = match news {
                News::TookIn(news) => {
                    self.importing = None;
                    *news
                }
                other => other,
            };
            match news {
                News::Open(opened) => self.opened(opened),
                News::Closed(why) => self.problem = Some(why),
                News::NoShop(NoShop { path, fault }) => {
                    let (shop, closed) = (<(String, String)>::default(), Some(fault));
                    self.opened(Opened { path, shop, notices: Vec::new(), closed });
                    self.listed = true;
                }
                News::Listed(listing) => {
                    self.listing = Arc::from(*listing);
                    self.listed = true;
                    self.revision += 1;
                }
                News::Shapes(shapes) => {
                    self.shapes.extend(shapes.into_iter().map(|(n, o)| (n, Arc::new(o))));
                }
                News::Said(said) | News::Failed(said) => self.said = Some(said),
                News::Added(labels) => {
                    self.said = match &labels[..] {
                        [one] => Some(format!("{one} is in the rack. Write the label on it.")),
                        [first, .., last] => Some(format!(
                            "{first} to {last} are in the rack. Write the labels on them."
                        )),
                        [] => None,
                    };
                    self.added = labels.into_iter().next();
                }
                // It was unpacked.
                News::TookIn(_) => {}
                News::Took(sheet) => done.push(Done::Took(sheet)),
                News::Recorded(recorded) => {
                    self.said = Some(in_words(recorded.iter().map(|(r, _)| r)));
                    done.push(Done::Recorded(recorded));
                }
                News::NotRecorded(why) => done.push(Done::NotRecorded(why)),
                News::TakenBack(event) => {
                    self.said = Some(format!("Undone: {}", event.said));
                    done.push(Done::TakenBack(event.number));
                }
                News::Tried(tried) => self.tried = Some(Arc::from(tried)),
                News::Pictures(read) => {
                    let read = read.into_iter().map(|(hash, p)| (hash, p.map(Arc::new)));
                    self.pictures.extend(read);
                }
                News::BarsRecorded(recorded, made) => {
                    self.said = Some(in_words(recorded.iter()));
                    done.push(Done::BarsRecorded(recorded, made));
                }
                News::WalkEnded(told) => self.told = Some(*told),
                News::History(label, events) => self.history = Some((label, events)),
                News::ValueHistory(key, said) => self.value_history = Some((key, said)),
            }
        }
        if self.finding.as_mut().is_some_and(Finding::poll) {
            self.revision += 1;
        }
        done
    }

    /// Another file is open, or the same one anew: what was read of the one before counts no more.
    fn opened(&mut self, opened: Opened) {
        let Opened { path, shop, notices, closed } = opened;
        (self.path, self.shop) = (Some(path), shop);
        (self.notices, self.problem) = (notices, closed);
        self.listing = Arc::default();
        self.listed = false;
        (self.shapes, self.asked) = (HashMap::new(), HashSet::new());
        (self.finding, self.told, self.tried) = (None, None, None);
        self.added = None;
        self.importing = None;
        (self.value_history, self.history) = (None, None);
        self.pictures.clear();
        self.files_opened += 1;
        self.revision += 1;
    }

    /// How often a file was opened: numbers of shapes count for one of them only.
    pub fn files_opened(&self) -> u64 {
        self.files_opened
    }

    /// What is known of the drawings that are to be taken in.
    pub(crate) fn drawings_are(&mut self, facts: Facts) {
        self.drawn = Some(Box::new(facts));
    }

    /// Does something with the rack, but for what needs the open job.
    pub(crate) fn act(&mut self, act: RackAct) {
        if !matches!(act, RackAct::Shapes(_) | RackAct::Pictures(_) | RackAct::History(_)) {
            self.said = None;
            self.told = None;
        }
        match act {
            RackAct::Shapes(numbers) => {
                self.asked.extend(&numbers);
                self.send(move |shop| News::Shapes(shapes(shop, &numbers)));
            }
            RackAct::Take(label) => self.send(move |shop| match shop.sheet(&label) {
                Ok(sheet) => News::Took(Box::new(sheet)),
                Err(why) => failed(why),
            }),
            RackAct::Add(new) => {
                self.send(move |shop| shop.add_all(new).map_or_else(failed, News::Added));
            }
            RackAct::Hold(label, order, until) => self.did(move |shop| {
                shop.hold(&label, &order, until)?;
                let until = until.map(|at| format!(" until {}", when::day(at)));
                Ok(format!("{label} is held for {order}{}.", until.unwrap_or_default()))
            }),
            RackAct::Correct(label, facts) => self.did(move |shop| {
                shop.correct(&label, |known| *known = *facts)?;
                Ok(format!("{label} is put right."))
            }),
            RackAct::Release(label) => self.did(move |shop| {
                shop.release(&label)?;
                Ok(format!("{label} is no longer held."))
            }),
            RackAct::Move(label, place) => self.did(move |shop| {
                shop.move_to(&label, &place)?;
                Ok(format!("{label} stands at {place}."))
            }),
            RackAct::Lift(label) => self.did(move |shop| {
                shop.lift(&label)?;
                Ok(format!("{label} was lifted off the bed."))
            }),
            RackAct::Measure(label, edges) => self.did(move |shop| {
                shop.measure(&label, &edges)?;
                Ok(format!(
                    "{} of {label} known as measured.",
                    counted(edges.len(), "edge", "edges")
                ))
            }),
            RackAct::Undo(event) => self.send(move |shop| match shop.undo(event) {
                Ok(undone) => News::TakenBack(Box::new(undone)),
                Err(why) => failed(why),
            }),
            RackAct::BeginWalk(words) => self.did(move |shop| {
                let walk = shop.begin_stock_take(&words)?;
                Ok(format!("Stock-take: {} sheets to look for.", walk.left.len()))
            }),
            RackAct::Mark(label, mark) => self.did(move |shop| {
                shop.mark(&label, &mark)?;
                let words = match mark {
                    Mark::There => "there".to_owned(),
                    Mark::Missing => "missing".to_owned(),
                    Mark::Moved(place) => format!("moved to {place}"),
                    Mark::Damaged(how) => format!("damaged: {how}"),
                };
                Ok(format!("{label}: {words}."))
            }),
            RackAct::EndWalk(rest_is_missing) => self.send(move |shop| {
                shop.end_stock_take(rest_is_missing)
                    .map_or_else(failed, |told| News::WalkEnded(Box::new(told)))
            }),
            RackAct::Labels(labels, stickers, file) => self.did(move |shop| {
                print_labels(shop, &labels, stickers, &file)?;
                Ok(format!("Labels to print: {}", file.display()))
            }),
            RackAct::Find(sought) => match &self.path {
                Some(path) => match Finding::start(path.clone(), *sought, self.wake.clone()) {
                    Ok(finding) => self.finding = Some(finding),
                    Err(why) => self.said = Some(format!("Nothing can be looked for: {why}")),
                },
                None => self.said = Some("No shop file is open".into()),
            },
            RackAct::FindNoMore => {
                self.finding = None;
                self.revision += 1;
            }
            RackAct::KeepFiller(filler) => self.did(move |shop| {
                shop.set_filler(&filler)?;
                Ok(format!("{} is a filler part, {} in stock.", filler.part, filler.counted))
            }),
            RackAct::DropFiller(part) => self.did(move |shop| {
                shop.remove_filler(&part)?;
                Ok(format!("{part} is a filler part no more."))
            }),
            RackAct::AddPicture(label, file) => self.did(move |shop| {
                let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
                let content = picture_in(&file).map_err(|why| {
                    ShopFault::refused(format!("{} can’t be read: {why}", file.display()))
                })?;
                shop.add_picture(&label, &name, &content)?;
                Ok(format!("{label}: {name} is kept with it."))
            }),
            RackAct::RemovePicture(label, hash) => self.did(move |shop| {
                shop.remove_picture(&label, &hash)?;
                Ok(format!("{label}: the picture is taken away."))
            }),
            RackAct::Pictures(hashes) => self.send(move |shop| {
                let read = |hash: &str| Picture::read(&shop.drawing(hash).ok()??.1);
                let pictures = hashes.into_iter().map(|hash| (hash.clone(), read(&hash)));
                News::Pictures(pictures.collect())
            }),
            RackAct::History(label) => self.send(move |shop| match shop.history(&label) {
                Ok(events) => News::History(label, events),
                Err(why) => failed(why),
            }),
            RackAct::Export(file, label) => self.did(move |shop| {
                export(shop, &file, label.as_deref())?;
                Ok(format!("{} is written.", file.display()))
            }),
            RackAct::Import(path) => self.import(path),
            RackAct::StopImport => {
                if let Some(importing) = &self.importing {
                    importing.end();
                }
            }
            RackAct::OpenShop(_)
            | RackAct::OpenSampleShop
            | RackAct::NewShop(_)
            | RackAct::PutBack => self.open_act(act),
            // They need the open job, or ask for a path.
            RackAct::Record(_)
            | RackAct::TakeAgain(_)
            | RackAct::TryCut(_)
            | RackAct::LayFillers
            | RackAct::AddShown
            | RackAct::Ask(_)
            | RackAct::AskCertificate(..)
            | RackAct::PickExport(_)
            | RackAct::PickLabels(..)
            | RackAct::PickImport
            | RackAct::PickDrawings(_)
            | RackAct::PickShop
            | RackAct::PickNewShop => {}
        }
    }

    /// Takes in a list or everything at once, and drawings once they are read.
    fn import(&mut self, path: PathBuf) {
        let facts = self.drawn.take();
        self.said = Some(format!("{} is being read.", path.display()));
        match (facts, &self.work) {
            (Some(facts), Some(work)) if is_drawn(&path) => {
                let (work, wake) = (work.clone(), self.wake.clone());
                match Importing::start(path, *facts, work, wake) {
                    Ok(importing) => self.importing = Some(importing),
                    Err(why) => self.said = Some(format!("Nothing can be read: {why}")),
                }
            }
            _ => self
                .did(move |shop| Ok(import(shop, &path, None, &ReadOptions::default())?.words())),
        }
    }

    /// Keeps whether an order asks for a certificate; what is wanted of it only where it is new.
    pub(crate) fn ask_certificate(&mut self, order: Order) {
        self.said = None;
        self.did(move |shop| {
            let certificate = order.certificate;
            let order = Order { certificate, ..shop.order(&order.name)?.unwrap_or(order) };
            shop.set_order(&order)?;
            let name = &order.name;
            Ok(match certificate {
                true => format!(
                    "{name} asks for a certificate: its parts come only from sheets that have one and \
                     a heat number."
                ),
                false => format!("{name} asks for no certificate."),
            })
        });
    }

    /// Works out what recording a cut would do.
    pub(crate) fn try_cut(&mut self, cut: CutOfJob) {
        self.tried = None;
        self.send(move |shop| {
            let (outcome, likely_minutes) = cut.try_out(shop);
            let outcome = outcome.map_err(|why| in_a_sentence(&why.to_string()));
            News::Tried(Box::new(Tried { outcome, likely_minutes }))
        });
    }

    /// Records a cut.
    pub(crate) fn record(&mut self, cut: CutOfJob) {
        self.said = None;
        self.send(move |shop| match cut.record(shop) {
            Ok(recorded) => News::Recorded(
                recorded
                    .into_iter()
                    .map(|r| {
                        let sheet = shop.sheet(&r.label).ok();
                        let here = sheet.filter(|s| s.entry.facts.whereabouts.is_here());
                        (r, here.map(|s| s.sheet()))
                    })
                    .collect(),
            ),
            Err(why) => News::NotRecorded(why.to_string()),
        });
    }

    /// Holds the rack's sheets among these candidates for an order, unless one of them has changed since
    /// it was looked at.
    pub(crate) fn hold_all(&mut self, posed: Arc<Posed>, candidates: Vec<usize>, order: String) {
        self.said = None;
        self.did(move |shop| {
            let labels = hold_all(shop, &posed, candidates, &order)?;
            Ok(match labels.as_slice() {
                [] => "All its sheets are to be bought: there is nothing to hold.".to_owned(),
                [one] => format!("{one} is held for {order}."),
                many => format!("{} are held for {order}.", many.join(" and ")),
            })
        });
    }

    /// Records that bars were cut; so many of each line of the list were made.
    pub(crate) fn record_bars(
        &mut self,
        planned: Arc<PlannedBars>,
        recording: BarRecording,
        made: Vec<usize>,
    ) {
        self.said = None;
        self.send(move |shop| {
            let recorded = clear(&planned.list, &planned.plan)
                .map_err(|faults| ShopFault::System(joined(&faults)))
                .and_then(|clear| shop.record_bars(&clear, &recording));
            recorded.map_or_else(failed, |recorded| News::BarsRecorded(recorded, made))
        });
    }

    /// Keeps a profile as the shop's own.
    pub(crate) fn keep_profile(&mut self, profile: Profile) {
        self.did(move |shop| {
            shop.set_profile(&profile)?;
            Ok(format!("{} is one of the shop’s profiles now.", profile.name))
        });
    }

    /// What was ever said of the value that was asked about last, the newest first.
    pub fn said_of(&self, key: &str) -> &[ShopValue] {
        let known = self.value_history.as_ref().filter(|(of, _)| of == key);
        known.map_or(&[], |(_, said)| said)
    }

    /// Has what was ever said of a value told.
    pub(crate) fn value_history(&mut self, key: String) {
        self.send(move |shop| match shop.value_history(&key) {
            Ok(said) => News::ValueHistory(key, said),
            Err(why) => failed(why),
        });
    }

    /// Keeps values, or puts starting values back.
    pub(crate) fn set_values(&mut self, values: Vec<(String, Option<Value>)>, said: String) {
        self.said = None;
        self.did(move |shop| {
            shop.set_values(&values, &said)?;
            Ok(in_a_sentence(&said))
        });
    }

    /// Keeps what is known of a material.
    pub(crate) fn set_material(&mut self, material: Material) {
        self.said = None;
        self.did(move |shop| {
            shop.set_material(&material)?;
            Ok(format!("{} is kept so.", material.name))
        });
    }

    fn did(&self, work: impl FnOnce(&mut Shop) -> Result<String, ShopFault> + Send + 'static) {
        self.send(move |shop| work(shop).map_or_else(failed, News::Said));
    }

    /// Opens another file in place of the one that is open.
    pub(super) fn switch(&self, open: Box<Opening>) {
        if let Some(thread) = &self.work {
            let _ = thread.send(Work::Open(open));
        }
    }

    fn send(&self, work: impl FnOnce(&mut Shop) -> News + Send + 'static) {
        // Where the thread is gone it has said why.
        if let Some(thread) = &self.work {
            let _ = thread.send(Work::Do(Box::new(work)));
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

/// What was recorded, and what is to be done about it.
fn in_words<'a>(recorded: impl Iterator<Item = &'a Recorded>) -> String {
    let words = recorded.flat_map(|r| std::iter::once(r.words()).chain(r.warnings.iter().cloned()));
    words.collect::<Vec<_>>().join(" ")
}
