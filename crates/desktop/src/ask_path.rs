//! Asking for files and folders: with the system's dialog, and where that gives none with a path
//! that is typed.

use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use eframe::egui::{Context, RichText, ScrollArea, TextEdit, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::capture::CaptureAct;
use oddment_app::compare::CompareAct;
use oddment_app::exchange::ReadAs;
use oddment_app::rack::RackAct;
use oddment_app::session::Ask;
use oddment_files::drawing::ENDINGS;
use oddment_files::labels::Stickers;

use crate::theme::{self, Colours, Weight};

/// A dialog that says “cancelled” sooner than this was never shown to anybody.
const TOO_SOON: Duration = Duration::from_millis(400);

/// What is being asked.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Question {
    Drawings,
    Sheet,
    Plan,
    Save,
    Folder,
    FolderForWays,
    Order,
    Photo,
    Page,
    /// What of the rack a file of this name holds.
    RackOut(String),
    /// Labels of these sheets, on this paper.
    Labels(Vec<String>, Stickers),
    RackIn,
    RackDrawings,
    Shop,
    NewShop,
}

impl Question {
    fn of(ask: Ask) -> Option<Self> {
        Some(match ask {
            Ask::PickDrawings => Self::Drawings,
            Ask::PickSheet => Self::Sheet,
            Ask::PickPlan => Self::Plan,
            Ask::PickSave => Self::Save,
            Ask::PickFolder => Self::Folder,
            Ask::PickFolderForWays => Self::FolderForWays,
            Ask::PickOrder => Self::Order,
            Ask::PickPhoto => Self::Photo,
            Ask::PickPage => Self::Page,
            Ask::PickExport(name) => Self::RackOut(name),
            Ask::PickLabels(labels, stickers) => Self::Labels(labels, stickers),
            Ask::PickImport => Self::RackIn,
            Ask::PickDrawingsFolder => Self::RackDrawings,
            Ask::PickShop => Self::Shop,
            Ask::PickNewShop => Self::NewShop,
            Ask::FitView
            | Ask::ZoomIn
            | Ask::ZoomOut
            | Ask::FindAct
            | Ask::Look
            | Ask::Export
            | Ask::SheetFacts
            | Ask::Distances
            | Ask::RecordParts
            | Ask::OfRack(_) => {
                return None;
            }
        })
    }

    fn title(&self) -> &'static str {
        match self {
            Self::Drawings => "Add drawings to the order",
            Self::Sheet => "Take a sheet from a drawing, or from a plan",
            Self::Plan => "Open a plan or a job",
            Self::Save => "Save the plan",
            Self::Folder => "Export into a folder",
            Self::FolderForWays => "Write the ways into a folder",
            Self::Order => "Add the order of a job or plan",
            Self::Photo => "Take a sheet from a photograph",
            Self::Page => "Write the page to print",
            Self::RackOut(_) => "Write out of the rack",
            Self::Labels(..) => "Write labels to print",
            Self::RackIn => "Take a list or a whole rack in",
            Self::RackDrawings => "Take a folder of drawings in",
            Self::Shop => "Open a shop file",
            Self::NewShop => "Keep a new rack in",
        }
    }

    fn does(&self) -> &'static str {
        match self {
            Self::Drawings => "Add",
            Self::Sheet => "Take",
            Self::Plan => "Open",
            Self::Save => "Save",
            Self::Folder => "Export",
            Self::FolderForWays => "Write",
            Self::Order => "Add",
            Self::Photo => "Read",
            Self::Page | Self::RackOut(_) | Self::Labels(..) => "Write",
            Self::RackIn | Self::RackDrawings => "Take in",
            Self::Shop => "Open",
            Self::NewShop => "Make",
        }
    }

    fn endings(&self) -> &'static [&'static str] {
        match self {
            Self::Drawings => &ENDINGS,
            Self::Sheet => &["dxf", "svg", "json"],
            Self::Plan | Self::Save | Self::Order => &["json"],
            Self::Photo => &["jpg", "jpeg", "png"],
            Self::Page => &["pdf", "svg"],
            Self::RackOut(_) => &["csv", "json", "dxf"],
            Self::Labels(..) => &["pdf"],
            Self::RackIn => &["csv", "json"],
            Self::Shop | Self::NewShop => &["oddment"],
            Self::Folder | Self::FolderForWays | Self::RackDrawings => &[],
        }
    }

    /// Whether it asks for what must be there already.
    fn reads(&self) -> bool {
        match self {
            Self::Drawings
            | Self::Sheet
            | Self::Plan
            | Self::Order
            | Self::Photo
            | Self::RackIn
            | Self::RackDrawings
            | Self::Shop => true,
            Self::Save
            | Self::Folder
            | Self::FolderForWays
            | Self::Page
            | Self::RackOut(_)
            | Self::Labels(..)
            | Self::NewShop => false,
        }
    }

    fn act(&self, mut paths: Vec<PathBuf>) -> Option<Act> {
        let first = paths.first()?.clone();
        Some(match self {
            Self::Drawings => Act::Read(std::mem::take(&mut paths), ReadAs::Parts),
            Self::Sheet => Act::Read(vec![first], ReadAs::Sheet),
            Self::Plan => Act::OpenFile(first),
            Self::Save => Act::SaveFile(first),
            Self::Folder => Act::ExportTo(first),
            Self::FolderForWays => Act::Compare(CompareAct::ExportTo(first)),
            Self::Order => Act::Compare(CompareAct::AddOrderFrom(first)),
            Self::Photo => Act::Capture(CaptureAct::Open(first)),
            Self::Page => Act::Capture(CaptureAct::WritePage(first)),
            Self::RackOut(name) => {
                // A drawing is of the sheet that the name asked about says, whatever it is called.
                let label = name.strip_suffix(".dxf").map(str::to_owned);
                Act::Rack(RackAct::Export(first, label))
            }
            Self::Labels(labels, stickers) => {
                Act::Rack(RackAct::Labels(labels.clone(), *stickers, ending_so(first, "pdf")))
            }
            Self::RackIn | Self::RackDrawings => Act::Rack(RackAct::Import(first)),
            Self::Shop => Act::Rack(RackAct::OpenShop(first)),
            Self::NewShop => Act::Rack(RackAct::NewShop(ending_so(first, "oddment"))),
        })
    }
}

