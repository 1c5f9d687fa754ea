//! A sheet squared up on its bed, and a job as it is laid there.

use super::fit::Fit;
use super::{Bearing, Lay, bearing};
use crate::machine::Bed;
use crate::plan::Job;
use crate::shape::{BedSpace, Bounds, Edge, Loop, Point, Pose, SheetSpace, Vector, Vertex};
use crate::sheet::{Body, Contour, EdgeFacts, NoGo, Sheet};

/// Along an edge the lay is taken afresh every so many millimetres: what lies near the points that were
/// measured is not held to the lay at the far end.
const STRETCH: f64 = 250.0;
/// The lay is rounded up to so much (mm), so that most stretches have the same.
const GRAIN: f64 = 0.05;
/// How wide (mm) the ground beyond the head's reach is drawn.
const BEYOND: f64 = 10_000.0;

/// Something that stands on the bed where the head must not come.
#[derive(Clone, Debug, PartialEq)]
pub struct Clamp {
    /// What it is, for people.
    pub name: String,
    /// Its outline on the bed.
    pub shape: Loop<BedSpace>,
    /// How far (mm) the head must keep from it.
    pub clearance: f64,
}

/// How the drawing for the machine is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Drawn {
    /// Where it is cut on the bed: nothing is typed at the machine.
    #[default]
    OnBed,
    /// Turned as the sheet lies, its datum corner at zero, for a machine that only shifts jobs.
    Turned,
    /// As on the sheet, for a machine that shifts and turns jobs.
    OnSheet,
}

/// How a sheet lies on the bed, as measured, and what else is there. Its usual face is up.
#[derive(Clone, Debug, PartialEq)]
pub struct SquaredUp {
    pose: Pose<SheetSpace, BedSpace>,
    lay: Lay,
    /// What the head reaches; `None` where nobody has said.
    pub bed: Option<Bed>,
    /// What stands on the bed.
    pub clamps: Vec<Clamp>,
    /// How drawings for the machine are written.
    pub drawn: Drawn,
    /// Whether every point of the pointer list was driven to and ticked off.
    pub ticked: bool,
}

impl SquaredUp {
    /// A sheet that lies as the fit has it; `None` for one with its other face up.
    pub fn new(fit: &Fit) -> Option<Self> {
        (!fit.pose.flipped).then_some(Self {
            pose: fit.pose,
            lay: fit.lay,
            bed: None,
            clamps: Vec::new(),
            drawn: Drawn::default(),
            ticked: false,
        })
    }

    /// Where it lies.
    pub fn pose(&self) -> Pose<SheetSpace, BedSpace> {
        self.pose
    }

    /// How far it may be off.
    pub fn lay(&self) -> &Lay {
        &self.lay
    }

    /// From a sheet with its datum corner there to the drawing for the machine.
    pub fn drawing(&self, datum: Point<SheetSpace>) -> Pose<SheetSpace, BedSpace> {
        match self.drawn {
            Drawn::OnBed => self.pose,
            Drawn::OnSheet => Pose::identity(),
            Drawn::Turned => {
                let turned = Pose::<_, BedSpace>::new(Vector::default(), self.pose.turn, false);
                Pose::new(-turned.apply(datum).to_vector(), self.pose.turn, false)
            }
        }
    }

    /// What is typed at the machine with that drawing: shift (mm) and turn (radians) of its zero.
    pub fn to_type(&self, datum: Point<SheetSpace>) -> (Vector, f64) {
        match self.drawn {
            Drawn::OnBed => (Vector::default(), 0.0),
            Drawn::OnSheet => (self.pose.shift, self.pose.turn),
            Drawn::Turned => (self.pose.apply(datum).to_vector(), 0.0),
        }
    }

    /// The job as it is with this sheet of its stock lying so: no lay is planned for any more, but every
    /// edge of this sheet has the lay that remains added to its give or take, and what stands on the bed
    /// and the end of the head's reach are no-go zones of it. The bed and what stands on it are where the
    /// machine has them, so no lay is added to those. Edges are cut into stretches; what is measured
    /// from them is the same. The other sheets have the planned lay added in the same way.
    pub fn as_laid(&self, job: &Job, stock: usize) -> Job {
        as_laid(job, |n| (n == stock).then_some(self))
    }

    /// What each clamp holds of this sheet of a job's stock, in their order.
    pub fn bearings(&self, job: &Job, stock: usize) -> Vec<Bearing> {
        let (laid, back) = (self.as_laid(job, stock), self.pose.inverse());
        let sheet = &laid.stock[stock].sheet;
        let holds = |c: &Clamp| bearing(sheet, &c.shape.placed(&back), laid.clearances.lay);
        self.clamps.iter().map(holds).collect()
    }

