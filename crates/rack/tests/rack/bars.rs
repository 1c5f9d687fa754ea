//! Bars in the rack: added, planned on, recorded, taken back, and in and out of other files.

use oddment_core::bars::{BarPlan, CutList, Machine, Stock, Wanted, clear};
use oddment_core::compare::{Policies, Policy};
use oddment_core::job::{Budget, Stop};
use oddment_core::units::LengthUnit;
use oddment_files::bars::profile_named;
use oddment_files::values::Values;
use oddment_rack::bars::{charge_by_policies, new_bar};
use oddment_rack::facts::{Facts, Material, Whereabouts};
use oddment_rack::record::{BarRecording, Keep, Outcome, Recorded};
use oddment_rack::sheets::{NewSheet, counted};
use oddment_rack::{Shop, ShopFault};

use crate::common::{Folder, everything, plan, plate, rectangle, sound};

/// A bar of 40 × 2 square tube with a heat number.
pub(crate) fn bar(length: f64) -> NewSheet {
    let facts = Facts {
        material: "S235".into(),
        heat: "H 9".into(),
        stands: "bar rack 1".into(),
        ..Facts::default()
    };
    let profile = profile_named("Square tube 40 × 2").unwrap();
    new_bar(None, &profile, length, 0.0, facts).unwrap()
}

/// Parts of these lengths and counts, kerf 2, trim 10; what is shorter than 300 is not kept.
pub(crate) fn list(parts: &[(f64, usize)]) -> CutList {
    let part = |(length, count): &(f64, usize)| Wanted {
        name: format!("part {length}"),
        length: *length,
        count: *count,
        ..Wanted::default()
    };
    let mut list = CutList {
        kerf: 2.0,
        parts: parts.iter().map(part).collect(),
        profile: profile_named("Square tube 40 × 2"),
        material: "S235".into(),
        ..CutList::default()
    };
    list.machine.trim = 10.0;
    list
}

pub(crate) fn planned(list: &CutList) -> BarPlan {
    let budget = Budget { steps: Some(100), time_up: &|| false, stop: Stop::default() };
    list.plan(&budget, &mut |_| {}).unwrap()
}

pub(crate) fn record(
    shop: &mut Shop,
    list: &CutList,
    recording: &BarRecording,
) -> Result<Vec<Recorded>, ShopFault> {
    let plan = planned(list);
    shop.record_bars(&clear(list, &plan).unwrap(), recording)
}

#[test]
fn what_is_left_becomes_the_bars_new_length() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(bar(2000.0)).unwrap();
    let before = shop.sheet(&label).unwrap();
    // 40 × 40 less 36 × 36, its corners round: 2.3 to 2.4 kg a metre.
    assert!((4.6..4.8).contains(&before.entry.weight()), "{}", before.entry.weight());
    let mut list = list(&[(500.0, 2)]);
    list.stock = shop.bars_for(&list, None).unwrap();
    assert_eq!((list.stock.len(), list.stock[0].name.as_str()), (1, label.as_str()));
    let plan = planned(&list);
    let would = shop.preview_bars(&clear(&list, &plan).unwrap(), &BarRecording::default()).unwrap();
    assert_eq!(shop.sheet(&label).unwrap(), before);
    let recorded = record(&mut shop, &list, &BarRecording::default()).unwrap();
    assert_eq!(would, [Recorded { event: 0, ..recorded[0].clone() }]);
    // 10 of trim, three cuts of 2, two parts of 500.
    let left = 2000.0 - 10.0 - 3.0 * 2.0 - 2.0 * 500.0;
    assert_eq!(recorded[0].lengths, Some((2000.0, left)));
    assert_eq!((recorded[0].good, recorded[0].heat.as_str()), (2, "H 9"));
    // 984 mm are 38.740 in.
    for (unit, said) in [(LengthUnit::Mm, "984 mm stay"), (LengthUnit::Inch, "38.740 in stay")] {
        let words = recorded[0].words(unit);
        assert!(words.contains(said), "{words}");
    }
    let now = shop.sheet(&label).unwrap();
    assert!((now.entry.size[0] - left).abs() < 1e-6);
    assert_eq!(now.entry.facts.bar.as_ref().unwrap().delivered, 2000.0);
    let cuts = shop.cuts_of(&label).unwrap();
    assert_eq!((cuts.len(), cuts[0].parts.len(), cuts[0].heat.as_str()), (1, 2, "H 9"));
    sound(&shop);
    // Once more changes nothing; a plan for the bar as it was is refused.
    let again = record(&mut shop, &list, &BarRecording::default()).unwrap();
    assert_eq!(again[0].event, 0);
    assert!(again[0].words(LengthUnit::Mm).contains("recorded before"));
    list.parts[0].length = 400.0;
    let said = record(&mut shop, &list, &BarRecording::default()).unwrap_err().to_string();
    assert!(said.contains("has changed since"), "{said}");
    // Undone it is exactly as it was.
    shop.undo(None).unwrap();
    let undone = shop.sheet(&label).unwrap();
    assert_eq!((undone.outline, undone.entry.facts), (before.outline, before.entry.facts));
    assert!(shop.cuts_of(&label).unwrap().is_empty());
    sound(&shop);
}

