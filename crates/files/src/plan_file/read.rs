//! Reads a plan back.

use std::collections::HashMap;
use std::path::Path;

use oddment_core::plan::{Layout, Placement, Plan};

use crate::job_file::{
    Drawings, GivenClearances, JobFault, MOST_COPIES, SourcedJob, read_clearances, read_part,
    read_pose, read_sheet, read_starts, read_wishes,
};
use crate::json::{Faults, Node, document};

/// Reads a plan and the job it answers; `drawings` is the folder to look for its drawings in, by
/// name, where they are not to be found where the plan says. What the file says of its check is
/// not believed: check the plan again. Where it does not say how many there are of a sheet, there are
/// as many as it uses. Sheets that carried nothing are not in the file, nor in the
/// job that comes back.
///
/// # Errors
/// All problems found.
pub fn read_plan(text: &str, drawings: Option<&Path>) -> Result<(SourcedJob, Plan), Vec<JobFault>> {
    let value = document(text, "oddment-plan").map_err(|fault| vec![fault])?;
    let mut faults = Faults::default();
    let root = Node::root(&value);
    let given = root.must("clearances", &mut faults).map(|c| read_clearances(&c, &mut faults));
    let given: GivenClearances = given.unwrap_or_default();
    let mut job = SourcedJob::new(given.complete());
    job.job.starts = read_starts(&root, &mut faults);
    let mut drawings = Drawings::by_name(drawings);
    let mut parts = HashMap::new();
    for node in root.list_of("wanted", &mut faults) {
        if let Some((wanted, origin)) = read_part(&node, "part", &mut drawings, &mut faults) {
            parts.insert(wanted.part.name.clone(), job.job.wanted.len());
            job.add_part(wanted, origin);
        }
    }
    if parts.len() < job.job.wanted.len() {
        faults.add("wanted", "a name is used twice", "rename one");
    }
    let mut plan = Plan::default();
    for node in root.list_of("sheets", &mut faults) {
        let Some((stock, origin)) = read_sheet(&node, "sheet", &mut drawings, &mut faults) else {
            continue;
        };
        let same = job.job.stock.iter().position(|s| s.sheet.name == stock.sheet.name);
        let index = same.unwrap_or(job.job.stock.len());
        match same {
            Some(same) if job.job.stock[same].sheet != stock.sheet => {
                faults.add(node.place(), "another sheet bears this name", "rename one");
            }
            Some(_) => {}
            None => job.add_sheet(stock, origin),
        }
        if node.get("count").is_none() {
            let used = plan.layouts.iter().filter(|l| l.stock == index).count() + 1;
            job.job.stock[index].count = job.job.stock[index].count.max(used);
        }
        let placements = node
            .list_of("placements", &mut faults)
            .iter()
            .filter_map(|p| read_placement(p, &parts, &mut faults))
            .collect();
        plan.layouts.push(Layout { stock: index, placements });
    }
    job.locked = locked_of(&plan);
    job.cut = read_wishes(&root, &job.job.wanted, &mut faults);
    job.notes = drawings.notes();
    faults.or(Some((job, plan)))
}

fn read_placement(
    node: &Node<'_>,
    parts: &HashMap<String, usize>,
    faults: &mut Faults,
) -> Option<Placement> {
    let name = node.must("part", faults).and_then(|n| n.text(faults))?;
    let copy = node.must("copy", faults).and_then(|n| n.whole(1..=MOST_COPIES, faults));
    // Where a part was laid is never guessed.
    node.must("turn_deg", faults);
    let pose = read_pose(node, faults);
    let locked = node.flag_of("locked", faults);
    let Some(part) = parts.get(name) else {
        faults.add(node.place_of("part"), "no part wanted has this name", "use a name of “wanted”");
        return None;
    };
    Some(Placement { part: *part, copy: copy?, pose: pose?, locked })
}

/// What is locked of a plan.
fn locked_of(plan: &Plan) -> Plan {
    let locked = |l: &Layout| Layout {
        stock: l.stock,
        placements: l.placements.iter().copied().filter(|p| p.locked).collect(),
    };
    let mut layouts: Vec<Layout> = plan.layouts.iter().map(locked).collect();
    layouts.retain(|l| !l.placements.is_empty());
    Plan { layouts }
}
