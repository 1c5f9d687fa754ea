//! The thread that has the shop file open: what it is given to do, and what it tells.

use std::io::Read;
use std::path::{Path, PathBuf};
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
use super::{Listing, Tried, label_of, open_shop};
use crate::keep::Keep;
use crate::session::Wake;
use crate::words::in_a_sentence;

/// How often it is looked whether somebody else has changed the file.
const LOOK_AGAIN: Duration = Duration::from_secs(2);

/// Something to do with the file.
pub(super) type Work = Box<dyn FnOnce(&mut Shop) -> News + Send>;

/// What the thread tells.
pub(super) enum News {
    Open { path: PathBuf, shop: (String, String), notices: Vec<String>, closed: Option<String> },
    NoShop(String),
    Listed(Box<Listing>),
    Shapes(Vec<(i64, Outline)>),
    Said(String),
    Failed(String),
    Took(Box<RackSheet>),
    Recorded(Vec<(Recorded, Option<Sheet>)>),
    Tried(Box<Tried>),
    Pictures(Vec<(String, Option<Picture>)>),
    History(String, Vec<Event>),
    BarsRecorded(Vec<Recorded>, Vec<usize>),
    WalkEnded(Box<Differences>),
    ValueHistory(String, Vec<ShopValue>),
}

/// The thread that has the file open.
pub(super) fn keep_shop(keep: &Keep, jobs: &Receiver<Work>, tell: &Sender<News>, wake: &Wake) {
    let say = |news: News| {
        // Whoever listened has gone: then the thread ends soon.
        let _ = tell.send(news);
        wake();
    };
    let mut shop = match open_shop(keep, None) {
        Ok(shop) => shop,
        Err(why) => return say(News::NoShop(in_a_sentence(&why.to_string()))),
    };
    let shop_is = shop.name_and_currency().unwrap_or_default();
    let closed = shop.closed().map(|why| in_a_sentence(&why.to_string()));
    let notices = shop.notices().to_vec();
    say(News::Open { path: shop.path().to_path_buf(), shop: shop_is, notices, closed });
    let mut shown = None;
    loop {
        // Marks of a stock-take are no events, so that the list is read after every change here.
        let event = shop.newest_event().ok();
        if shown.is_none() || shown != event {
            match listing(&shop) {
                Ok(listing) => say(News::Listed(Box::new(listing))),
                Err(why) => say(failed(why)),
            }
            shown = event;
        }
        match jobs.recv_timeout(LOOK_AGAIN) {
            Ok(job) => {
                let news = job(&mut shop);
                let only_read = matches!(
                    news,
                    News::Shapes(_)
                        | News::Took(_)
                        | News::Tried(_)
                        | News::Pictures(_)
                        | News::History(..)
                        | News::ValueHistory(..)
                );
                if !only_read {
                    shown = None;
                }
                say(news);
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

/// Writes labels into the folder of the shop file.
pub(super) fn print_labels(
    shop: &Shop,
    labels: &[String],
    stickers: Stickers,
) -> Result<PathBuf, ShopFault> {
    let sheets = labels.iter().map(|l| shop.sheet(l)).collect::<Result<Vec<_>, _>>()?;
    let printed: Vec<_> = sheets.iter().map(label_of).collect();
    let name = match &printed[..] {
        [one] => format!("label {}.pdf", one.name),
        _ => "labels.pdf".to_owned(),
    };
    let name: String = name.chars().map(|c| if c == '/' { '-' } else { c }).collect();
    let file = shop.path().with_file_name(name);
    let refused = |why: String| ShopFault::System(format!("the labels can't be made: {why}"));
    let pdf = labels_pdf(&printed, stickers).map_err(|why| refused(why.to_string()))?;
    put(&file, &pdf).map_err(|why| refused(why.to_string()))?;
    Ok(file)
}