#[test]
fn short_ends_are_scrap_and_bought_bars_get_labels() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let short = shop.add(bar(1300.0)).unwrap();
    let mut list = list(&[(500.0, 4)]);
    let new = Stock { length: 3000.0, cost: Some(20.0), ..Stock::default() };
    list.stock = vec![new];
    let rack = shop.bars_for(&list, None).unwrap();
    list.stock.extend(rack);
    let bought = Facts { heat: "N 5".into(), ..Facts::default() };
    let recording = BarRecording { bought, ..BarRecording::default() };
    let plan = planned(&list);
    let recorded = shop.record_bars(&clear(&list, &plan).unwrap(), &recording).unwrap();
    for one in &recorded {
        let entry = shop.sheet(&one.label).unwrap().entry;
        let (before, kept) = one.lengths.unwrap();
        if one.label == short {
            assert_eq!((before, kept, entry.facts.whereabouts), (1300.0, 0.0, Whereabouts::UsedUp));
        } else {
            assert_eq!((before, entry.facts.heat.as_str()), (3000.0, "N 5"));
            // It came with the cut that it was bought for.
            assert_eq!(entry.facts.came, entry.facts.seen);
            assert!(entry.facts.came > 0);
            assert_eq!(kept > 0.0, kept >= 300.0);
            assert_eq!(kept > 0.0, entry.facts.whereabouts == Whereabouts::Here);
        }
    }
    let good: usize = recorded.iter().map(|r| r.good).sum();
    assert_eq!(good, 4);
    sound(&shop);
    // Recorded before, unless the bars were bought once more.
    let again = shop.record_bars(&clear(&list, &plan).unwrap(), &recording).unwrap();
    assert!(again.iter().all(|r| r.event == 0));
    shop.undo(None).unwrap();
    assert_eq!(shop.list().unwrap().len(), 1);
    assert_eq!(shop.sheet(&short).unwrap().entry.facts.whereabouts, Whereabouts::Here);
    sound(&shop);
}

