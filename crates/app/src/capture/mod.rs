//! A sheet from a photograph, step by step: what is known in the picture, what is found there, what a person
//! makes of that. Reading and finding run on threads of their own ([`looking`]); what was said can be taken
//! back.

mod contours;
mod looking;
mod made;
#[cfg(test)]
mod tests;

use std::mem::{Discriminant, discriminant};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use oddment_core::shape::{Loop, Point, SheetSpace, Vector};
use oddment_core::sheet::EdgeKind;
use oddment_photo::{Paper, Photograph, PixelSpace, Reference, Target};
use oddment_rack::facts::Facts;

use crate::session::Wake;
use crate::work::Work;

pub use contours::{Contour, EdgeSaid};
pub use looking::Seen;
use looking::{Step, look, read};
pub use made::Made;

/// What can be done about a photograph of a sheet.
#[derive(Clone, Debug, PartialEq)]
pub enum CaptureAct {
    /// Ask for a photograph.
    Pick,
    /// Read this photograph.
    Open(PathBuf),
    /// Put the photograph away, with all that was said of it.
    Close,
    /// This is known in the picture.
    Know(Known),
    /// So far the sheet bows up or down from flat, mm.
    Bow(f64),
    /// So the outer edge was made.
    Outer(EdgeKind),
    /// The corner of this number, from 0, is there in the picture.
    Place(usize, Point<PixelSpace>),
    /// Place all four corners anew.
    PlaceAnew,
    /// Measure the picture and find the sheet's edges in it.
    Look,
    /// End that.
    Stop,
    /// Whether a contour is one of the sheet's.
    Keep(usize, bool),
    /// Whether all cut-outs that are smaller across than this (mm) are.
    KeepSmaller(f64, bool),
    /// The corner of this contour with this number goes there; not to the edge that is seen beside it, where
    /// the last is true.
    MoveCorner(usize, usize, Point<SheetSpace>, bool),
    /// A contour goes so far.
    MoveContour(usize, Vector),
    /// A circle has this radius, mm.
    Resize(usize, f64),
    /// What was pressed round.
    Trace(Tracing, Vec<Point<SheetSpace>>, bool),
    /// What was marked as unseen, by its number, was seen after all.
    Uncover(usize),
    /// This is known of a contour's edge.
    Edge(usize, usize, EdgeSaid),
    /// Points of the machine's pointer that some edges are known better by, as typed.
    Points(String),
    /// Take back the last thing that was said.
    Undo,
    /// Say it again.
    Redo,
    /// Add the sheet to the rack with these facts.
    Add(Box<Facts>),
    /// Ask where to write the page to print.
    PickPage,
    /// Write the page to print.
    WritePage(PathBuf),
}

/// What a contour is pressed round for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tracing {
    /// A cut-out.
    CutOut,
    /// The outer edge, in place of the one there is.
    Outer,
    /// Metal that something hides.
    Unseen,
}

/// What is known in the picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Known {
    /// A printed page of squares that lies on the sheet.
    Page(Target),
    /// The sheet's own four corners: its width and height, mm.
    Sheet([f64; 2]),
}

/// What a person has said of a photograph.
#[derive(Clone, Debug, PartialEq)]
pub struct Said {
    /// What is known in the picture.
    pub known: Known,
    /// Its corners so far: lower left, lower right, upper right, upper left.
    pub corners: Vec<Point<PixelSpace>>,
    /// How far the sheet bows, mm.
    pub bow: f64,
    /// How its outer edge was made.
    pub outer: EdgeKind,
    /// The contours, the outer edge first where there is one.
    pub contours: Vec<Contour>,
    /// Metal that could not be seen.
    pub unseen: Vec<Loop<SheetSpace>>,
    /// Points of the machine's pointer, as typed.
    pub points: String,
    /// What was seen when the contours were found.
    seen: Option<Arc<Seen>>,
}

/// Where the corners are, in the order they are placed.
pub const CORNERS: [&str; 4] = ["lower left", "lower right", "upper right", "upper left"];

/// A photograph of a sheet being captured.
pub struct Capture {
    file: PathBuf,
    photo: Option<Arc<Photograph>>,
    said: Said,
    past: Vec<Said>,
    future: Vec<Said>,
    work: Option<Work<Step>>,
    problem: Option<String>,
    /// What kind of thing is being typed: its letters are taken back at once.
    typing: Option<Discriminant<CaptureAct>>,
    /// Changes with all that is said.
    revision: u64,
    wake: Wake,
}

impl Capture {
    /// Begins to read a photograph.
    ///
    /// # Errors
    /// Where the system gives no thread.
    pub(crate) fn open(file: PathBuf, wake: Wake) -> std::io::Result<Self> {
        let work = read(file.clone(), wake.clone())?;
        let said = Said {
            known: Known::Page(Target { paper: Paper::A4, printed: None }),
            corners: Vec::new(),
            bow: 0.0,
            outer: EdgeKind::Mill,
            contours: Vec::new(),
            unseen: Vec::new(),
            points: String::new(),
            seen: None,
        };
        Ok(Self {
            file,
            photo: None,
            said,
            past: Vec::new(),
            future: Vec::new(),
            work: Some(work),
            problem: None,
            typing: None,
            revision: 0,
            wake,
        })
    }

    /// The photograph's file.
    pub fn file(&self) -> &Path {
        &self.file
    }

    /// The photograph, once it is read.
    pub fn photo(&self) -> Option<&Arc<Photograph>> {
        self.photo.as_ref()
    }