/// What the file of these sheets' labels is called, unless it is said otherwise.
fn labels_file(labels: &[String]) -> String {
    match labels {
        [one] => format!("label {}.pdf", one.replace(std::path::is_separator, "-")),
        _ => "labels.pdf".to_owned(),
    }
}

/// The path with this ending, where it has none.
fn ending_so(path: PathBuf, ending: &str) -> PathBuf {
    if path.extension().is_some() { path } else { path.with_extension(ending) }
}

/// A question to the person, open until it is answered.
pub(crate) struct AskPath {
    question: Question,
    folder: PathBuf,
    dialog: Option<(Receiver<Vec<PathBuf>>, Instant)>,
    typed: String,
    /// Files that were pressed, where several may be.
    pressed: Vec<PathBuf>,
    listed: (String, Matches),
    /// Whether the field has yet to be given the keyboard.
    unfocused: bool,
    fault: Option<String>,
}

/// Files and folders that a typed path may become: some of them, and how many there are.
#[derive(Default)]
struct Matches {
    shown: Vec<PathBuf>,
    of: usize,
}

/// What became of the question in a frame.
pub(crate) enum Answer {
    /// Not answered yet.
    Waiting,
    /// Nothing is to be done.
    Nothing,
    /// This is to be done.
    Do(Act),
}

impl AskPath {
    /// Asks; `None` where the session did not ask for a path.
    pub(crate) fn new(ctx: &Context, ask: Ask, folder: Option<&Path>, title: &str) -> Option<Self> {
        let question = Question::of(ask)?;
        // It may have been on a stick, or renamed since.
        let folder = folder.filter(|f| f.is_dir()).map(Path::to_path_buf);
        let folder = folder.or_else(std::env::home_dir).filter(|f| f.is_dir());
        let folder = folder.or_else(|| std::env::current_dir().ok());
        let folder = folder.unwrap_or_default();
        let name = match question {
            Question::Save => format!("{title}.json"),
            Question::Folder | Question::FolderForWays => title.to_owned(),
            Question::Page => "target.pdf".to_owned(),
            Question::RackOut(ref name) => name.clone(),
            Question::Labels(ref labels, _) => labels_file(labels),
            Question::NewShop => "our-shop.oddment".to_owned(),
            _ => String::new(),
        };
        let dialog =
            system_dialog(ctx, question.clone(), &folder, &name).map(|d| (d, Instant::now()));
        let typed = folder.join(name).to_string_lossy().into_owned();
        let (pressed, listed) = Default::default();
        Some(Self {
            question,
            folder,
            dialog,
            typed,
            pressed,
            listed,
            unfocused: true,
            fault: None,
        })
    }

    /// Waits for the system's dialog, or shows the field for a typed path.
    pub(crate) fn show(&mut self, ctx: &Context, c: &Colours) -> Answer {
        if let Some((dialog, asked)) = &self.dialog {
            match dialog.try_recv() {
                Ok(paths) if paths.is_empty() && asked.elapsed() < TOO_SOON => self.dialog = None,
                Ok(paths) => return self.question.act(paths).map_or(Answer::Nothing, Answer::Do),
                Err(std::sync::mpsc::TryRecvError::Empty) => return Answer::Waiting,
                Err(std::sync::mpsc::TryRecvError::Disconnected) => self.dialog = None,
            }
        }
        self.typed_path(ctx, c)
    }

