//! The drawings of a cut, read back: by our own reader, and by an outside one where ODDMENT_CORPUS
//! is named and Python has ezdxf.
#![cfg(test)]

mod outside;

use std::collections::HashMap;
use std::process::Command;

use oddment_core::check::{CheckedPlan, check};
use oddment_core::cut_data::Process;
use oddment_core::cutting::{ByHand, Cut, PassKind, plan_cut};
use oddment_core::distances::{Clearances, EdgeDistance, StartRule};
use oddment_core::machine::Limits;
use oddment_core::part::{Mark, MarkKind, Part};
use oddment_core::plan::{Count, Job, Layout, Placement, Plan, Stock, Wanted};
use oddment_core::shape::{BedSpace, Edge, Loop, Point, Pose, Region, SheetSpace, Vector, Vertex};
use oddment_core::sheet::{EdgeFacts, Metal, Sheet};
use oddment_core::units::LengthUnit;
use oddment_files::cut_data::starting_cut_data;
use oddment_files::drawing::{ReadOptions, read_drawing};
use oddment_files::dxf_out::{CutLines, cut_dxf, cut_svg};
use oddment_files::picture::Picture;
use oddment_files::setup_sheet::{Carried, Paper, setup_pages, traveller, traveller_pages};

/// A plate with a slot and small tags beside it, one mirrored, all of 3 mm steel.
fn planned() -> (Job, CheckedPlan, Cut) {
    let outer = Loop::rectangle(Point::origin(), Point::new(220.0, 180.0)).unwrap();
    let slot = [(60.0, 60.0, 0.0), (120.0, 60.0, 1.0), (120.0, 90.0, 0.0), (60.0, 90.0, 1.0)]
        .map(|(x, y, bulge)| Vertex { point: Point::new(x, y), bulge });
    let mut plate = Part::new("plate", Region::new(outer, vec![Loop::new(slot).unwrap()]));
    let line = Edge::new(Point::new(20.0, 20.0), Point::new(80.0, 20.0), 0.0);
    plate.marks.push(Mark { kind: MarkKind::Engrave, edges: vec![line] });
    let tag = [(0.0, 0.0, 0.0), (40.0, 0.0, 1.0), (40.0, 30.0, 0.0), (0.0, 30.0, 0.0)]
        .map(|(x, y, bulge)| Vertex { point: Point::new(x, y), bulge });
    let mut tag = Part::new("tag", Region::new(Loop::new(tag).unwrap(), vec![]));
    tag.flip = true;
    let metal = Loop::rectangle(Point::origin(), Point::new(600.0, 300.0)).unwrap();
    let mut sheet = Sheet::new("S", &[Region::new(metal, vec![])], EdgeFacts::default());
    sheet.made_of = Some(Metal { material: "S235".into(), thickness: 3.0, density: 7850.0 });
    let clearances = Clearances {
        kerf: 0.3,
        web: 3.0,
        edge: EdgeDistance::all(7.0),
        sensing: 3.0,
        lay: 0.0,
        common: false,
    };
    let wanted = [plate, tag].map(|part| Wanted { part, count: Count::Max });
    let job = Job {
        stock: vec![Stock { sheet, count: 1 }],
        wanted: wanted.into(),
        clearances,
        starts: Some(StartRule::STARTING),
    };
    let laid = |part, copy, x, y, turn, flipped| {
        let pose = Pose::new(Vector::new(x, y), turn, flipped);
        Placement { part, copy, pose, locked: false }
    };
    let placements = vec![
        laid(0, 1, 20.0, 20.0, 0.0, false),
        laid(1, 1, 300.0, 60.0, 0.7, false),
        laid(1, 2, 450.0, 60.0, 0.3, true),
    ];
    let checked = check(&job, Plan { layouts: vec![Layout { stock: 0, placements }] });
    assert!(checked.is_clear(), "{:?}", checked.report());
    let table = starting_cut_data().unwrap();
    let metal = job.stock[0].sheet.made_of.as_ref().unwrap();
    let facts = table.facts(Process::FibreLaser, metal).unwrap();
    let cut = plan_cut(
        &job,
        &checked.plan().layouts[0],
        &StartRule::STARTING,
        &facts,
        &ByHand::default(),
    );
    (job, checked, cut)
}

fn drawing(lines: CutLines, lies: Pose<SheetSpace, BedSpace>, unit: LengthUnit) -> String {
    let (job, checked, cut) = planned();
    cut_dxf(&job, &checked, 0, &cut, lines, lies, unit).unwrap()
}

/// Layer of a polyline, and x, y and bulge of its points.
type Polyline = (String, Vec<(f64, f64, f64)>);