#[test]
fn what_was_not_made_goes_back_to_the_order() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(bar(2000.0)).unwrap();
    let mut list = list(&[(500.0, 3)]);
    list.stock = shop.bars_for(&list, None).unwrap();
    let outcome = |copy, outcome| ((String::from("part 500"), copy), outcome);
    let half =
        BarRecording { outcomes: [outcome(1, Outcome::HalfCut)].into(), ..BarRecording::default() };
    assert!(record(&mut shop, &list, &half).unwrap_err().to_string().contains("half cut"));
    let first = BarRecording {
        outcomes: [outcome(1, Outcome::NeverStarted)].into(),
        ..BarRecording::default()
    };
    assert!(record(&mut shop, &list, &first).unwrap_err().to_string().contains("behind it"));
    let outcomes =
        [outcome(1, Outcome::Scrap("burnt".into())), outcome(3, Outcome::NeverStarted)].into();
    let recorded =
        record(&mut shop, &list, &BarRecording { outcomes, ..BarRecording::default() }).unwrap();
    assert_eq!((recorded[0].good, recorded[0].not_made.len()), (1, 2));
    // The third part is still on the bar.
    let left = shop.sheet(&label).unwrap().entry.size[0];
    assert!((left - (2000.0 - 10.0 - 3.0 * 2.0 - 1000.0)).abs() < 1e-6, "{left}");
    sound(&shop);
    // So it is behind a part that was half cut, which does not count into what is left.
    shop.undo(None).unwrap();
    let outcomes = [outcome(2, Outcome::HalfCut), outcome(3, Outcome::NeverStarted)].into();
    let recorded =
        record(&mut shop, &list, &BarRecording { outcomes, ..BarRecording::default() }).unwrap();
    assert_eq!((recorded[0].good, recorded[0].not_made.len()), (1, 2));
    assert!(recorded[0].warnings[0].contains("part 500#2 is half cut"), "{recorded:?}");
    let left = shop.sheet(&label).unwrap().entry.size[0];
    assert!((left - (2000.0 - 10.0 - 3.0 * 2.0 - 1000.0)).abs() < 1e-6, "{left}");
    sound(&shop);
}

#[test]
fn a_part_used_bar_says_what_was_cut_off_and_costs_its_handling() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(bar(2000.0)).unwrap();
    let mut list = list(&[(500.0, 2)]);
    list.stock = shop.bars_for(&list, None).unwrap();
    list.parts[0].ends = [0.0, 0.5];
    list.parts[0].count = 1;
    record(&mut shop, &list, &BarRecording::default()).unwrap();
    let again = shop.bars_for(&list, None).unwrap();
    let now = shop.sheet(&label).unwrap().entry.size[0];
    assert!((again[0].cut_before - (2000.0 - now)).abs() < 1e-6);
    // The last cut left its end as slanted as the part.
    assert!((again[0].end - 0.5).abs() < 1e-9);
    let policies = Policies::of(|policy| match policy {
        Policy::Labour => 40.0,
        Policy::PullByOne => 4.0,
        Policy::OneCarries => 20.0,
        Policy::TwoCarry => 45.0,
        Policy::ReturnBar => 3.0,
        Policy::CreditShare => 0.5,
        _ => 1000.0,
    });
    let mut whole = CutList { stock: again, machine: Machine::default(), ..list };
    assert!(whole.lost()[0] > 0.0);
    let materials = [Material { scrap: 0.2, ..Material::new("S235", 7850.0, 1.2) }];
    whole.stock[0].cost = None;
    charge_by_policies(&mut whole, &materials, &policies);
    assert_eq!((whole.stock[0].handling, whole.leftovers), (0.0, None));
    whole.stock[0].cost = Some(2.0);
    charge_by_policies(&mut whole, &materials, &policies);
    // Four minutes of one person and one to load, at 40 an hour.
    let cost = whole.stock[0].cost();
    assert!((cost - (2.0 + 5.0 / 60.0 * 40.0)).abs() < 1e-9, "{cost} {:?}", whole.profile);
    // Half of 1.2 a kilogram, and three minutes to bring one back.
    let metre = whole.profile.as_ref().unwrap().mass_per_metre();
    let leftovers = whole.leftovers.unwrap();
    assert!((leftovers.credit - 0.6 * metre).abs() < 1e-9);
    assert!((leftovers.scrap - 0.2 * metre).abs() < 1e-9);
    assert!((leftovers.bring_back - 2.0).abs() < 1e-9);
}

#[test]
fn a_shop_starts_by_keeping_half_a_metre_of_tube() {
    let folder = Folder::new();
    let shop = folder.shop();
    let profile = shop.profile("Square tube 40 × 2").unwrap();
    let stock = vec![Stock { length: 6000.0, cost: Some(30.0), ..Stock::default() }];
    let mut list =
        CutList { stock, profile: Some(profile), material: "S235".into(), ..CutList::default() };
    charge_by_policies(
        &mut list,
        &[Material::starting("S235", 7850.0)],
        Values::starting().policies(),
    );
    assert!((350.0..650.0).contains(&list.keeps_from()), "{}", list.keeps_from());
}

