//! The free metal of a sheet as the search sees it: a box, and convex pieces of all that bars it.

use crate::distances::{Clearances, Obstacle, ObstacleKind, lead_obstacles, obstacles};
use crate::sheet::Sheet;

use super::convex::{Convex, normals};
use super::field::{Field, Wall};
use super::figure::{Figure, Line, chords, curve_allowance, deepest_inset};
use super::laid::Pieces;
use super::limits::Limits;
use super::nofit::{Piece, convex_pieces};

/// Cells along the longer side of the sheet's field.
const FIELD_CELLS: usize = 400;

/// Where parts may lie.
#[derive(Clone, Debug)]
pub(super) struct Ground {
    solids: Vec<Solid>,
    buckets: Buckets,
    walls: Vec<Wall>,
    /// Box of the metal.
    pub(super) limits: Limits,
    /// The box that parts' boxes must stay in.
    pub(super) plain: Limits,
    /// Area of metal, mm².
    pub(super) area: f64,
}

/// What is known of all that will be laid, mm.
#[derive(Clone, Copy, Debug)]
struct Reach {
    /// How far its straight edges may lie inside the outline.
    inset: f64,
    /// How far it reaches at most.
    span: f64,
    /// What counts as touching.
    touch: f64,
}

/// A convex piece of what bars the ground; a disc is a point from which its radius more is kept.
#[derive(Clone, Debug)]
struct Solid {
    points: Vec<[f64; 2]>,
    normals: Vec<[f64; 2]>,
    limits: Limits,
    /// Distance that parts must keep, mm.
    keep: f64,
}

impl Solid {
    fn new(points: Vec<[f64; 2]>, keep: f64) -> Self {
        let normals = normals(&points);
        let limits = Limits::around(&points);
        Self { points, normals, limits, keep }
    }
}

impl Ground {
    /// The free metal of `sheet` under the rule of distances, for these figures; arcs as chords
    /// within `bound` mm. Overlaps of up to `touch` mm will count as touching, but must not lead off
    /// the metal: beside an outline that is no upright box so much more is kept, and so much beside
    /// a cut-out from which no distance is asked.
    pub(super) fn new(
        sheet: &Sheet,
        clearances: &Clearances,
        bound: f64,
        figures: &[Figure],
        touch: f64,
    ) -> Self {
        let span = figures.iter().map(|f| 2.0 * f.radius).fold(0.0, f64::max);
        let reach = Reach { inset: deepest_inset(figures), span, touch };
        Self::of(sheet, &obstacles(sheet, clearances), bound, reach)
    }

    /// The free metal of `sheet` for lead-ins that reach no farther than `span` mm.
    pub(super) fn for_leads(sheet: &Sheet, clearances: &Clearances, bound: f64, span: f64) -> Self {
        let reach = Reach { inset: 0.0, span, touch: 0.0 };
        Self::of(sheet, &lead_obstacles(sheet, clearances), bound, reach)
    }

    fn of(sheet: &Sheet, obstacles: &[Obstacle], bound: f64, reach: Reach) -> Self {
        let bounds = sheet.bounds();
        let limits =
            Limits { min: [bounds.min.x, bounds.min.y], max: [bounds.max.x, bounds.max.y] };
        let (mut solids, mut walls, mut plain) = (Vec::new(), Vec::new(), limits);
        for obstacle in obstacles {
            let mut own = walls_of(obstacle, bound, reach.inset);
            if obstacle.kind == ObstacleKind::Outside {
                match between(&own, &limits) {
                    Some(left) => plain = left,
                    None => {
                        own.iter_mut().for_each(|wall| wall.keep += reach.touch);
                        solids.extend(outside(obstacle, &own, &limits, bound, reach.span));
                    }
                }
            } else if let Some((middle, radius)) = obstacle.as_circle() {
                let keep = own.iter().map(|w| w.keep).fold(0.0, f64::max);
                solids.push(Solid::new(vec![[middle.x, middle.y]], radius + keep));
            } else {
                own.iter_mut().for_each(|wall| wall.keep = wall.keep.max(reach.touch));
                let lines = lines_of(obstacle, bound);
                solids.extend(bodies(&convex_pieces(&lines), &own));
            }
            walls.extend(own);
        }
        let boxes: Vec<Limits> = solids.iter().map(|s| s.limits.grown(s.keep)).collect();
        let buckets = Buckets::new(&boxes, &limits);
        Self { solids, buckets, walls, limits, plain, area: sheet.area() }
    }

