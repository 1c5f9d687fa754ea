//! Filler parts as the open job knows them.

use oddment_core::check::check;
use oddment_core::distances::Clearances;
use oddment_core::part::{Part, Priority};
use oddment_core::plan::{Count, Plan, Wanted};
use oddment_files::job_file::{Origin, SourcedJob};
use oddment_files::plan_file::{read_plan, write_work};
use oddment_rack::fillers::Filler;

/// A part as a filler part keeps it drawn.
pub fn drawn(part: &Part) -> String {
    let mut alone = SourcedJob::new(Clearances::STARTING);
    let wanted = Wanted { part: part.clone(), count: Count::Exactly(1) };
    alone.add_part(wanted, Origin::Outline);
    let checked = check(&alone.job, Plan::default());
    write_work(&alone, &checked)
}

/// The part that a filler part keeps drawn, laid only where the others leave room.
pub fn part_of(filler: &Filler) -> Option<Part> {
    let (kept, _) = read_plan(&filler.drawn, None).ok()?;
    let part = kept.job.wanted.into_iter().next()?.part;
    Some(Part { name: filler.part.clone(), priority: Priority::IfRoom, ..part })
}

#[cfg(test)]
mod tests {
    use oddment_core::part::Turning;

    use super::*;
    use crate::start::first_job;

    #[test]
    fn a_part_comes_back_as_it_was_drawn() {
        let open = first_job().unwrap();
        for wanted in &open.job().wanted {
            let part = Part { turning: Turning::none(), ..wanted.part.clone() };
            let filler = Filler { part: "shim".into(), drawn: drawn(&part), ..Filler::default() };
            let back = part_of(&filler).unwrap();
            assert_eq!((back.name.as_str(), back.priority), ("shim", Priority::IfRoom));
            assert_eq!((&back.region, &back.turning), (&part.region, &part.turning));
        }
        assert_eq!(part_of(&Filler { drawn: "{}".into(), ..Filler::default() }), None);
    }
}
