//! A sheet being captured from a photograph, for the rack.

use oddment_files::outputs::put;
use oddment_photo::{Paper, Target};
use oddment_rack::sheets::NewSheet;

use super::{Ask, Session};
use crate::capture::{Capture, CaptureAct, Known, Made};
use crate::rack::RackAct;

impl Session {
    /// The photograph that a sheet is being captured from.
    pub fn capture(&self) -> Option<&Capture> {
        self.capture.as_ref()
    }

    pub(super) fn capture_act(&mut self, act: CaptureAct) -> Option<Ask> {
        match act {
            CaptureAct::Pick => return Some(Ask::PickPhoto),
            CaptureAct::PickPage => return Some(Ask::PickPage),
            CaptureAct::Open(file) => match Capture::open(file.clone(), self.wake.clone()) {
                Ok(capture) => {
                    self.remember_folder_of(&file);
                    self.capture = Some(capture);
                }
                Err(why) => self.refuse(why.to_string()),
            },
            CaptureAct::Close => self.capture = None,
            CaptureAct::WritePage(file) => {
                let target = match self.capture().map(|c| c.said().known) {
                    Some(Known::Page(target)) => target,
                    _ => Target { paper: Paper::A4, printed: None },
                };
                let kind = file.extension().and_then(|e| e.to_str()).unwrap_or("pdf");
                let written = target.written(kind).and_then(|page| {
                    put(&file, &page)
                        .map_err(|why| format!("{} can't be written: {why}", file.display()))
                });
                match written {
                    Ok(()) => {
                        self.notice = Some(format!("Print {} without scaling", file.display()));
                    }
                    Err(why) => self.refuse(why),
                }
            }
            CaptureAct::Add(facts) => {
                let unit = self.settings.unit();
                let Some(capture) = &self.capture else { return None };
                let made = capture.captured(facts.thickness, unit);
                match made.and_then(|captured| Made::of(&captured, unit)) {
                    Ok(Made { outline, .. }) => {
                        let new = NewSheet { label: None, facts: *facts, outline, drawing: None };
                        self.rack_act(RackAct::Add(vec![new]));
                    }
                    Err(why) => self.refuse(why),
                }
            }
            other => {
                if let Some(capture) = &mut self.capture {
                    capture.act(other);
                }
            }
        }
        None
    }
}