    /// Whether only the box limits parts.
    pub(super) fn is_plain(&self) -> bool {
        self.solids.is_empty()
    }

    /// What bars the ground, to the left of each line, and the distance to keep from it, mm.
    pub(super) fn walls(&self) -> impl Iterator<Item = (Line, f64)> + '_ {
        self.walls.iter().map(|w| ([w.to[0], w.to[1], w.from[0], w.from[1]], w.keep))
    }

    /// What is left over (mm) beyond the distances asked for, at the nodes of a grid.
    pub(super) fn field(&self) -> Field {
        Field::new(&self.walls, self.limits.min, self.limits.max, FIELD_CELLS, true)
    }

    /// How far a box reaches beyond the plain box cut off at `right`; what is no more than `touch`
    /// mm counts nothing.
    #[inline]
    pub(super) fn beyond(&self, limits: &Limits, right: f64, touch: f64) -> f64 {
        let over = [
            self.plain.min[0] - limits.min[0],
            limits.max[0] - self.plain.max[0].min(right),
            self.plain.min[1] - limits.min[1],
            limits.max[1] - self.plain.max[1],
        ];
        over.into_iter().filter(|o| *o > touch).sum()
    }

    /// Whether any solid may be near a box.
    #[inline]
    pub(super) fn may_meet(&self, limits: &Limits) -> bool {
        !self.solids.is_empty() && {
            let mut met = false;
            self.buckets.visit(limits, |i| {
                let solid = &self.solids[i];
                met |= solid.limits.meets(limits, solid.keep);
            });
            met
        }
    }

    /// How deep pieces lie in the solids and the distance to be kept from them, `more` mm beyond what
    /// the ground asks for, or something above `most` once it is more than that.
    pub(super) fn depth(&self, pieces: &Pieces, more: f64, touch: f64, most: f64) -> f64 {
        let Some(limits) = &pieces.limits else { return 0.0 };
        let mut sum = 0.0;
        self.buckets.visit(&limits.grown(more), |i| {
            let solid = &self.solids[i];
            let keep = solid.keep + more;
            if sum <= most && solid.limits.meets(limits, keep) {
                let convex = Convex { points: &solid.points, normals: &solid.normals };
                sum += pieces.depth_to(convex, &solid.limits, keep, touch);
            }
        });
        sum
    }
}

/// An obstacle's rim as straight walls, the free metal to the left of each.
fn walls_of(obstacle: &Obstacle, bound: f64, inset: f64) -> Vec<Wall> {
    let outside = obstacle.kind == ObstacleKind::Outside;
    let mut walls = Vec::new();
    for (rim, required) in &obstacle.rims {
        for edge in rim.edges() {
            let keep = required + inset + curve_allowance(edge, bound);
            // Rims run with their solid on the left, but for the outside, whose edges run round the
            // metal: its chords are made the other way round.
            let edge = if outside { edge.reversed() } else { *edge };
            chords(&edge, bound, |a, b| {
                walls.push(Wall { from: [b.x, b.y], to: [a.x, a.y], keep });
            });
        }
    }
    walls
}

/// An obstacle's loops as straight lines, the outermost first.
fn lines_of(obstacle: &Obstacle, bound: f64) -> Vec<Line> {
    let mut loops: Vec<Vec<Line>> = obstacle
        .solid
        .loops()
        .map(|edges| {
            let mut edges = edges.to_vec();
            if obstacle.kind == ObstacleKind::Outside {
                edges = edges.iter().rev().map(|e| e.reversed()).collect();
            }
            let mut lines = Vec::new();
            for edge in &edges {
                chords(edge, bound, |a, b| lines.push([a.x, a.y, b.x, b.y]));
            }
            lines
        })
        .collect();
    let area = |lines: &Vec<Line>| lines.iter().map(|l| l[0] * l[3] - l[1] * l[2]).sum::<f64>();
    loops.sort_by(|a, b| area(b).abs().total_cmp(&area(a).abs()));
    loops.concat()
}

