//! What came of what was done last: news and refusals, which differ in words and colour; and cards that
//! stay until what they ask for is done.

use eframe::egui::{Color32, Label, RichText, ScrollArea, Ui};
use oddment_app::act::Act;
use oddment_app::place::Place;
use oddment_app::rack::Desk;
use oddment_app::session::Session;

use crate::theme::{self, Colours};

/// No taller (points) is what is told.
pub(crate) const TALLEST: f32 = 200.0;

/// What came of what was done last.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Told<'a> {
    /// What was done.
    News(&'a str),
    /// Why it was not.
    Refusal(&'a str),
    /// That the shop file lets wait.
    Wait,
}

impl<'a> Told<'a> {
    /// A refusal, or else what is told of the open job, or else of the rack.
    pub(crate) fn of(session: &'a Session) -> Option<Self> {
        Self::of_job(session).or_else(|| Self::of_rack(session))
    }

    /// A refusal, or else what is told of the open job.
    pub(crate) fn of_job(session: &'a Session) -> Option<Self> {
        Self::refusal_or_wait(session).or_else(|| session.notice().map(Self::News))
    }

    /// A refusal, or else what is told of the rack.
    pub(crate) fn of_rack(session: &'a Session) -> Option<Self> {
        let news = || session.rack().and_then(Desk::said).map(Self::News);
        Self::refusal_or_wait(session).or_else(news)
    }

    fn refusal_or_wait(session: &'a Session) -> Option<Self> {
        if session.rack().is_some_and(|rack| rack.waits_long()) {
            return Some(Self::Wait);
        }
        let refusal = session.refusal().or(session.rack().and_then(Desk::refused));
        // These two list all that is wrong with a file.
        let lists = matches!(session.settings().place, Place::Sheet | Place::Bars);
        let problem = session.problems().first().map(String::as_str).filter(|_| !lists);
        let refusal = refusal.or(problem);
        refusal.map(Self::Refusal)
    }

    /// In words.
    pub(crate) fn words(self) -> String {
        match self {
            Self::News(words) => words.to_owned(),
            Self::Refusal(why) => format!("Not done: {why}"),
            Self::Wait => {
                "Still waiting for the shop file; another program may have it.".to_owned()
            }
        }
    }

    /// In words and colour; news in this ink.
    pub(crate) fn text(self, c: &Colours, ink: Color32) -> RichText {
        let ink = if matches!(self, Self::Refusal(_)) { c.short } else { ink };
        RichText::new(self.words()).color(ink)
    }

    /// Shows it, on as many lines as it needs; what takes more than [`TALLEST`] scrolls.
    pub(crate) fn show(self, ui: &mut Ui, c: &Colours) {
        ScrollArea::vertical().id_salt("told").max_height(TALLEST).show(ui, |ui| {
            ui.add(Label::new(self.text(c, c.text)).wrap());
        });
    }
}

/// Whether a card waits for what it asked for. It stays until that is done, and with its content where it is
/// refused.
#[derive(Default)]
pub(crate) struct Pending {
    asked: bool,
}

impl Pending {
    /// Asks for something, unless an answer is awaited.
    pub(crate) fn ask(&mut self, act: Act, acts: &mut Vec<Act>) {
        if !self.asked {
            self.asked = true;
            acts.push(act);
        }
    }

    /// Whether it was done; where it was refused `fault` says why.
    pub(crate) fn is_done(&mut self, session: &Session, fault: &mut Option<String>) -> bool {
        if !self.asked {
            return false;
        }
        match Told::of_rack(session) {
            Some(Told::News(_)) => return true,
            Some(Told::Refusal(why)) => {
                self.asked = false;
                *fault = Some(why.to_owned());
            }
            Some(Told::Wait) | None => *fault = None,
        }
        false
    }

    /// Says what is wrong, or that it is being done.
    pub(crate) fn show(&self, ui: &mut Ui, c: &Colours, fault: Option<&str>) {
        if let Some(fault) = fault {
            ui.label(RichText::new(fault).color(c.short));
        } else if self.asked {
            let text = RichText::new("The shop file is being written.").font(theme::small());
            ui.label(text.color(c.quiet));
        }
    }
}
