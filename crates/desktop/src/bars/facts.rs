//! What there is to know of the bar that was pressed, or of the whole plan.

use eframe::egui::{Grid, Rect, RichText, ScrollArea, Sense, Stroke, Ui, pos2, vec2};
use oddment_app::act::Act;
use oddment_app::bars::{BarsAct, PlannedBars};
use oddment_app::session::Session;
use oddment_core::bars::profile::Profile;
use oddment_core::bars::{BarPlan, BarsAccount, CutBar, CutList, Face, Setup, Stock};
use oddment_core::shape::{PartSpace, Point};
use oddment_core::units::LengthUnit;

use super::draw::stock_name;
use crate::sheet::card;
use crate::sheet::pictures::{Picture, hatch};
use crate::theme::{self, Colours, Weight};

/// The machine's manual and trained people know more.
const CAREFUL: &str = "Measure each bar before you cut it. Never hold short ends by hand. The \
                       machine’s manual, local rules and trained people come first.";

/// What is told about.
pub(super) struct Shown<'a> {
    /// The list, with the rack's bars.
    pub(super) list: &'a CutList,
    /// The plan, where there is one.
    pub(super) planned: Option<&'a PlannedBars>,
    /// The bar of the plan that was pressed.
    pub(super) chosen: Option<usize>,
}

/// Draws the card.
pub(super) fn show(
    ui: &mut Ui,
    c: &Colours,
    session: &Session,
    shown: &Shown<'_>,
    rect: Rect,
    acts: &mut Vec<Act>,
) {
    let Shown { list, planned, chosen } = *shown;
    let unit = session.settings().unit();
    card(ui, c, rect, |ui| {
        let quiet = |text: String| RichText::new(text).font(theme::small()).color(c.quiet);
        match &list.profile {
            Some(profile) => end_view(ui, c, profile),
            None => {
                ui.label(quiet(
                    "No profile is said: mass, sag and what mitres save are not known.".into(),
                ));
            }
        }
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            match (planned, chosen) {
                (Some(planned), Some(bar)) => one_bar(ui, c, unit, planned, bar),
                (Some(planned), None) => {
                    all_bars(ui, c, unit, planned);
                    ui.add_space(6.0);
                    let compare = theme::button(ui, c, "Compare the ways", "W", Weight::Plain);
                    if compare.on_hover_text("Other ways to cut the order, beside this").clicked() {
                        acts.push(Act::Bars(BarsAct::Compare));
                    }
                }
                (None, _) => machine(ui, c, unit, list),
            }
            ui.add_space(6.0);
            ui.label(quiet(CAREFUL.into()));
        });
    });
}

/// A fact in two columns.
fn fact(ui: &mut Ui, c: &Colours, name: &str, value: &str) {
    ui.label(RichText::new(name).font(theme::small()).color(c.quiet));
    ui.label(RichText::new(value).font(theme::strong()));
    ui.end_row();
}

fn length(unit: LengthUnit, mm: f64) -> String {
    format!("{} {unit}", unit.show(mm))
}

fn minutes(seconds: f64) -> String {
    format!("about {:.0} min", (seconds / 60.0).ceil())
}

/// What the machine asks for, before anything is planned.
fn machine(ui: &mut Ui, c: &Colours, unit: LengthUnit, list: &CutList) {
    Grid::new("bar machine").num_columns(2).spacing(vec2(14.0, 4.0)).show(ui, |ui| {
        fact(ui, c, "kerf", &length(unit, list.kerf));
        fact(ui, c, "lost at the datum end", &length(unit, list.lost()[0]));
        fact(ui, c, "lost at the far end", &length(unit, list.lost()[1]));
        if let Some(longest) = list.machine.longest_load {
            fact(ui, c, "longest that loads", &length(unit, longest));
        }
        let from = list.keeps_from();
        let from = if from.is_finite() { length(unit, from) } else { "no length".to_owned() };
        fact(ui, c, "stays in the rack from", &from);
    });
}

