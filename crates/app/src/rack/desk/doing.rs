//! What a person does with the rack, handed over to the thread that has the shop file open.

use std::path::PathBuf;
use std::sync::Arc;

use oddment_core::bars::clear;
use oddment_core::bars::profile::Profile;
use oddment_files::drawing::ReadOptions;
use oddment_files::job_file::SourcedJob;
use oddment_files::words::counted;
use oddment_rack::drawings::Drawn;
use oddment_rack::facts::{Facts, Material, Whereabouts};
use oddment_rack::orders::Order;
use oddment_rack::record::BarRecording;
use oddment_rack::sheets::NewSheet;
use oddment_rack::stock_take::Mark;
use oddment_rack::{Shop, ShopFault, when};
use serde_json::Value;

use super::Desk;
use crate::bars::PlannedBars;
use crate::compare::{Posed, hold_all};
use crate::rack::act::RackAct;
use crate::rack::exchange::{export, import, is_drawn};
use crate::rack::finding::Finding;
use crate::rack::importing::Importing;
use crate::rack::keeper::{News, failed, picture_in, print_labels, shapes};
use crate::rack::picture::Picture;
use crate::rack::{CutOfJob, Tried};
use crate::session::OutlookOf;
use crate::words::{in_a_sentence, joined};

impl Desk {
    /// What is known of the drawings that are to be taken in.
    pub(crate) fn drawings_are(&mut self, facts: Facts) {
        self.drawn = Some(Box::new(facts));
    }