    /// What was said of it.
    pub fn said(&self) -> &Said {
        &self.said
    }

    /// What was seen in it, once somebody looked.
    pub fn seen(&self) -> Option<&Arc<Seen>> {
        self.said.seen.as_ref()
    }

    /// Whether it was looked at since what is known in it was placed so.
    pub fn is_looked_at(&self) -> bool {
        self.seen().is_some_and(|s| Ok(s.of) == self.said.asked())
    }

    /// What is going on: what share of it is done.
    pub fn at_work(&self) -> Option<f32> {
        let work = self.work.as_ref()?;
        Some(match work.best() {
            Some(Step::Share(share)) => *share,
            _ => 0.0,
        })
    }

    /// What is wrong.
    pub fn problem(&self) -> Option<&str> {
        self.problem.as_deref()
    }

    /// Changes with all that is said.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// Whether there is anything to take back, and to say again.
    pub fn can_undo_and_redo(&self) -> (bool, bool) {
        (!self.past.is_empty(), !self.future.is_empty())
    }

    /// Takes in what the threads tell.
    pub(crate) fn poll(&mut self) {
        let Some(work) = &mut self.work else { return };
        let ended = work.poll();
        let best = work.best().cloned();
        if !ended {
            return;
        }
        self.work = None;
        self.revision += 1;
        match best {
            Some(Step::Read(photo)) => self.photo = Some(photo),
            Some(Step::Seen(seen)) => self.say(|said| said.take_in(seen)),
            Some(Step::Failed(why)) => self.problem = Some(why),
            // The thread ended without a word.
            Some(Step::Share(_)) | None => {
                self.problem = Some("The photograph could not be worked on".to_owned());
            }
        }
    }

    /// Does what needs no more than the photograph.
    pub(crate) fn act(&mut self, act: CaptureAct) {
        self.problem = None;
        self.revision += 1;
        let typed = matches!(act, CaptureAct::Know(_) | CaptureAct::Bow(_) | CaptureAct::Points(_));
        let typing = typed.then(|| discriminant(&act));
        let goes_on = typing.is_some() && typing == self.typing;
        let before = self.past.len();
        self.act_on(act);
        if goes_on && self.past.len() > before {
            self.past.pop();
        }
        self.typing = typing;
    }

    fn act_on(&mut self, act: CaptureAct) {
        match act {
            CaptureAct::Know(known) => self.say(|said| said.known = known),
            CaptureAct::Bow(bow) if bow.is_finite() && bow >= 0.0 => self.say(|s| s.bow = bow),
            CaptureAct::Outer(kind) => self.say(|said| {
                said.outer = kind;
                if let Some(outer) = said.contours.iter_mut().find(|c| c.outer) {
                    outer.edges.iter_mut().for_each(|e| e.kind = kind);
                }
            }),
            CaptureAct::Place(n, at) if n < 4 => self.say(|said| {
                if n == said.corners.len() {
                    said.corners.push(at);
                } else if let Some(corner) = said.corners.get_mut(n) {
                    *corner = at;
                }
            }),
            CaptureAct::PlaceAnew => self.say(|said| said.corners.clear()),
            CaptureAct::Look => self.look(),
            CaptureAct::Stop => self.work = None,
            CaptureAct::Undo => self.step(true),
            CaptureAct::Redo => self.step(false),
            CaptureAct::Points(points) => self.say(|said| said.points = points),
            CaptureAct::Uncover(n) if n < self.said.unseen.len() => {
                self.say(|said| drop(said.unseen.remove(n)));
            }
            other => self.contour_act(other),
        }
    }

    /// Changes what was said, so that it can be taken back.
    fn say(&mut self, change: impl FnOnce(&mut Said)) {
        let before = self.said.clone();
        change(&mut self.said);
        if self.said != before {
            self.past.push(before);
            self.future.clear();
        }
    }

    fn step(&mut self, back: bool) {
        let (from, to) = if back {
            (&mut self.past, &mut self.future)
        } else {
            (&mut self.future, &mut self.past)
        };
        if let Some(said) = from.pop() {
            to.push(std::mem::replace(&mut self.said, said));
        }
    }

    fn look(&mut self) {
        let Some(photo) = self.photo.clone() else { return };
        match self.said.asked() {
            Ok(asked) => match look(photo, asked, self.wake.clone()) {
                Ok(work) => self.work = Some(work),
                Err(why) => self.problem = Some(why.to_string()),
            },
            Err(why) => self.problem = Some(why),
        }
    }
}

/// What is asked of a photograph.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    pub(crate) reference: Reference,
    pub(crate) corners: [Point<PixelSpace>; 4],
    /// Whether the sheet lies flat.
    pub(crate) flat: bool,
}

impl Said {
    /// What is to be looked for.
    ///
    /// # Errors
    /// What is missing, in words.
    pub fn asked(&self) -> Result<Asked, String> {
        let reference = match self.known {
            Known::Page(target) => Reference::Target(target),
            Known::Sheet(size) => Reference::taped(size),
        };
        if !reference.size().iter().all(|s| *s > 0.0) {
            return Err("Say how wide and high the sheet is".to_owned());
        }
        let placed = <[_; 4]>::try_from(self.corners.as_slice());
        let corners = placed.map_err(|_| "Place all four corners".to_owned())?;
        Ok(Asked { reference, corners, flat: self.bow == 0.0 })
    }
}
