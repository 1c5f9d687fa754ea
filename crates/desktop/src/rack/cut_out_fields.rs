//! A cut-out or a notch put together in fields, and written as it would be typed.

use eframe::egui::{Align2, RichText, TextEdit, Ui, vec2};
use oddment_core::capture::typed::Side;
use oddment_core::capture::words::{read_cutout, read_missing};
use oddment_core::units::LengthUnit;

use crate::theme::{self, Colours, Weight};

/// What is cut out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Form {
    #[default]
    Circle,
    Slot,
    Rectangle,
    Polygon,
    Notch,
}

const FORMS: [(Form, &str); 5] = [
    (Form::Circle, "circle"),
    (Form::Slot, "slot"),
    (Form::Rectangle, "rectangle"),
    (Form::Polygon, "polygon"),
    (Form::Notch, "notch in a side"),
];

/// How often.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Pattern {
    #[default]
    Once,
    Row,
    Bolts,
}

const PATTERNS: [(Pattern, &str); 3] =
    [(Pattern::Once, "once"), (Pattern::Row, "in a row"), (Pattern::Bolts, "on a bolt circle")];

/// The fields, each by what it is called.
const NAMES: [&str; 15] = [
    "diameter",
    "length",
    "width",
    "height",
    "deep",
    "X",
    "Y",
    "from the corner",
    "turned, °",
    "corners",
    "how many",
    "step X",
    "step Y",
    "circle of",
    "first at, °",
];

/// A cut-out as filled in so far.
#[derive(Default)]
pub(super) struct CutOutFields {
    form: Form,
    pattern: Pattern,
    side: usize,
    /// What stands in each field of [`NAMES`].
    texts: [String; NAMES.len()],
    fault: Option<String>,
}

/// What was put together: a line for the notches, or for what is cut out.
#[derive(Debug, PartialEq)]
pub(super) enum Written {
    Notch(String),
    CutOut(String),
}

impl CutOutFields {
    /// Draws the fields; what was put together, once it can be read.
    pub(super) fn show(&mut self, ui: &mut Ui, c: &Colours, unit: LengthUnit) -> Option<Written> {
        ui.horizontal_wrapped(|ui| {
            ui.label("cut out");
            for (form, name) in FORMS {
                if theme::choice(ui, c, name, self.form == form).clicked() {
                    self.form = form;
                }
            }
        });
        ui.horizontal_wrapped(|ui| match self.form {
            Form::Circle => self.row(ui, &["diameter"]),
            Form::Slot => self.row(ui, &["length", "width"]),
            Form::Rectangle => self.row(ui, &["width", "height"]),
            Form::Polygon => self.row(ui, &["corners"]),
            Form::Notch => {
                for (n, side) in Side::ALL.into_iter().enumerate() {
                    let spoken = format!("notch in the {} side", side.name());
                    let on = self.side == n;
                    if theme::spoken_choice(ui, c, side.name(), on, &spoken).clicked() {
                        self.side = n;
                    }
                }
                self.row(ui, &["length", "deep", "from the corner"]);
            }
        });
        if self.form != Form::Notch {
            ui.horizontal_wrapped(|ui| {
                if self.form != Form::Polygon {
                    let of = if self.form == Form::Rectangle { "lower left" } else { "middle" };
                    ui.label(RichText::new(format!("its {of} at")).color(c.quiet));
                    self.row(ui, &["X", "Y"]);
                }
                if self.form != Form::Circle {
                    self.row(ui, &["turned, °"]);
                }
            });
            ui.horizontal_wrapped(|ui| {
                for (pattern, name) in PATTERNS {
                    if theme::choice(ui, c, name, self.pattern == pattern).clicked() {
                        self.pattern = pattern;
                    }
                }
                match self.pattern {
                    Pattern::Once => {}
                    Pattern::Row => self.row(ui, &["how many", "step X", "step Y"]),
                    Pattern::Bolts => self.row(ui, &["how many", "circle of", "first at, °"]),
                }
            });
        }
        let mut written = None;
        ui.horizontal(|ui| {
            if theme::button(ui, c, "Cut it out", "", Weight::Plain).clicked() {
                match self.written(unit) {
                    Ok(done) => (self.fault, written) = (None, Some(done)),
                    Err(why) => self.fault = Some(why),
                }
            }
            if let Some(fault) = &self.fault {
                ui.label(RichText::new(fault).color(c.short));
            }
        });
        written
    }

    fn row(&mut self, ui: &mut Ui, names: &[&str]) {
        for (name, text) in NAMES.iter().zip(&mut self.texts).filter(|n| names.contains(n.0)) {
            ui.label(*name);
            let wide = if *name == "corners" { 250.0 } else { 70.0 };
            let field = TextEdit::singleline(text)
                .desired_width(wide)
                .min_size(vec2(wide, 36.0))
                .align(Align2::RIGHT_CENTER);
            let hint = if *name == "corners" { "0,0 40,0 20,30" } else { "" };
            ui.add(field.hint_text(hint)).accessible_name(format!("cut-out: {name}"));
        }
    }