    /// Does something with the rack, but for what needs the open job.
    pub(crate) fn act(&mut self, act: RackAct) {
        if !act.only_reads() {
            self.say_no_more();
        }
        match act {
            RackAct::Shapes(numbers) => {
                self.asked.extend(&numbers);
                self.send(move |shop| News::Shapes(shapes(shop, &numbers)));
            }
            RackAct::Take(label) => self.send(move |shop| match shop.sheet(&label) {
                Ok(sheet) if sheet.entry.facts.whereabouts == Whereabouts::Missing => {
                    News::Failed(format!(
                        "{label} is missing since the stock-take; say first that it is found again"
                    ))
                }
                Ok(sheet) => News::Took(Box::new(sheet)),
                Err(why) => failed(why),
            }),
            RackAct::Hold(label, order, until) => self.did(move |shop| {
                shop.hold(&label, &order, until)?;
                let until = until.map(|at| format!(" until {}", when::day(at)));
                Ok(format!("{label} is held for {order}{}.", until.unwrap_or_default()))
            }),
            RackAct::Correct(label, facts) => self.did(move |shop| {
                let (saw, wants) = *facts;
                shop.put_right(&label, &saw, &wants)?;
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
            RackAct::FoundAgain(label) => self.did(move |shop| {
                shop.found_again(&label)?;
                Ok(format!("{label} is found again."))
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
            RackAct::Undo(event) => {
                // Never what somebody else has done since that was told.
                let told = || self.listing.undoable.as_ref().map(|event| event.number);
                match event.or_else(told) {
                    Some(event) => self.send(move |shop| match shop.undo(Some(event)) {
                        Ok(undone) => News::TakenBack(Box::new(undone)),
                        Err(why) => failed(why),
                    }),
                    None => self.refused = Some("There is nothing to undo".into()),
                }
            }
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
                    Err(why) => self.refused = Some(format!("Nothing can be looked for: {why}")),
                },
                None => self.refused = Some("No shop file is open".into()),
            },
            RackAct::FindNoMore => {
                self.finding = None;
                self.revision += 1;
            }
            RackAct::KeepFillers(gone, fillers) => self.did(move |shop| {
                shop.set_fillers(&gone, &fillers)?;
                let gone = gone.iter().map(|part| format!("{part} is a filler part no more."));
                let kept = fillers.iter().map(|(_, filler)| {
                    format!("{} is a filler part, {} in stock.", filler.part, filler.counted)
                });
                Ok(gone.chain(kept).collect::<Vec<_>>().join(" "))
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
            RackAct::Add(_)
            | RackAct::Record(_)
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

    /// Adds the sheet of a job, with its drawing where that still shows it.
    pub(crate) fn add_of_job(&mut self, new: NewSheet, sourced: Arc<SourcedJob>, stock: usize) {
        self.say_no_more();
        self.send(move |shop| {
            let drawing = Drawn::of_sheet(&sourced, stock);
            shop.add(NewSheet { drawing, ..new })
                .map_or_else(failed, |label| News::Added(vec![label]))
        });
    }

    /// Adds sheets or bars, all of them or none; their profile becomes the shop's own where it is given.
    pub(crate) fn add(&mut self, new: Vec<NewSheet>, profile: Option<Profile>) {
        self.say_no_more();
        self.send(move |shop| {
            let kept = profile.map_or(Ok(()), |profile| shop.set_profile(&profile));
            kept.and_then(|()| shop.add_all(new)).map_or_else(failed, News::Added)
        });
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
                    Err(why) => self.refused = Some(format!("Nothing can be read: {why}")),
                }
            }
            _ => self
                .did(move |shop| Ok(import(shop, &path, None, &ReadOptions::default())?.words())),
        }
    }

    /// Keeps whether an order asks for a certificate; what is wanted of it only where it is new.
    pub(crate) fn ask_certificate(&mut self, order: Order) {
        self.say_no_more();
        self.did(move |shop| {
            let Order { certificate, name, .. } = order.clone();
            let asks = |known: Option<Order>| Order { certificate, ..known.unwrap_or(order) };
            shop.change_order(&name, asks)?;
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
        self.send(move |shop| News::Tried(Box::new(tried(&cut, shop))));
    }

    /// The same of the cut that is shown, as planned.
    pub(crate) fn look_ahead(&mut self, of: OutlookOf, cut: CutOfJob) {
        self.outlook = Some((of, None));
        self.send(move |shop| News::Ahead(Box::new(tried(&cut, shop))));
    }

    /// Records a cut.
    pub(crate) fn record(&mut self, cut: CutOfJob) {
        self.say_no_more();
        self.recording = true;
        self.send(move |shop| match cut.record(shop) {
            Ok(recorded) => News::Recorded(
                recorded
                    .into_iter()
                    .map(|r| {
                        let label = r.left_on_bed().map_or(&r.label, |left| &left.label);
                        let sheet = shop.sheet(label).ok();
                        let here = sheet.filter(|s| s.entry.facts.whereabouts.is_here());
                        (r, here.map(|s| s.sheet()))
                    })
                    .collect(),
            ),
            Err(why) => News::Failed(format!("The cut is not recorded: {why}")),
        });
    }

    /// Holds the rack's sheets among these candidates for an order; none where one has changed since
    /// it was looked at.
    pub(crate) fn hold_all(&mut self, posed: Arc<Posed>, candidates: Vec<usize>, order: String) {
        self.say_no_more();
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
        self.say_no_more();
        self.recording = true;
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

    /// Has what was ever said of a value told.
    pub(crate) fn value_history(&mut self, key: String) {
        self.send(move |shop| match shop.value_history(&key) {
            Ok(said) => News::ValueHistory(key, said),
            Err(why) => failed(why),
        });
    }

    /// Keeps values, or puts starting values back.
    pub(crate) fn set_values(&mut self, values: Vec<(String, Option<Value>)>, said: String) {
        self.say_no_more();
        self.did(move |shop| {
            shop.set_values(&values, &said)?;
            Ok(in_a_sentence(&said))
        });
    }

    /// Keeps what is known of a material.
    pub(crate) fn set_material(&mut self, saw: Option<Material>, material: Material) {
        self.say_no_more();
        self.did(move |shop| {
            shop.set_material(saw.as_ref(), &material)?;
            Ok(format!("{} is kept so.", material.name))
        });
    }
}

fn tried(cut: &CutOfJob, shop: &Shop) -> Tried {
    let (outcome, likely_minutes) = cut.try_out(shop);
    let outcome = outcome.map_err(|why| in_a_sentence(&why.to_string()));
    Tried { outcome, likely_minutes }
}
