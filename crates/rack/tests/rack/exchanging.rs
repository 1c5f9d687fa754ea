use std::path::Path;

use oddment_files::bars::profile_named;
use oddment_files::drawing::ReadOptions;
use oddment_rack::drawings::Drawn;
use oddment_rack::exchange::drawn_sheets;
use oddment_rack::facts::Facts;
use oddment_rack::record::Recording;
use oddment_rack::sheets::NewSheet;

use crate::common::{Folder, everything, plan, plate, record, rectangle, sound};

#[test]
fn the_list_goes_out_and_comes_back() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let mut odd = plate(None, 600.0, 400.0);
    odd.facts.notes = "says \"thin\", and more;\nin two lines".into();
    odd.facts.bow = Some(2.5);
    let label = shop.add(odd).unwrap();
    shop.add(plate(Some("B 7"), 1000.25, 300.0)).unwrap();
    let csv = shop.list_csv().unwrap();
    let events = shop.newest_event().unwrap();
    let done = shop.take_list(&csv).unwrap();
    assert_eq!((done.alike, done.added.len(), done.changed.len()), (2, 0, 0));
    assert_eq!(shop.newest_event().unwrap(), events);
    // Changed in a spreadsheet that writes semicolons.
    let changed = "Label;Stands;Heat\nB 7;bay 3;H 99\n";
    let said = shop.take_list(changed);
    assert_eq!(said.unwrap().changed, ["B 7"]);
    let facts = shop.sheet("B 7").unwrap().entry.facts;
    assert_eq!(
        (facts.stands.as_str(), facts.heat.as_str(), facts.thickness),
        ("bay 3", "H 99", 3.0)
    );
    // Into an empty shop, and out again, word by word.
    let csv = shop.list_csv().unwrap();
    let other = Folder::new();
    let mut empty = other.shop();
    assert_eq!(empty.take_list(&csv).unwrap().added, [label, "B 7".to_owned()]);
    assert_eq!(empty.list_csv().unwrap(), csv);
    sound(&empty);
}

#[test]
fn a_list_with_faults_changes_nothing_and_tells_them_all() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let list = "label,material,thickness_mm,width_mm,height_mm,bow_mm\n\
                A,S235,3,500,400,0\nB,S235,3,,400,0\nC,S235,x,500,400,0\nD,,3,500,400,\n";
    let said = shop.take_list(list).unwrap_err().to_string();
    for word in ["line 3: a new sheet needs width_mm", "line 4: thickness_mm: “x”", "line 5"] {
        assert!(said.contains(word), "{said}");
    }
    assert!(shop.list().unwrap().is_empty());
    assert!(shop.take_list("name,size\n1,2\n").unwrap_err().to_string().contains("label"));
    for odd in ["", "\u{feff}", "label\n\"", "label\n\u{0}\n"] {
        let _ = shop.take_list(odd);
    }
}

#[test]
fn everything_goes_out_and_the_sheets_come_into_another_shop() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
    let planned = plan(&shop, &label, &[(rectangle("tab", 100.0, 50.0), 20.0, 20.0)]);
    record(&mut shop, &label, &planned, Recording::default()).unwrap();
    // One that was written on metal and taken back: its label is given to no other sheet.
    assert_eq!(shop.add(plate(None, 600.0, 400.0)).unwrap(), "R-0002");
    shop.undo(None).unwrap();
    let text = everything(&shop);
    let other = Folder::new();
    let mut empty = other.shop();
    assert_eq!(empty.take_everything(&text).unwrap(), std::slice::from_ref(&label));
    assert_eq!(empty.sheet(&label).unwrap().outline, shop.sheet(&label).unwrap().outline);
    sound(&empty);
    assert_eq!(empty.add(plate(None, 600.0, 400.0)).unwrap(), "R-0003");
    let said = empty.take_everything(&text).unwrap_err().to_string();
    assert!(said.contains("never used again"), "{said}");
    for cut in (0..text.len()).step_by(97).filter(|at| text.is_char_boundary(*at)) {
        assert!(empty.take_everything(&text[..cut]).is_err());
    }
}