    fn text(&self, name: &str) -> &str {
        let at = NAMES.iter().position(|n| *n == name);
        at.map_or("", |i| self.texts[i].trim())
    }

    /// What is missing is said by its field's name.
    fn needed(&self, name: &str) -> Result<String, String> {
        match self.text(name) {
            "" => Err(format!("fill in: {name}")),
            text => Ok(text.replace(' ', "")),
        }
    }

    /// As it would be typed.
    fn written(&self, unit: LengthUnit) -> Result<Written, String> {
        let needed = |name| self.needed(name);
        if self.form == Form::Notch {
            let (length, deep, at) =
                (needed("length")?, needed("deep")?, needed("from the corner")?);
            let line = format!("{} {length}x{deep} at {at}", Side::ALL[self.side].name());
            return read_missing(&line, unit).map(|_| Written::Notch(line));
        }
        let mut line = match self.form {
            Form::Circle => format!("circle {}", needed("diameter")?),
            Form::Slot => format!("slot {}x{}", needed("length")?, needed("width")?),
            Form::Polygon => format!("polygon {}", self.text("corners")),
            _ => format!("rectangle {}x{}", needed("width")?, needed("height")?),
        };
        if self.form != Form::Polygon {
            line += &format!(" at {},{}", needed("X")?, needed("Y")?);
        }
        if self.form != Form::Circle && !self.text("turned, °").is_empty() {
            line += &format!(" turn {}", needed("turned, °")?);
        }
        let or_zero = |name| self.needed(name).unwrap_or_else(|_| "0".to_owned());
        match self.pattern {
            Pattern::Once => {}
            Pattern::Row => {
                let (x, y) = (or_zero("step X"), or_zero("step Y"));
                line += &format!(" row {} step {x},{y}", needed("how many")?);
            }
            Pattern::Bolts => {
                let (count, on) = (needed("how many")?, needed("circle of")?);
                line += &format!(" bolt {count} on {on} from {}", or_zero("first at, °"));
            }
        }
        read_cutout(&line, unit).map(|_| Written::CutOut(line))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn filled(form: Form, pattern: Pattern, texts: &[(&str, &str)]) -> CutOutFields {
        let mut fields = CutOutFields { form, pattern, ..CutOutFields::default() };
        for (name, text) in texts {
            let at = NAMES.iter().position(|n| n == name).unwrap();
            fields.texts[at] = (*text).to_owned();
        }
        fields
    }

    #[track_caller]
    fn check(fields: &CutOutFields, expected: Result<Written, &str>) {
        assert_eq!(fields.written(LengthUnit::Mm), expected.map_err(str::to_owned));
    }

    #[test]
    fn fields_are_written_as_they_would_be_typed() {
        let place = [("X", "300"), ("Y", "200"), ("diameter", "9"), ("how many", "6")];
        let bolts = [&place[..], &[("circle of", "120")]].concat();
        let line = "circle 9 at 300,200 bolt 6 on 120 from 0".to_owned();
        check(&filled(Form::Circle, Pattern::Bolts, &bolts), Ok(Written::CutOut(line)));
        let slot = [
            ("length", "60"),
            ("width", "1/2 in"),
            ("X", "10"),
            ("Y", "20"),
            ("turned, °", "30"),
            ("how many", "3"),
            ("step Y", "80"),
        ];
        let line = "slot 60x1/2in at 10,20 turn 30 row 3 step 0,80".to_owned();
        check(&filled(Form::Slot, Pattern::Row, &slot), Ok(Written::CutOut(line)));
        let notch = [("length", "100"), ("deep", "30"), ("from the corner", "250")];
        let mut notch = filled(Form::Notch, Pattern::Once, &notch);
        notch.side = Side::ALL.iter().position(|s| s.name() == "top").unwrap();
        check(&notch, Ok(Written::Notch("top 100x30 at 250".to_owned())));
        let corners = [("corners", "0,0 40,0 20,30")];
        let line = "polygon 0,0 40,0 20,30".to_owned();
        check(&filled(Form::Polygon, Pattern::Once, &corners), Ok(Written::CutOut(line)));
    }

    #[test]
    fn what_is_missing_is_said_by_its_name() {
        let empty = CutOutFields::default();
        check(&empty, Err("fill in: diameter"));
        let no_count = [("diameter", "9"), ("X", "3"), ("Y", "2"), ("step X", "40")];
        check(&filled(Form::Circle, Pattern::Row, &no_count), Err("fill in: how many"));
    }
}