/// Convex pieces with the least distance that any wall of theirs asks for, and those walls that ask
/// for more.
fn bodies(pieces: &[Piece], walls: &[Wall]) -> Vec<Solid> {
    let least = walls.iter().map(|w| w.keep).fold(f64::INFINITY, f64::min);
    let least = if least.is_finite() { least } else { 0.0 };
    let pieces = pieces.iter().map(|piece| Solid::new(piece.clone(), least));
    let walls = walls.iter().filter(|w| w.keep > least + 1e-9);
    pieces.chain(walls.map(|w| Solid::new(vec![w.from, w.to], w.keep))).collect()
}

/// All round the metal, as far as parts can reach, in convex pieces.
fn outside(
    obstacle: &Obstacle,
    walls: &[Wall],
    limits: &Limits,
    bound: f64,
    span: f64,
) -> Vec<Solid> {
    let around = limits.grown(2.0 * span);
    let [(x0, y0), (x1, y1)] = [(around.min[0], around.min[1]), (around.max[0], around.max[1])];
    let mut lines: Vec<Line> =
        vec![[x0, y0, x1, y0], [x1, y0, x1, y1], [x1, y1, x0, y1], [x0, y1, x0, y0]];
    lines.extend(lines_of(obstacle, bound));
    bodies(&convex_pieces(&lines), walls)
}

/// The box left between four upright walls along the sheet's box, if those are all there are.
fn between(walls: &[Wall], limits: &Limits) -> Option<Limits> {
    let mut left = *limits;
    for wall in walls {
        let k = (0..2).find(|k| wall.from[*k] == wall.to[*k])?;
        if wall.from[k] == limits.min[k] {
            left.min[k] = left.min[k].max(limits.min[k] + wall.keep);
        } else if wall.from[k] == limits.max[k] {
            left.max[k] = left.max[k].min(limits.max[k] - wall.keep);
        } else {
            return None;
        }
    }
    (walls.len() == 4).then_some(left)
}

/// Solids by the squares of a coarse grid that their boxes meet.
#[derive(Clone, Debug)]
struct Buckets {
    min: [f64; 2],
    per_mm: f64,
    columns: usize,
    rows: usize,
    /// Start of each square's run in `held`.
    starts: Vec<u32>,
    held: Vec<u32>,
    /// First column and row of each solid.
    first: Vec<(usize, usize)>,
}

impl Buckets {
    fn new(boxes: &[Limits], limits: &Limits) -> Self {
        let span = [limits.max[0] - limits.min[0], limits.max[1] - limits.min[1]];
        let side = (span[0].max(span[1]) / 48.0).max(1e-9);
        let columns = (span[0] / side).ceil().max(1.0) as usize;
        let rows = (span[1] / side).ceil().max(1.0) as usize;
        let mut grid = Self {
            min: limits.min,
            per_mm: 1.0 / side,
            columns,
            rows,
            starts: vec![0; columns * rows + 1],
            held: Vec::new(),
            first: Vec::new(),
        };
        let mut held = vec![Vec::new(); columns * rows];
        for (i, b) in boxes.iter().enumerate() {
            let (c, r) = grid.squares(b);
            grid.first.push((*c.start(), *r.start()));
            for row in r {
                for column in c.clone() {
                    held[row * columns + column].push(i as u32);
                }
            }
        }
        for (square, solids) in held.into_iter().enumerate() {
            grid.held.extend(solids);
            grid.starts[square + 1] = grid.held.len() as u32;
        }
        grid
    }

    fn squares(
        &self,
        b: &Limits,
    ) -> (std::ops::RangeInclusive<usize>, std::ops::RangeInclusive<usize>) {
        let place = |v: f64, k: usize, n: usize| {
            (((v - self.min[k]) * self.per_mm).floor().max(0.0) as usize).min(n - 1)
        };
        (
            place(b.min[0], 0, self.columns)..=place(b.max[0], 0, self.columns),
            place(b.min[1], 1, self.rows)..=place(b.max[1], 1, self.rows),
        )
    }

    /// Calls `see` once for each solid whose squares meet the box.
    fn visit(&self, b: &Limits, mut see: impl FnMut(usize)) {
        let (c, r) = self.squares(b);
        for row in r.clone() {
            for column in c.clone() {
                let square = row * self.columns + column;
                let run = self.starts[square] as usize..self.starts[square + 1] as usize;
                for solid in &self.held[run] {
                    // Of the squares that both share, the first shows it.
                    let (first_c, first_r) = self.first[*solid as usize];
                    if column == first_c.max(*c.start()) && row == first_r.max(*r.start()) {
                        see(*solid as usize);
                    }
                }
            }
        }
    }
}