/// The whole plan.
pub(super) fn all_bars(ui: &mut Ui, c: &Colours, unit: LengthUnit, planned: &PlannedBars) {
    let PlannedBars { list, plan, .. } = planned;
    let setups: Vec<_> = plan.bars.iter().map(|bar| list.setup(bar)).collect();
    let kept: Vec<f64> = setups.iter().filter(|s| s.kept).map(|s| s.left.1 - s.left.0).collect();
    let scrap: f64 = setups.iter().filter(|s| !s.kept).map(|s| s.left.1 - s.left.0).sum();
    let used: f64 = plan.bars.iter().map(|bar| list.stock[bar.stock].length).sum();
    let cut: f64 = plan
        .bars
        .iter()
        .flat_map(|bar| &bar.pieces)
        .map(|piece| list.parts[piece.part].length)
        .sum();
    Grid::new("all bars").num_columns(2).spacing(vec2(14.0, 4.0)).show(ui, |ui| {
        fact(ui, c, "bars", &plan.bars.len().to_string());
        fact(ui, c, "cost", &format!("{:.2}", plan.cost));
        account(ui, c, list, plan);
        let sure = if plan.proven {
            "this one".to_owned()
        } else {
            format!("not under {:.2}", plan.lower_bound)
        };
        fact(ui, c, "the cheapest is", &sure);
        fact(ui, c, "in parts", &format!("{:.1} %", 100.0 * cut / used.max(1e-9)));
        if let Some(profile) = &list.profile {
            let kg = profile.mass_per_metre() * used / 1000.0;
            fact(ui, c, "mass", &format!("{kg:.1} kg"));
        }
        fact(ui, c, "time", &minutes(list.seconds(plan)));
        let not_loaded = list.stock.iter().filter(|bar| !list.loads(bar) && bar.count != Some(0));
        let not_loaded: Vec<String> = not_loaded.map(|bar| bar_in_words(bar, unit)).collect();
        if !not_loaded.is_empty() {
            fact(ui, c, "can’t be loaded", &not_loaded.join(", "));
        }
        let lengths: Vec<String> = kept.iter().map(|mm| unit.show(*mm)).collect();
        let stays = if lengths.is_empty() { "nothing".to_owned() } else { lengths.join(", ") };
        fact(ui, c, "stays in the rack", &stays);
        fact(ui, c, "left as scrap", &length(unit, scrap));
    });
}

/// “T40-04 (7200.0)”.
fn bar_in_words(bar: &Stock, unit: LengthUnit) -> String {
    format!("{} ({})", stock_name(bar), unit.show(bar.length))
}

/// What the cost is made up of, where it is more than the bars.
fn account(ui: &mut Ui, c: &Colours, list: &CutList, plan: &BarPlan) {
    let BarsAccount { metal, scrap, handling, goes_back } = list.account(plan);
    let items = [
        ("  metal", metal),
        ("  scrap brings", scrap),
        ("  handling", handling),
        ("  goes back", goes_back),
    ];
    if items[1..].iter().all(|(_, money)| *money == 0.0) {
        return;
    }
    for (name, money) in items {
        ui.label(RichText::new(name).font(theme::small()).color(c.quiet));
        ui.label(format!("{money:.2}"));
        ui.end_row();
    }
}

/// One bar: its cuts in order, support and warnings.
fn one_bar(ui: &mut Ui, c: &Colours, unit: LengthUnit, planned: &PlannedBars, index: usize) {
    let PlannedBars { list, plan, .. } = planned;
    let bar = &plan.bars[index];
    let stock = &list.stock[bar.stock];
    let setup = list.setup(bar);
    ui.label(RichText::new(stock_name(stock)).font(theme::strong()));
    for warning in &setup.warnings {
        ui.label(RichText::new(format!("Careful: {warning}.")).color(c.short));
    }
    Grid::new("one bar").num_columns(2).spacing(vec2(14.0, 4.0)).show(ui, |ui| {
        fact(ui, c, "length", &length(unit, stock.length));
        if !stock.heat.is_empty() {
            fact(ui, c, "heat", &stock.heat);
        }
        if !stock.place.is_empty() {
            fact(ui, c, "stands", &stock.place);
        }
        if stock.cut_before > 0.0 {
            fact(ui, c, "cut off before", &length(unit, stock.cut_before));
        }
        if let Some(first) = setup.cuts.first() {
            fact(ui, c, "first cut at", &length(unit, first.at));
        }
        if setup.tabs > 0 {
            fact(ui, c, "tabs", &setup.tabs.to_string());
        }
        if let Some(support) = setup.support {
            fact(ui, c, "far support at", &length(unit, support.at));
            fact(ui, c, "sags there", &length(unit, support.sag));
        }
        if let Some(kg) = setup.mass {
            fact(ui, c, "mass", &format!("{kg:.1} kg"));
        }
        fact(ui, c, "time", &minutes(setup.seconds));
        let goes = if setup.kept { "stays" } else { "scrap" };
        let left = length(unit, setup.left.1 - setup.left.0);
        fact(ui, c, "left", &format!("{left}, {goes}"));
    });
    ui.add_space(4.0);
    Grid::new("cuts").num_columns(4).spacing(vec2(12.0, 4.0)).striped(true).show(ui, |ui| {
        for head in ["cut", "at", "angle", "then take off"] {
            ui.label(RichText::new(head).font(theme::small()).color(c.quiet));
        }
        ui.end_row();
        for (i, cut) in setup.cuts.iter().enumerate() {
            ui.label(RichText::new((i + 1).to_string()).color(c.quiet));
            ui.label(RichText::new(unit.show(cut.at)).font(theme::strong()));
            ui.label(match cut.angle {
                0.0 => "square".to_owned(),
                angle => format!("{:.1}°", angle.to_degrees()),
            });
            let off = bar.pieces.iter().find(|piece| (piece.end(list) - cut.at).abs() < 0.01);
            ui.label(off.map_or(String::new(), |piece| list.parts[piece.part].called()));
            ui.end_row();
        }
    });
    holes(ui, c, unit, list, bar, &setup);
}