    fn laid(&self, sheet: &Sheet) -> Sheet {
        let lay = |edge: &Edge<SheetSpace>| (self.lay.along(edge) / GRAIN).ceil() * GRAIN;
        let mut laid = widened(sheet, lay, 0.0);
        for (zone, planned) in laid.no_go.iter_mut().zip(&sheet.no_go) {
            zone.clearance += self.lay.within(&planned.shape.bounds());
        }
        laid.no_go.extend(self.zones(&sheet.bounds()));
        laid
    }

    /// What stands on the bed, and what of the ground beyond the head's reach is near the sheet, where
    /// it is on the sheet. In the sheet's list of no-go zones as laid they come after its own.
    pub fn zones(&self, sheet: &Bounds<SheetSpace>) -> Vec<NoGo> {
        let back = self.pose.inverse();
        let clamp = |c: &Clamp| NoGo {
            name: c.name.clone(),
            shape: c.shape.placed(&back),
            clearance: c.clearance,
            stands_up: true,
        };
        let mut zones: Vec<NoGo> = self.clamps.iter().map(clamp).collect();
        let Some(Bed { width, height }) = self.bed else { return zones };
        let far = BEYOND;
        for (x, y, right, top) in [
            (-far, -far, 0.0, height + far),
            (width, -far, width + far, height + far),
            (0.0, -far, width, 0.0),
            (0.0, height, width, height + far),
        ] {
            let ends = Bounds { min: Point::<BedSpace>::new(x, y), max: Point::new(right, top) };
            let reached = on_bed(sheet, &self.pose).grown(1.0);
            if reached.distance(&ends) > 0.0 {
                continue;
            }
            // Four corners in order are always a loop.
            if let Ok(shape) = Loop::rectangle(ends.min, ends.max) {
                let name = "the end of the head’s reach".to_owned();
                let shape = shape.placed(&back);
                zones.push(NoGo { name, shape, clearance: 0.0, stands_up: false });
            }
        }
        zones
    }
}

/// The job with each sheet of its stock that `lies` knows of as [`SquaredUp::as_laid`] has it, and the planned
/// lay added to the others.
pub fn as_laid<'a>(job: &Job, lies: impl Fn(usize) -> Option<&'a SquaredUp>) -> Job {
    let mut job = job.clone();
    let planned = std::mem::take(&mut job.clearances.lay);
    for (n, s) in job.stock.iter_mut().enumerate() {
        if let Some(squared_up) = lies(n) {
            s.sheet = squared_up.laid(&s.sheet);
        } else if planned > 0.0 {
            s.sheet = widened(&s.sheet, |_| planned, planned);
        }
    }
    job
}

/// The box on the bed round a box of the sheet.
fn on_bed(of: &Bounds<SheetSpace>, pose: &Pose<SheetSpace, BedSpace>) -> Bounds<BedSpace> {
    Bounds::of(of.corners().map(|p| pose.apply(p)))
}

/// A sheet whose edges have more give or take by what `more` (mm) says of each stretch, and from whose
/// no-go zones the head keeps `from_zones` more.
fn widened(sheet: &Sheet, more: impl Fn(&Edge<SheetSpace>) -> f64, from_zones: f64) -> Sheet {
    let contour = |c: &Contour| {
        let (mut vertices, mut facts) = (Vec::new(), Vec::new());
        for (edge, known) in c.shape().edges().zip(c.facts()) {
            let count = (edge.length() / STRETCH).ceil().max(1.0);
            for n in 0..count as usize {
                let (from, to) = (n as f64 / count, (n + 1) as f64 / count);
                let part = if count > 1.0 { edge.between(from, to) } else { edge };
                vertices.push(Vertex { point: part.from(), bulge: part.bulge() });
                facts.push(EdgeFacts { give_or_take: known.give_or_take + more(&part), ..*known });
            }
        }
        let stretched = Loop::new(vertices).ok();
        stretched.and_then(|shape| Contour::with_facts(shape, facts)).unwrap_or_else(|| {
            // A loop that can't be cut into stretches has the most of all of it.
            let most = c.shape().edges().map(|e| more(&e)).fold(0.0, f64::max);
            let facts = c.facts().iter();
            let facts =
                facts.map(|f| EdgeFacts { give_or_take: f.give_or_take + most, ..*f }).collect();
            Contour::with_facts(c.shape().clone(), facts).unwrap_or_else(|| c.clone())
        })
    };
    let body = |b: &Body| Body {
        outer: contour(&b.outer),
        cutouts: b.cutouts.iter().map(contour).collect(),
    };
    let zone = |z: &NoGo| NoGo { clearance: z.clearance + from_zones, ..z.clone() };
    Sheet {
        bodies: sheet.bodies.iter().map(body).collect(),
        no_go: sheet.no_go.iter().map(zone).collect(),
        ..sheet.clone()
    }
}
