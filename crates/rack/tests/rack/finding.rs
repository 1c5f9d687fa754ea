//! Sheets found by what is typed, and by what they have room for.

use oddment_core::fit::RESOLUTION;
use oddment_core::job::{Budget, Stop};
use oddment_rack::Shop;
use oddment_rack::facts::Facts;
use oddment_rack::find::{Found, Loadable, Room, Wish};
use oddment_rack::sheets::NewSheet;

use crate::common::{CLEARANCES, Folder, plate, rectangle};

fn with(facts: Facts) -> NewSheet {
    let plate = plate(None, 600.0, 400.0);
    let facts = Facts { material: "S235".into(), density: 7850.0, ..facts };
    NewSheet { facts, ..plate }
}

#[test]
fn all_that_is_known_of_a_sheet_is_found_by_typing_it() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let known = Facts {
        thickness: 3.0,
        face_up: "Brushed".into(),
        grain_deg: Some(90.0),
        bow: Some(2.5),
        value: Some(17.25),
        // 2021-03-09, noon in London.
        came: 1_615_291_200,
        ..Facts::default()
    };
    let label = shop.add(with(known)).unwrap();
    shop.add(with(Facts { thickness: 2.0, ..Facts::default() })).unwrap();
    let found = |typed: &str| -> Vec<String> {
        let matching = shop.list().unwrap().into_iter().filter(|e| e.matches(typed));
        matching.map(|e| e.label).collect()
    };
    let day =
        ["brushed", "face up", "grain 90°", "bow 2.5mm", "2.5 mm", "17.25", "came 2021-03-09"];
    // 600 × 400 × 3 mm at 7850 kg/m³.
    for typed in day.into_iter().chain(["5.7 kg", "weight 5.7kg"]) {
        assert_eq!(found(typed), std::slice::from_ref(&label), "{typed}");
    }
    assert_eq!(found("grain 45"), Vec::<String>::new());
}

fn wish(loadable: Loadable) -> Wish {
    Wish {
        typed: String::new(),
        material: None,
        thickness: None,
        loadable,
        order: None,
        certificate: false,
        part: rectangle("lid", 590.0, 390.0),
        clearances: CLEARANCES,
        by_thickness: Vec::new(),
        resolution: RESOLUTION,
    }
}

fn found(shop: &Shop, wish: &Wish) -> Vec<Found> {
    let budget = Budget { steps: None, time_up: &|| false, stop: Stop::default() };
    shop.find(wish, &budget, &mut |_, _| {}).unwrap()
}

#[test]
fn a_bow_that_is_not_known_is_said_to_be() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let bow = |bow| with(Facts { thickness: 3.0, bow, ..Facts::default() });
    let flat = shop.add(bow(Some(1.0))).unwrap();
    shop.add(bow(Some(9.0))).unwrap();
    let unknown = shop.add(bow(None)).unwrap();
    let machine = Loadable { bow: Some(4.0), ..Loadable::default() };
    let found = found(&shop, &wish(machine));
    let said = |label: &str| {
        let found = found.iter().find(|f| f.entry.label == label).unwrap();
        machine.lacks_bow(&found.entry)
    };
    assert_eq!(found.len(), 2, "the one that is bent is left out");
    assert_eq!((said(&flat), said(&unknown)), (false, true));
    // Where the machine takes any bow, it does not matter.
    assert!(!Loadable::default().lacks_bow(&found[1].entry));
}

#[test]
fn each_thickness_is_searched_with_its_own_distances() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let thin = shop.add(with(Facts { thickness: 1.0, ..Facts::default() })).unwrap();
    let thick = shop.add(with(Facts { thickness: 8.0, ..Facts::default() })).unwrap();
    assert_eq!(shop.thicknesses().unwrap(), [1.0, 8.0]);
    // 590 × 390 on 600 × 400: 5 mm are left all round.
    let mut wider = CLEARANCES;
    wider.edge = oddment_core::distances::EdgeDistance::all(6.0);
    let has = |wish: &Wish| -> Vec<String> {
        let found = found(&shop, wish).into_iter();
        found.filter(|f| matches!(f.room, Room::Has { .. })).map(|f| f.entry.label).collect()
    };
    let all = wish(Loadable::default());
    assert_eq!(has(&all), [thin.clone(), thick]);
    assert_eq!(has(&Wish { by_thickness: vec![(8.0, wider)], ..all }), [thin]);
}
