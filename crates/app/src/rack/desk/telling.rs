//! What the thread that has the shop file open tells, taken in.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;
use std::time::Instant;

use oddment_core::sheet::Sheet;
use oddment_core::units::LengthUnit;
use oddment_rack::record::Recorded;
use oddment_rack::sheets::RackSheet;

use super::Desk;
use crate::rack::NoShop;
use crate::rack::finding::Finding;
use crate::rack::keeper::{Jobs, News, Opened};

/// What the session has to do about something that was done.
pub(crate) enum Done {
    /// This sheet is wanted in the place Sheet.
    Took(Box<RackSheet>),
    /// These cuts were recorded, and the sheets are so now, where they are still there.
    Recorded(Vec<(Recorded, Option<Sheet>)>),
    /// Another shop file is open in place of the one of this name.
    OtherShop(String),
    /// This event was taken back.
    TakenBack(i64),
    /// These cuts of bars were recorded; so many of each line of the list were made.
    BarsRecorded(Vec<Recorded>, Vec<usize>),
}

impl Desk {
    /// Takes in what the thread tells, lengths in this unit; returns what is left for the session to do.
    pub(crate) fn poll(&mut self, unit: LengthUnit) -> Vec<Done> {
        let mut done = Vec::new();
        self.waits_since = match self.work.as_ref().is_none_or(Jobs::are_done) {
            true => None,
            false => self.waits_since.or_else(|| Some(Instant::now())),
        };
        while let Ok(news) = self.news.try_recv() {
            self.waits_since = None;
            let news = match news {
                News::TookIn(news) => {
                    self.importing = None;
                    *news
                }
                other => other,
            };
            match news {
                News::Open(opened) => done.extend(self.opened(opened)),
                News::Closed(why) => self.problem = Some(why),
                News::NoShop(NoShop { path, fault }) => {
                    let (shop, closed) = (<(String, String)>::default(), Some(fault));
                    let opened = Opened { path, shop, notices: Vec::new(), closed, said: None };
                    done.extend(self.opened(opened));
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
                News::Said(said) => self.said = Some(said),
                News::Failed(why) => {
                    self.recording = false;
                    self.refused = Some(why);
                }
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
                    self.recording = false;
                    self.said = Some(in_words(recorded.iter().map(|(r, _)| r), unit));
                    done.push(Done::Recorded(recorded));
                }
                News::TakenBack(event) => {
                    self.said = Some(format!("Undone: {}", event.said));
                    done.push(Done::TakenBack(event.number));
                }
                News::Ahead(tried) => {
                    if let Some((_, ahead)) = &mut self.outlook {
                        *ahead = Some(tried);
                    }
                }
                News::Tried(tried) => self.tried = Some(Arc::from(tried)),
                News::Pictures(read) => {
                    let read = read.into_iter().map(|(hash, p)| (hash, p.map(Arc::new)));
                    self.pictures.extend(read);
                }
                News::BarsRecorded(recorded, made) => {
                    self.recording = false;
                    self.said = Some(in_words(recorded.iter(), unit));
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
    fn opened(&mut self, opened: Opened) -> Option<Done> {
        let Opened { path, shop, notices, closed, said } = opened;
        let is_other = self.path.as_ref().is_some_and(|before| *before != path);
        let other = is_other.then(|| Done::OtherShop(std::mem::take(&mut self.shop.0)));
        (self.path, self.shop) = (Some(path), shop);
        (self.said, self.refused, self.recording) = (said, None, false);
        (self.notices, self.problem) = (notices, closed);
        self.listing = Arc::default();
        self.listed = false;
        (self.shapes, self.asked) = (HashMap::new(), HashSet::new());
        (self.finding, self.told, self.tried) = (None, None, None);
        self.outlook = None;
        self.added = None;
        self.importing = None;
        (self.value_history, self.history) = (None, None);
        self.pictures.clear();
        self.files_opened += 1;
        self.revision += 1;
        other
    }
}

/// What was recorded, and what is to be done about it.
fn in_words<'a>(recorded: impl Iterator<Item = &'a Recorded>, unit: LengthUnit) -> String {
    let words =
        recorded.flat_map(|r| std::iter::once(r.words(unit)).chain(r.warnings.iter().cloned()));
    words.collect::<Vec<_>>().join(" ")
}
