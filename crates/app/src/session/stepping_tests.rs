//! Whatever is done to the open job can be taken back and done again.

use std::sync::Arc;

use oddment_core::part::{MadeFrom, Priority, Turning};
use oddment_core::plan::{Count, Plan};
use oddment_core::shape::{Point, Vector};
use oddment_files::job_file::SourcedJob;
use proptest::prelude::*;
use serde_json::json;

use super::Session;
use crate::act::Act;
use crate::lay::{ClampAct, LayAct};
use crate::sheet_facts::SheetFacts;
use crate::shop::ShopAct;
use crate::trial::{open, rectangle, sheet_with_hole};

/// Acts on parts 0 and 1 that need no answer from a person, and none that starts long work.
fn acts() -> impl Strategy<Value = Act> {
    let part = 0..2_usize;
    let way = prop::sample::select(vec![(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)])
        .prop_map(|(x, y)| Vector::new(x, y));
    let at = (-50.0..1050.0, -50.0..650.0).prop_map(|(x, y)| Point::new(x, y));
    let on_bed = (0.0..2000.0, 0.0..1000.0).prop_map(|(x, y)| Point::new(x, y));
    let plain = vec![
        Act::PutDown,
        Act::LetGo,
        Act::SelectAll,
        Act::SelectAlike,
        Act::SelectNone,
        Act::Mirror,
        Act::Lock,
        Act::Duplicate,
        Act::Snug,
        Act::ShareCut,
        Act::PutBack,
        Act::AlignToEdge,
        Act::AlignToGrain,
        Act::ClearSheet,
        Act::NextSheet,
        Act::Undo,
        Act::Redo,
        Act::Lay(LayAct::Snug),
        Act::Lay(LayAct::Forget),
        Act::Lay(LayAct::Clamp(ClampAct::Remove(0))),
        Act::Shop(ShopAct::UseMachine(Some("plasma".into()))),
        Act::Shop(ShopAct::UseGas(Some("nitrogen".into()))),
        Act::Shop(ShopAct::Try("limits/one_person".into(), Some(json!(15)))),
    ];
    let made_from = MadeFrom { material: "S235".into(), thickness: 3.0 };
    let plate = SheetFacts {
        name: "plate".into(),
        size: Some((800.0, 500.0)),
        made_of: None,
        grain: Some(0.0),
        count: 2,
    };
    prop_oneof![
        6 => (part.clone(), at.clone()).prop_map(|(part, at)| Act::Take(part, at)),
        12 => prop::sample::select(plain),
        2 => part.clone().prop_map(Act::PlaceOne),
        1 => (-4.0..4.0).prop_map(Act::Turn),
        1 => (-4.0..4.0).prop_map(Act::TurnTo),
        2 => way.clone().prop_map(Act::Nudge),
        1 => way.prop_map(Act::Push),
        1 => at.clone().prop_map(|p| Act::Follow(p - Point::origin(), false)),
        1 => at.clone().prop_map(|p| Act::MoveTo(p - Point::origin())),
        1 => (part.clone(), 0..6_usize).prop_map(|(p, n)| Act::SetCount(p, Count::Exactly(n))),
        1 => part.clone().prop_map(|p| Act::SetTurning(p, Turning::none())),
        1 => (part.clone(), any::<bool>()).prop_map(|(p, f)| Act::SetFlip(p, f)),
        1 => part.clone().prop_map(|p| Act::SetGrain(p, Some(0.5))),
        1 => part.clone().prop_map(|p| Act::SetPriority(p, Priority::First)),
        1 => part.clone().prop_map(move |p| Act::SetMadeFrom(p, Some(made_from.clone()))),
        1 => part.prop_map(Act::RemovePart),
        1 => Just(Act::PlainSheet(plate.clone())),
        1 => Just(Act::SetSheet(SheetFacts { size: None, ..plate })),
        1 => (at, prop::option::of(on_bed.clone())).prop_map(|(p, b)| Act::Lay(LayAct::Measure(p, b))),
        1 => on_bed.prop_map(|p| Act::Lay(LayAct::Clamp(ClampAct::Add(p)))),
    ]
}

/// The open job but for what is in the hand.
fn state(session: &Session) -> (String, Arc<SourcedJob>, Plan) {
    let open = &session.open;
    (open.title.clone(), open.sourced.clone(), open.plan.clone())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn whatever_is_done_is_taken_back_and_done_again(acts in prop::collection::vec(acts(), 1..25)) {
        let parts = vec![(rectangle("plate", 100.0, 60.0), 3), (rectangle("tab", 30.0, 20.0), 2)];
        let mut session = Session::new(open(sheet_with_hole(), parts), None, Arc::new(|| {}));
        let first = state(&session);
        for act in acts {
            let before = state(&session);
            session.apply(act.clone());
            let after = state(&session);
            if before == after || matches!(act, Act::Undo | Act::Redo) {
                continue;
            }
            let name = session.undoes_and_redoes().0.map(str::to_owned);
            prop_assert!(name.is_some(), "{:?} can't be taken back", act);
            session.apply(Act::Undo);
            prop_assert_eq!(&state(&session), &before, "{:?} taken back", &act);
            session.apply(Act::Redo);
            prop_assert_eq!(&state(&session), &after, "{:?} done again", &act);
        }
        let last = state(&session);
        let mut steps = 0;
        while session.undoes_and_redoes().0.is_some() {
            session.apply(Act::Undo);
            steps += 1;
        }
        prop_assert_eq!(state(&session), first);
        while session.undoes_and_redoes().1.is_some() {
            session.apply(Act::Redo);
            steps -= 1;
        }
        if steps == 0 {
            prop_assert_eq!(state(&session), last);
        }
    }
}