    fn typed_path(&mut self, ctx: &Context, c: &Colours) -> Answer {
        let mut answer = Answer::Waiting;
        let given_up = theme::modal(ctx, c, self.question.title(), 640.0, |ui| {
            let field = ui
                .add(
                    TextEdit::singleline(&mut self.typed)
                        .desired_width(f32::INFINITY)
                        .align(eframe::egui::Align2::LEFT_CENTER)
                        .min_size(vec2(0.0, 36.0)),
                )
                .accessible_name("path");
            if std::mem::take(&mut self.unfocused) {
                field.request_focus();
            }
            if field.changed() {
                self.fault = None;
            }
            if self.listed.0 != self.typed {
                let found = matches(Path::new(&self.typed), &self.typed, self.question.endings());
                self.listed = (self.typed.clone(), found);
            }
            ScrollArea::vertical().max_height(260.0).show(ui, |ui| self.list(ui, c));
            let Matches { shown, of } = &self.listed.1;
            if shown.len() < *of {
                let says = format!("The first {} of {of}: type more of the name", shown.len());
                ui.label(RichText::new(says).color(c.quiet));
            }
            if let Some(fault) = &self.fault {
                ui.label(RichText::new(fault).color(c.short));
            }
            ui.horizontal(|ui| {
                let paths = self.paths();
                let does = match paths.len() {
                    0 | 1 => self.question.does().to_owned(),
                    n => format!("{} {n} files", self.question.does()),
                };
                // On a name that the keyboard speaks to, Enter presses that.
                let elsewhere = !field.lost_focus() && ui.memory(|m| m.focused().is_some());
                let enter = !elsewhere && ui.input(|i| i.key_pressed(eframe::egui::Key::Enter));
                let pressed = theme::button(ui, c, &does, "Enter", Weight::Plain).clicked();
                if pressed || enter {
                    let missing = paths.iter().find(|p| self.question.reads() && !p.exists());
                    self.fault = missing.map(|path| format!("There is no {}", path.display()));
                    if self.fault.is_none()
                        && let Some(act) = self.question.act(paths)
                    {
                        answer = Answer::Do(act);
                    }
                }
                if theme::button(ui, c, "Cancel", "Esc", Weight::Words).clicked() {
                    answer = Answer::Nothing;
                }
            });
        });
        if given_up && matches!(answer, Answer::Waiting) {
            answer = Answer::Nothing;
        }
        answer
    }

    /// What the typed path may become, to be pressed.
    fn list(&mut self, ui: &mut Ui, c: &Colours) {
        let several = self.question == Question::Drawings;
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing = vec2(4.0, 0.0);
            let files = self.listed.1.shown.iter().filter(|p| !p.is_dir());
            let all: Vec<PathBuf> = files.cloned().collect();
            if several && all.len() > 1 {
                let name = format!("All {} drawings here", all.len());
                if theme::choice(ui, c, &name, self.pressed == all).clicked() {
                    self.pressed = if self.pressed == all { Vec::new() } else { all };
                }
            }
            for path in &self.listed.1.shown {
                let name = path.file_name().unwrap_or_default().to_string_lossy();
                if path.is_dir() {
                    if theme::choice(ui, c, &format!("{name}/"), false).clicked() {
                        self.typed = path.join("").to_string_lossy().into_owned();
                    }
                    continue;
                }
                let at = self.pressed.iter().position(|p| p == path);
                if theme::choice(ui, c, &name, at.is_some()).clicked() {
                    match at {
                        Some(at) => drop(self.pressed.remove(at)),
                        None if several => self.pressed.push(path.clone()),
                        None => self.typed = path.to_string_lossy().into_owned(),
                    }
                }
            }
        });
    }

    /// What was chosen: the files that were pressed, or else what is typed; several with a semicolon
    /// between them.
    fn paths(&self) -> Vec<PathBuf> {
        if !self.pressed.is_empty() {
            return self.pressed.clone();
        }
        let one = self.folder.join(self.typed.trim());
        if self.question != Question::Drawings || one.exists() {
            return vec![one];
        }
        let all = self.typed.split(';').map(str::trim).filter(|path| !path.is_empty());
        all.map(|path| self.folder.join(path)).collect()
    }
}