/// The polylines in the order of the drawing.
fn polylines(text: &str) -> Vec<Polyline> {
    let lines: Vec<&str> = text.split("\r\n").collect();
    let mut found: Vec<Polyline> = Vec::new();
    let mut inside = false;
    for pair in lines.chunks_exact(2) {
        let value = || pair[1].parse::<f64>().unwrap();
        match (pair[0].trim(), pair[1]) {
            ("0", kind) => {
                inside = kind == "LWPOLYLINE";
                if inside {
                    found.push((String::new(), Vec::new()));
                }
            }
            ("8", layer) if inside => found.last_mut().unwrap().0 = layer.to_owned(),
            ("10", _) if inside => found.last_mut().unwrap().1.push((value(), 0.0, 0.0)),
            ("20", _) if inside => found.last_mut().unwrap().1.last_mut().unwrap().1 = value(),
            ("42", _) if inside => found.last_mut().unwrap().1.last_mut().unwrap().2 = value(),
            _ => {}
        }
    }
    found
}

#[test]
fn the_beam_centre_is_drawn_in_the_order_of_the_cut_and_reads_back_within_two_micrometres() {
    let (.., cut) = planned();
    for (unit, mm) in [(LengthUnit::Mm, 1.0), (LengthUnit::Inch, 25.4)] {
        let text = drawing(CutLines::BeamCentre, Pose::identity(), unit);
        let drawn: Vec<_> =
            polylines(&text).into_iter().filter(|(layer, _)| layer.starts_with("BEAM")).collect();
        let pieces: Vec<(PassKind, Vec<Edge<SheetSpace>>)> = cut
            .passes
            .iter()
            .filter(|p| p.kind != PassKind::Mark)
            .flat_map(|p| p.pieces().into_iter().map(|piece| (p.kind, piece)))
            .collect();
        assert_eq!(drawn.len(), pieces.len());
        assert!(pieces.len() > 3, "tabs part the tags' outlines");
        for ((layer, points), (kind, piece)) in drawn.iter().zip(&pieces) {
            let expected = if *kind == PassKind::Hole { "BEAM_INNER" } else { "BEAM_OUTER" };
            assert_eq!(layer, expected);
            assert_eq!(points.len(), piece.len() + 1);
            for (i, edge) in piece.iter().enumerate() {
                let (from, to) = (points[i], points[i + 1]);
                let read = Edge::<SheetSpace>::new(
                    Point::new(from.0 * mm, from.1 * mm),
                    Point::new(to.0 * mm, to.1 * mm),
                    from.2,
                );
                for share in [0.0, 0.3, 0.5, 0.9, 1.0] {
                    assert!(read.at(share).distance(edge.at(share)) < 0.002);
                }
            }
        }
    }
}

#[test]
fn contours_as_drawn_come_in_the_order_of_the_cut() {
    let text = drawing(CutLines::AsDrawn, Pose::identity(), LengthUnit::Mm);
    let layers: Vec<String> = polylines(&text).into_iter().map(|p| p.0).collect();
    assert_eq!(layers[0], "SHEET");
    assert_eq!(layers.iter().filter(|l| *l == "CUT_OUTER").count(), 3);
    let slot = layers.iter().position(|l| l == "CUT_INNER").unwrap();
    let plate = layers.len() - 1 - layers.iter().rev().position(|l| l == "CUT_OUTER").unwrap();
    assert!(slot < plate);
}

#[test]
fn a_sheet_laid_askew_is_drawn_where_it_lies_on_the_bed() {
    let lies = Pose::new(Vector::new(100.0, 50.0), 0.01, false);
    let straight = polylines(&drawing(CutLines::BeamCentre, Pose::identity(), LengthUnit::Mm));
    let askew = polylines(&drawing(CutLines::BeamCentre, lies, LengthUnit::Mm));
    for ((_, a), (_, b)) in straight.iter().zip(&askew) {
        for (p, q) in a.iter().zip(b) {
            let moved = lies.apply(Point::new(p.0, p.1));
            assert!(moved.distance(Point::new(q.0, q.1)) < 1e-5);
        }
    }
}

#[test]
fn what_is_printed_tells_of_the_cut() {
    let (job, checked, cut) = planned();
    let cuts = [cut];
    for paper in [Paper::A4, Paper::Letter] {
        let pages = setup_pages(&job, &checked, &cuts, &Limits::STARTING, paper, LengthUnit::Mm);
        let said = texts(&pages);
        for word in ["Cut length", "Pierces", "Minutes, about", "Tabs", "T"] {
            assert!(said.iter().any(|s| s == word), "{word} is not among {said:?}");
        }
    }
    let heats = HashMap::from([("S".to_owned(), "H 48217".to_owned())]);
    let carried = Carried { order: "Racks".into(), heats };
    let (paper, unit) = (Paper::A4, LengthUnit::Mm);
    let file = traveller(&job, &checked, &cuts, &carried, paper, unit).unwrap();
    assert!(file.starts_with(b"%PDF-"));
    let said = texts(&traveller_pages(&job, &checked, &cuts, &carried, paper, unit));
    for word in ["Racks", "H 48217", "plate", "tag"] {
        assert!(said.iter().any(|s| s == word), "{word} is not among {said:?}");
    }
}