#[test]
fn what_can_not_be_recorded_is_refused_and_changes_nothing() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(bar(2000.0)).unwrap();
    let events = shop.newest_event().unwrap();
    let mut list = list(&[(500.0, 2)]);
    list.stock = shop.bars_for(&list, None).unwrap();
    let mut refused = |list: &CutList, recording: &BarRecording, words: &str| {
        let said = record(&mut shop, list, recording).unwrap_err().to_string();
        assert!(said.contains(words), "{words}: {said}");
        assert_eq!(shop.newest_event().unwrap(), events);
    };
    let certificate = BarRecording { certificate: true, ..BarRecording::default() };
    refused(&list, &certificate, "certificate");
    let other = CutList { profile: profile_named("Square tube 40 × 3"), ..list.clone() };
    refused(&other, &BarRecording::default(), "the plan is for Square tube 40 × 3");
    let mut unknown = list.clone();
    unknown.stock[0].name = "B-7".into();
    refused(&unknown, &BarRecording::default(), "not in the rack");
    let mut nameless = list.clone();
    nameless.stock[0].name.clear();
    nameless.material.clear();
    refused(&nameless, &BarRecording::default(), "material");
    let keep = BarRecording { keep: Keep::Nothing, ..BarRecording::default() };
    record(&mut shop, &list, &keep).unwrap();
    assert_eq!(shop.sheet(&label).unwrap().entry.facts.whereabouts, Whereabouts::UsedUp);
    sound(&shop);
}

#[test]
fn a_bar_is_no_sheet() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(bar(2000.0)).unwrap();
    let (job, checked) = plan(&shop, &label, &[(rectangle("tab", 100.0, 20.0), 20.0, 10.0)]);
    let cut = [(0, label.clone(), oddment_rack::record::Recording::default())];
    let said = shop.record(&job, &checked, &cut).unwrap_err().to_string();
    assert!(said.contains("is a bar"), "{said}");
    // Held for another order it is not planned on.
    shop.hold(&label, "order 7", None).unwrap();
    let list = list(&[(500.0, 1)]);
    assert!(shop.bars_for(&list, None).unwrap().is_empty());
    assert_eq!(shop.bars_for(&list, Some("order 7")).unwrap().len(), 1);
    assert_eq!(shop.find_bars("square 40x2", 1999.0, Some("order 7")).unwrap()[0].spare, 1.0);
}

#[test]
fn bars_are_not_counted_as_sheets() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    assert_eq!(counted(&shop.list().unwrap()), "0 sheets");
    shop.add(bar(2000.0)).unwrap();
    assert_eq!(counted(&shop.list().unwrap()), "1 bar");
    shop.add(plate(None, 500.0, 300.0)).unwrap();
    shop.add(bar(900.0)).unwrap();
    assert_eq!(counted(&shop.list().unwrap()), "1 sheet, 2 bars");
}

#[test]
fn bars_go_out_and_in_as_csv_and_json() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    shop.add(bar(2000.0)).unwrap();
    let (csv, json) = (shop.list_csv().unwrap(), everything(&shop));
    assert_eq!(shop.take_list(&csv).unwrap().alike, 1);
    for text in [csv, json] {
        let folder = Folder::new();
        let mut other = folder.shop();
        if text.starts_with('{') {
            other.take_everything(&text).unwrap();
        } else {
            other.take_list(&text).unwrap();
        }
        let (a, b) = (shop.list().unwrap().remove(0), other.list().unwrap().remove(0));
        assert_eq!(
            (a.label, a.size, a.facts.bar, a.facts.heat),
            (b.label, b.size, b.facts.bar, b.facts.heat)
        );
        sound(&other);
    }
    let said = shop.take_list("label,material,profile,width_mm\nX-1,S235,Box 7,900").unwrap_err();
    assert!(said.to_string().contains("line 2: there is no profile Box 7"), "{said}");
}