/// The system's dialog on a thread of its own; what it answers comes back, nothing when cancelled.
fn system_dialog(
    ctx: &Context,
    question: Question,
    folder: &Path,
    name: &str,
) -> Option<Receiver<Vec<PathBuf>>> {
    let (send, answer) = channel();
    let mut dialog = rfd::FileDialog::new()
        .set_title(question.title())
        .set_directory(folder)
        .set_file_name(name);
    if !question.endings().is_empty() {
        dialog = dialog.add_filter(question.endings().join(", "), question.endings());
    }
    let ctx = ctx.clone();
    let ask = move || {
        let paths = match question {
            Question::Drawings => dialog.pick_files().unwrap_or_default(),
            Question::Sheet
            | Question::Plan
            | Question::Order
            | Question::Photo
            | Question::RackIn
            | Question::Shop => dialog.pick_file().into_iter().collect(),
            Question::Save
            | Question::Page
            | Question::RackOut(_)
            | Question::Labels(..)
            | Question::NewShop => dialog.save_file().into_iter().collect(),
            Question::Folder | Question::FolderForWays | Question::RackDrawings => {
                dialog.pick_folder().into_iter().collect()
            }
        };
        // The window may have gone meanwhile.
        let _ = send.send(paths);
        ctx.request_repaint();
    };
    std::thread::Builder::new().name("file dialog".into()).spawn(ask).ok()?;
    Some(answer)
}

/// Folders and files of these endings that a typed path may become, up to 200 of them.
fn matches(path: &Path, typed: &str, endings: &[&str]) -> Matches {
    let whole = typed.ends_with(std::path::is_separator);
    let folder = if whole { Some(path) } else { path.parent() };
    let begins = if whole {
        String::new()
    } else {
        path.file_name().unwrap_or_default().to_string_lossy().to_lowercase()
    };
    let Some(entries) = folder.and_then(|f| std::fs::read_dir(f).ok()) else {
        return Matches::default();
    };
    let fits = |p: &PathBuf| {
        let name = p.file_name().unwrap_or_default().to_string_lossy().to_lowercase();
        let ending = p.extension().unwrap_or_default().to_string_lossy().to_lowercase();
        !name.starts_with('.')
            && name.starts_with(&begins)
            && (p.is_dir() || endings.contains(&ending.as_str()))
    };
    let mut found: Vec<PathBuf> =
        entries.take(2000).filter_map(|e| Some(e.ok()?.path())).filter(fits).collect();
    found.sort_by_key(|p| (!p.is_dir(), p.file_name().map(|n| n.to_ascii_lowercase())));
    let of = found.len();
    found.truncate(200);
    Matches { shown: found, of }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_typed_path_is_completed() {
        let folder = std::env::temp_dir().join(format!("oddment-paths-{}", std::process::id()));
        std::fs::create_dir_all(folder.join("parts")).unwrap();
        for name in ["plate.DXF", "plan.json", "pin.svg", ".hidden.dxf"] {
            std::fs::write(folder.join(name), "").unwrap();
        }
        let names = |typed: &str| -> Vec<String> {
            let typed = format!("{}/{typed}", folder.display());
            matches(Path::new(&typed), &typed, &["dxf", "svg"])
                .shown
                .iter()
                .map(|p| p.file_name().unwrap().to_string_lossy().into_owned())
                .collect()
        };
        assert_eq!(names(""), ["parts", "pin.svg", "plate.DXF"]);
        assert_eq!(names("PL"), ["plate.DXF"]);
        assert_eq!(names("none/"), [""; 0]);
        std::fs::remove_dir_all(&folder).unwrap();
    }

    fn asked(question: Question, typed: &str) -> AskPath {
        let (dialog, (pressed, listed)) = (None, Default::default());
        let (folder, typed) = (PathBuf::from("/shop"), typed.to_owned());
        AskPath { question, folder, dialog, typed, pressed, listed, unfocused: true, fault: None }
    }

    #[test]
    fn several_drawings_are_typed_or_pressed() {
        let paths = |names: &[&str]| -> Vec<PathBuf> { names.iter().map(PathBuf::from).collect() };
        let mut ask = asked(Question::Drawings, "a.dxf; /b/c.svg ;");
        assert_eq!(ask.paths(), paths(&["/shop/a.dxf", "/b/c.svg"]));
        ask.pressed = paths(&["/shop/x.dxf", "/shop/y.dxf"]);
        assert_eq!(ask.paths(), ask.pressed);
        // A plan is one file, whatever its name.
        assert_eq!(asked(Question::Plan, "a;b.json").paths(), paths(&["/shop/a;b.json"]));
    }

    #[test]
    fn answers_become_acts() {
        let path = PathBuf::from("/a/b.dxf");
        let act = Question::Sheet.act(vec![path.clone()]);
        assert_eq!(act, Some(Act::Read(vec![path], ReadAs::Sheet)));
        assert_eq!(Question::Plan.act(Vec::new()), None);
        let labels = vec!["S3/4".to_owned()];
        assert_eq!(labels_file(&labels), "label S3-4.pdf");
        let act = Question::Labels(labels.clone(), Stickers::A4).act(vec!["/a/two".into()]);
        let print = RackAct::Labels(labels, Stickers::A4, "/a/two.pdf".into());
        assert_eq!(act, Some(Act::Rack(print)));
    }
}
