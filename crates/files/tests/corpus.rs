//! The outside corpus of real drawings, where ODDMENT_CORPUS names its folder: each must read as
//! an independent reader read it.

use std::path::{Path, PathBuf};

use oddment_core::shape::Bounds;
use oddment_core::units::LengthUnit;
use oddment_files::drawing::{Drawing, DrawingFault, ReadOptions, read_drawing};
use serde_json::Value;

fn corpus() -> Option<PathBuf> {
    let named = std::env::var_os("ODDMENT_CORPUS")?;
    let folder = PathBuf::from(named).join("dxf");
    assert!(folder.is_dir(), "ODDMENT_CORPUS names no folder with drawings: {folder:?}");
    Some(folder)
}

fn json(path: &Path) -> Result<serde_json::Map<String, Value>, std::io::Error> {
    Ok(serde_json::from_str(&std::fs::read_to_string(path)?)?)
}

fn read(path: &Path, options: &ReadOptions) -> Result<Drawing, DrawingFault> {
    let bytes = std::fs::read(path).unwrap_or_default();
    read_drawing(&path.to_string_lossy(), &bytes, options)
}

/// What differs from outlines, holes and net area, if anything.
fn difference(drawing: &Drawing, outer: u64, holes: u64, area: f64) -> Option<String> {
    let found_holes: usize = drawing.regions.iter().map(|f| f.region.holes().len()).sum();
    let found_area: f64 = drawing.regions.iter().map(|f| f.region.area()).sum();
    let same = drawing.regions.len() as u64 == outer
        && found_holes as u64 == holes
        && (found_area - area).abs() <= 0.001 * area;
    (!same).then(|| {
        format!(
            "{} outlines, {found_holes} holes, {found_area:.3} mm², not {outer}, {holes}, {area:.3}",
            drawing.regions.len()
        )
    })
}

#[test]
fn real_drawings_read_as_an_independent_reader_reads_them() {
    let Some(folder) = corpus() else { return };
    let (mut faults, mut agreed, mut likewise) = (Vec::new(), 0, 0);
    let mut one_reading = 0;
    for (name, expected) in json(&folder.join("real/reference.json")).unwrap() {
        let path = folder.join("real").join(&name);
        let result = read(&path, &ReadOptions::default());
        if expected["expected_class"] == "refuse" {
            assert!(result.is_err(), "{name} must be refused");
            continue;
        }
        let drawing = match result {
            Ok(drawing) => drawing,
            Err(fault) => {
                faults.push(format!("{name}: {fault}"));
                continue;
            }
        };
        let scale = expected["units"]["scale_to_mm_used"].as_f64().unwrap();
        let mut differs = difference(
            &drawing,
            expected["outer_loops"].as_u64().unwrap(),
            expected["holes"].as_u64().unwrap(),
            expected["net_area_mm2"].as_f64().unwrap(),
        );
        if drawing.units.mm_per_unit != scale {
            differs =
                Some(format!("read at {} mm per unit, not {scale}", drawing.units.mm_per_unit));
        }
        let checked = expected["trust"] == "checked";
        let bounds = drawing.regions.iter().map(|f| f.region.bounds());
        let bounds = bounds.fold(Bounds::EMPTY, Bounds::union);
        let box_ = expected["bbox_mm"].as_array().unwrap();
        let box_: Vec<_> = box_.iter().map(|v| v.as_f64().unwrap()).collect();
        let sides = [bounds.min.x, bounds.min.y, bounds.max.x, bounds.max.y];
        if checked
            && differs.is_none()
            && sides.iter().zip(&box_).any(|(a, b)| (a - b).abs() > 0.05)
        {
            differs = Some(format!("extents {sides:?}, not {box_:?}"));
        }
        match (checked, differs) {
            (true, None) => agreed += 1,
            (true, Some(what)) => faults.push(format!("{name}: {what}")),
            (false, None) => (likewise, one_reading) = (likewise + 1, one_reading + 1),
            (false, Some(what)) => {
                one_reading += 1;
                println!("a second reading of {name}: {what}");
            }
        }
    }
    println!("agreed with {agreed} checked readings, and {likewise} of {one_reading} others");
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn made_faults_read_as_what_they_were_made_from() {
    let Some(folder) = corpus() else { return };
    let mut faults = Vec::new();
    for (name, case) in json(&folder.join("derived/expected.json")).unwrap() {
        let path = folder.join("derived").join(&name);
        let result = read(&path, &ReadOptions::default());
        let expected = &case["expected"];
        if matches!(name.as_str(), "truncated_in_entities.dxf" | "paperspace_only.dxf") {
            assert!(result.is_err(), "{name} must be refused");
            continue;
        }
        // Gaps wider than what is bridged unasked are named, and closed where that is wished.
        let result = match name.as_str() {
            "gap_0.08.dxf" | "gap_0.3.dxf" => {
                let drawing = result.unwrap();
                assert!(drawing.problems.iter().any(|p| p.must_settle), "{name}");
                read(&path, &ReadOptions { bridge: 0.5, ..ReadOptions::default() })
            }
            _ => result,
        };
        let drawing = result.unwrap_or_else(|fault| panic!("{name}: {fault}"));
        let outer = expected["outer"].as_u64().unwrap_or(1);
        let holes = expected["holes"].as_u64().unwrap_or(8);
        let area = expected["net_area_mm2"].as_f64().unwrap_or(43061.33);
        if let Some(what) = difference(&drawing, outer, holes, area) {
            faults.push(format!("{name}: {what}"));
        }
        if name == "inch_lie.dxf" {
            assert!(drawing.units.assumed && drawing.problems.iter().any(|p| p.must_settle));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn given_units_are_obeyed() {
    let Some(folder) = corpus() else { return };
    let options = ReadOptions { units: Some(LengthUnit::Inch), ..ReadOptions::default() };
    let drawing = read(&folder.join("derived/unitless.dxf"), &options).unwrap();
    assert_eq!(drawing.units.mm_per_unit, 25.4);
    assert!(!drawing.units.assumed);
}