#[test]
fn pictures_drawings_and_profiles_are_part_of_everything() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let drawing = Drawn::new(Path::new("plate.dxf"), b"0\nSECTION\n".to_vec());
    let new = NewSheet { drawing: Some(drawing.clone()), ..plate(None, 600.0, 400.0) };
    let label = shop.add(new).unwrap();
    let picture = b"\x89PNG\r\n\x1a\nwith any bytes: \x00\xff".as_slice();
    shop.add_picture(&label, "front.png", picture).unwrap();
    let mut profile = profile_named("Square tube 40 × 2").unwrap();
    profile.name = "Our tube".into();
    shop.set_profile(&profile).unwrap();
    let text = everything(&shop);
    let other = Folder::new();
    let mut empty = other.shop();
    assert_eq!(empty.take_everything(&text).unwrap(), std::slice::from_ref(&label));
    let pictures = empty.sheet(&label).unwrap().entry.facts.pictures;
    assert_eq!(pictures.len(), 1);
    let came = empty.drawing(&pictures[0]).unwrap();
    assert_eq!(came, Some(("front.png".to_owned(), picture.to_vec())));
    let known = empty.sheet(&label).unwrap().entry.facts.drawing.unwrap();
    assert_eq!(known, drawing.hash());
    assert!(empty.drawing(&known).unwrap().is_some());
    assert_eq!(empty.own_profiles().unwrap(), [profile]);
    sound(&empty);
    // Out again, it says the same of all that is taken in.
    let [first, second] = [text.clone(), everything(&empty)]
        .map(|text| serde_json::from_str::<serde_json::Value>(&text).unwrap());
    for part in ["format", "version", "materials", "profiles", "files"] {
        assert_eq!(first[part], second[part], "{part}");
    }
    assert_eq!(first["sheets"][0]["outline"], second["sheets"][0]["outline"]);
    // A file that is not what it was is told, and nothing is taken.
    let broken = text.replacen("\"base64\": \"iVBOR", "\"base64\": \"iVBOS", 1);
    assert_ne!(broken, text);
    let third = Folder::new();
    let mut empty = third.shop();
    let said = empty.take_everything(&broken).unwrap_err().to_string();
    assert!(said.contains("front.png in it is damaged"), "{said}");
    assert!(empty.list().unwrap().is_empty());
}

#[test]
fn a_sheet_as_a_drawing_reads_back_as_the_same_metal() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
    let planned = plan(&shop, &label, &[(rectangle("tab", 100.0, 50.0), 20.0, 20.0)]);
    record(&mut shop, &label, &planned, Recording::default()).unwrap();
    let drawings = folder.0.join("drawings");
    std::fs::create_dir_all(&drawings).unwrap();
    std::fs::write(drawings.join("K-1.dxf"), shop.dxf_of(&label).unwrap()).unwrap();
    std::fs::write(drawings.join("R-0001.dxf"), shop.dxf_of(&label).unwrap()).unwrap();
    std::fs::write(drawings.join("none.dxf"), "nothing").unwrap();
    let facts = Facts { material: "S235".into(), thickness: 3.0, ..Facts::default() };
    let read = |go_on: &mut dyn FnMut(usize, usize) -> bool| {
        drawn_sheets(&drawings, &facts, &ReadOptions::default(), go_on).unwrap()
    };
    // Stopped at any of them there is nothing to take in.
    for stop_at in 0..=3 {
        assert!(read(&mut |read, of| (read, of) != (stop_at, 3)).is_none());
    }
    let drawn = read(&mut |_, _| true).unwrap();
    let not_taken = drawn.not_taken.clone();
    let labels = shop.take_drawings(drawn).unwrap();
    // R-0001 is taken already.
    assert_eq!(labels, ["K-1", "R-0002"]);
    assert_eq!(not_taken.len(), 1);
    // Each refers to its drawing, which is kept as it was.
    let hash = shop.sheet("K-1").unwrap().entry.facts.drawing.unwrap();
    let content = std::fs::read(drawings.join("K-1.dxf")).unwrap();
    assert_eq!(shop.drawing(&hash).unwrap(), Some(("K-1.dxf".to_owned(), content)));
    let read = shop.sheet("K-1").unwrap();
    assert!(read.outline.is_same_metal(&shop.sheet(&label).unwrap().outline.bodies(), 1e-5));
    sound(&shop);
    // A plan on the drawing is a plan on the sheet that it was written from.
    let planned = plan(&shop, "K-1", &[(rectangle("bar", 100.0, 50.0), 220.0, 20.0)]);
    record(&mut shop, &label, &planned, Recording::default()).unwrap();
    sound(&shop);
}