fn texts(pages: &[Picture]) -> Vec<String> {
    let items = pages.iter().flat_map(|p| &p.items);
    let text = |item: &oddment_files::picture::Item| match item {
        oddment_files::picture::Item::Text(text) => Some(text.text.clone()),
        oddment_files::picture::Item::Shape { .. } => None,
    };
    items.filter_map(text).collect()
}

#[test]
fn the_svg_reads_back_as_the_dxf_does() {
    let (job, checked, cut) = planned();
    let lies = Pose::new(Vector::new(40.0, 25.0), 0.1, false);
    for unit in [LengthUnit::Mm, LengthUnit::Inch] {
        let lines = CutLines::AsDrawn;
        let svg = cut_svg(&job, &checked, 0, &cut, lines, lies, unit).unwrap();
        let dxf = cut_dxf(&job, &checked, 0, &cut, lines, lies, unit).unwrap();
        let read = |name: &str, text: &str| {
            let drawing = read_drawing(name, text.as_bytes(), &ReadOptions::default()).unwrap();
            let sizes = drawing.regions.iter().map(|f| {
                let b = f.region.bounds();
                (f.region.area(), f.region.holes().len(), b.width(), b.height())
            });
            sizes.collect::<Vec<_>>()
        };
        let (svg, dxf) = (read("cut.svg", &svg), read("cut.dxf", &dxf));
        assert_eq!(svg.len(), dxf.len());
        assert!(!svg.is_empty());
        for (a, b) in svg.iter().zip(&dxf) {
            assert_eq!(a.1, b.1);
            assert!((a.0 - b.0).abs() < 0.002 * (a.2 + a.3), "{a:?} and {b:?}");
            assert!((a.2 - b.2).abs() < 0.002 && (a.3 - b.3).abs() < 0.002, "{a:?} and {b:?}");
        }
    }
}

#[test]
fn the_heat_number_of_its_sheet_goes_with_a_part() {
    let (job, checked, cut) = planned();
    let sheet = job.stock[checked.plan().layouts[0].stock].sheet.name.clone();
    let of = |label: &str| Carried {
        order: "Racks".into(),
        heats: [(label.to_owned(), "H 48217".to_owned())].into(),
    };
    let said = |carried: &Carried| {
        let pages = traveller_pages(
            &job,
            &checked,
            std::slice::from_ref(&cut),
            carried,
            Paper::A4,
            LengthUnit::Mm,
        );
        let texts = pages.iter().flat_map(|p| &p.items).filter_map(|item| match item {
            oddment_files::picture::Item::Text(text) => Some(text.text.clone()),
            oddment_files::picture::Item::Shape { .. } => None,
        });
        texts.collect::<Vec<_>>()
    };
    assert!(said(&of(&sheet)).iter().any(|text| text == "H 48217"));
    assert!(!said(&of("another sheet")).iter().any(|text| text == "H 48217"));
}

#[test]
fn an_outside_reader_finds_nothing_to_complain_of() {
    if !outside::judges("ezdxf") {
        return;
    }
    let (.., cut) = planned();
    let file = std::env::temp_dir().join(format!("oddment-cut-{}.dxf", std::process::id()));
    for (lines, unit, mm) in [
        (CutLines::BeamCentre, LengthUnit::Mm, 1.0),
        (CutLines::BeamCentre, LengthUnit::Inch, 25.4),
        (CutLines::AsDrawn, LengthUnit::Mm, 1.0),
    ] {
        std::fs::write(&file, drawing(lines, Pose::identity(), unit)).unwrap();
        let script = "import sys, math, ezdxf\n\
            d = ezdxf.readfile(sys.argv[1])\n\
            assert not d.audit().errors and not d.audit().fixes, d.audit().errors\n\
            total = 0.0\n\
            for e in d.modelspace().query('LWPOLYLINE[layer ? \"BEAM.*\"]'):\n\
            \x20   for v in e.virtual_entities():\n\
            \x20       if v.dxftype() == 'LINE': total += (v.dxf.end - v.dxf.start).magnitude\n\
            \x20       else: total += v.dxf.radius * math.radians((v.dxf.end_angle - v.dxf.start_angle) % 360)\n\
            print(d.header['$INSUNITS'], total)";
        let ran = Command::new("python3").args(["-c", script]).arg(&file).output().unwrap();
        assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
        let said = String::from_utf8(ran.stdout).unwrap();
        let (units, length) = said.trim().split_once(' ').unwrap();
        assert_eq!(units, if mm == 1.0 { "4" } else { "1" });
        if lines == CutLines::BeamCentre {
            let length: f64 = length.parse::<f64>().unwrap() * mm;
            assert!((length - cut.length).abs() < 0.01, "{length} and {}", cut.length);
        }
    }
    std::fs::remove_file(&file).unwrap();
}