/// Holes and copes of a bar, in order along it.
fn holes(ui: &mut Ui, c: &Colours, unit: LengthUnit, list: &CutList, bar: &CutBar, setup: &Setup) {
    if setup.holes.is_empty() {
        return;
    }
    ui.add_space(6.0);
    Grid::new("holes").num_columns(4).spacing(vec2(12.0, 4.0)).striped(true).show(ui, |ui| {
        for head in ["hole at", "size", "face", "of"] {
            ui.label(RichText::new(head).font(theme::small()).color(c.quiet));
        }
        ui.end_row();
        for hole in &setup.holes {
            ui.label(RichText::new(unit.show(hole.at)).font(theme::strong()));
            let cope = if hole.cope { "cope " } else { "" };
            ui.label(format!("{cope}{}", unit.show(hole.size)));
            ui.label(&hole.face_words);
            ui.label(list.parts[bar.pieces[hole.piece].part].called());
            ui.end_row();
        }
    });
}

/// The profile as it is seen from its end, with its name and what it weighs.
fn end_view(ui: &mut Ui, c: &Colours, profile: &Profile) {
    ui.horizontal(|ui| {
        let (frame, _) = ui.allocate_exact_size(vec2(84.0, 84.0), Sense::hover());
        if let Ok(region) = profile.section.outline() {
            let picture = Picture::<PartSpace>::of(&region, 0.05);
            let bounds = region.bounds();
            let side = bounds.width().max(bounds.height()).max(1e-6);
            let scale = f64::from(frame.width() - 6.0) / side;
            let to_screen = |p: Point<PartSpace>| {
                let off = p - bounds.centre();
                let (x, y) = ((off.x * scale) as f32, (off.y * scale) as f32);
                pos2(frame.center().x + x, frame.center().y - y)
            };
            ui.painter().add(picture.fill(to_screen, c.metal));
            let loops: Vec<Vec<_>> =
                picture.loops.iter().map(|l| l.iter().map(|p| to_screen(*p)).collect()).collect();
            let fine = Stroke::new(0.8, c.metal_edge);
            for line in hatch(&loops, 5.0, false) {
                ui.painter().line_segment(line, fine);
            }
            let edge = Stroke::new(1.5, c.metal_edge);
            ui.painter().extend(picture.lines(to_screen, edge, edge));
            if let Some(seam) = profile.seam {
                let centre = bounds.centre();
                let (w, h) = (bounds.width() / 2.0, bounds.height() / 2.0);
                let (x, y) = match seam {
                    Face::Top => (0.0, h),
                    Face::Bottom => (0.0, -h),
                    Face::Front => (w, 0.0),
                    Face::Back => (-w, 0.0),
                };
                let at = to_screen(Point::new(centre.x + x, centre.y + y));
                ui.painter().circle_filled(at, 4.0, c.ink);
            }
        }
        ui.vertical(|ui| {
            ui.add_space(14.0);
            ui.label(RichText::new(&profile.name).font(theme::strong()));
            let seam =
                profile.seam.map_or(String::new(), |f| format!(", seam at the {}", f.name()));
            let kg = profile.mass_per_metre();
            let kg = format!("{kg:.2} kg per metre, seen from its datum end{seam}");
            ui.label(RichText::new(kg).font(theme::small()).color(c.quiet));
        });
    });
    ui.add_space(6.0);
}
