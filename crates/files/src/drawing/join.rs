//! Pieces joined to closed contours where their ends meet.
//!
//! Ends within 0.001 mm are the same *node*, whatever the pieces are and whichever way they run.
//! Where every node has at most two ends the pieces are walked through; where more meet, the lines
//! are parted where they touch ([`split`]) and [`faces`] sorts them out. What is still open then is joined across gaps, nearest ends first.

use std::cmp::Ordering;

use oddment_core::shape::{Edge, EdgeSet, Loop, PartSpace, Point, Region, Vertex};

use super::grid::Grid;
use super::{Problem, faces, short_words, split};
use crate::words::counted;

/// Ends this close (mm) are one point.
pub(super) const SAME: f64 = 0.001;

/// Pieces that nowhere differ by more than this (mm) are one, drawn twice.
const DUPLICATE: f64 = 0.01;

/// Gaps up to this (mm) that keep a contour open are for a person to settle.
const GAP_ASKED: f64 = 1.0;

/// Ends of a line up to this far (mm) apart, and no more than a tenth of its length, may be meant to meet.
const WIDEST_GAP: f64 = 10.0;

/// A contour narrower than this (mm, area over length) encloses nothing.
const THINNEST: f64 = 1e-5;

/// Lines and arcs one after another, each from where the last ended.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    pub(super) edges: Vec<Edge<PartSpace>>,
    pub(super) layer: usize,
    pub(super) dashed: bool,
}

/// A closed contour, and the layer its first piece lies on.
#[derive(Clone, Debug)]
pub(super) struct Contour {
    pub(super) shape: Loop<PartSpace>,
    pub(super) layer: usize,
}

/// What joining makes of the pieces.
#[derive(Default)]
pub(super) struct Joined {
    pub(super) loops: Vec<Contour>,
    pub(super) open: Vec<Piece>,
    /// What open pieces would enclose, were their gaps closed.
    pub(super) outlines: Vec<EdgeSet<PartSpace>>,
}

impl Piece {
    pub(super) fn start(&self) -> Point<PartSpace> {
        self.edges[0].from()
    }

    pub(super) fn end(&self) -> Point<PartSpace> {
        self.edges[self.edges.len() - 1].to()
    }

    pub(super) fn length(&self) -> f64 {
        self.edges.iter().map(Edge::length).sum()
    }

    /// Five points along it, evenly.
    pub(super) fn samples(&self) -> [Point<PartSpace>; 5] {
        let length = self.length();
        [0.0, 0.25, 0.5, 0.75, 1.0].map(|share| {
            let mut left = share * length;
            for edge in &self.edges {
                if left <= edge.length() {
                    return edge.at(if left > 0.0 { left / edge.length() } else { 0.0 });
                }
                left -= edge.length();
            }
            self.end()
        })
    }

    pub(super) fn reversed(mut self) -> Self {
        self.edges.reverse();
        for edge in &mut self.edges {
            *edge = edge.reversed();
        }
        self
    }

    /// With its ends moved to these points.
    fn pinned(mut self, start: Point<PartSpace>, end: Point<PartSpace>) -> Self {
        let last = self.edges.len() - 1;
        pin(&mut self.edges[0], Some(start), None);
        pin(&mut self.edges[last], None, Some(end));
        self
    }

    /// Followed by `next`, with a line between if it starts elsewhere.
    fn followed_by(&mut self, next: Self) {
        let (from, to) = (self.end(), next.start());
        if from != to {
            self.edges.push(Edge::Line { from, to });
        }
        self.edges.extend(next.edges);
        self.dashed &= next.dashed;
    }

    /// The contour it makes when its end is joined to its start; `None` if that encloses nothing.
    pub(super) fn closed(&self) -> Option<Contour> {
        let mut vertices: Vec<_> =
            self.edges.iter().map(|e| Vertex { point: e.from(), bulge: e.bulge() }).collect();
        if self.end().distance(self.start()) > SAME {
            vertices.push(Vertex { point: self.end(), bulge: 0.0 });
        }
        let shape = Loop::new(vertices).ok()?;
        let encloses = shape.area() > THINNEST * shape.perimeter();
        encloses.then_some(Contour { shape, layer: self.layer })
    }
}

fn pin(edge: &mut Edge<PartSpace>, from: Option<Point<PartSpace>>, to: Option<Point<PartSpace>>) {
    let (from, to) = (from.unwrap_or(edge.from()), to.unwrap_or(edge.to()));
    if (from, to) != (edge.from(), edge.to()) {
        *edge = Edge::new(from, to, edge.bulge());
    }
}

/// Joins pieces at their ends, then across gaps of up to `bridge` mm.
pub(super) fn join(
    pieces: Vec<Piece>,
    bridge: f64,
    layers: &[String],
    problems: &mut Vec<Problem>,
) -> Joined {
    let pieces = without_duplicates(pieces, layers, problems);
    let mut joined = at_nodes(pieces, layers, problems);
    let bridged = across_gaps(std::mem::take(&mut joined.open), bridge);
    problems.extend(bridged.gaps.problem(
        ["gap between ends", "gaps between ends"],
        "closed with a line",
        false,
        layers,
    ));
    joined.loops.extend(bridged.loops);
    joined.open = bridged.open;
    let done = "left open, not cut; close what is to be cut";
    let mut outlines = Vec::new();
    let wider = across_gaps(joined.open.clone(), GAP_ASKED.max(bridge));
    if bridge < GAP_ASKED {
        let what = ["gap keeps a contour open", "gaps keep contours open"];
        problems.extend(wider.gaps_in_loops.problem(what, done, true, layers));
        outlines.extend(wider.loops);
    }
    let mut gaps = Gaps::default();
    for piece in &wider.open {
        let (from, to) = (piece.start(), piece.end());
        let gap = from.distance(to);
        if gap <= WIDEST_GAP.min(0.1 * piece.length()) {
            gaps.add(Gaps { count: 1, widest: Some((from.midpoint(to), gap, piece.layer)) });
            outlines.extend(piece.closed());
        }
    }
    let what = ["gap may leave an outline open", "gaps may leave outlines open"];
    problems.extend(gaps.problem(what, done, false, layers));
    let edges = |c: Contour| Region::new(c.shape, Vec::new()).edge_set();
    joined.outlines = outlines.into_iter().map(edges).collect();
    joined.loops = without_duplicate_loops(joined.loops, layers, problems);
    joined
}

fn without_duplicates(
    pieces: Vec<Piece>,
    layers: &[String],
    problems: &mut Vec<Problem>,
) -> Vec<Piece> {
    let mut kept: Vec<Piece> = Vec::with_capacity(pieces.len());
    let mut samples: Vec<[Point<PartSpace>; 5]> = Vec::with_capacity(pieces.len());
    let mut middles = Grid::new(DUPLICATE);
    let mut dropped = Dropped::default();
    for piece in pieces {
        let length = piece.length();
        if length == 0.0 {
            continue;
        }
        let own = piece.samples();
        let bound = DUPLICATE.min(length / 10.0);
        let alike = |i: usize| {
            let other = &samples[i];
            let near = |a: Point<PartSpace>, b: Point<PartSpace>| a.distance(b) <= bound;
            (length - kept[i].length()).abs() <= 2.0 * bound
                && (own.iter().zip(other).all(|(a, b)| near(*a, *b))
                    || own.iter().zip(other.iter().rev()).all(|(a, b)| near(*a, *b)))
        };
        if middles.near(own[2]).any(|(i, _)| alike(i)) {
            dropped.add(own[2], length, piece.layer);
            continue;
        }
        middles.add(kept.len(), own[2]);
        samples.push(own);
        kept.push(piece);
    }
    problems.extend(dropped.problem("line drawn twice", "lines drawn twice", layers));
    kept
}

fn without_duplicate_loops(
    loops: Vec<Contour>,
    layers: &[String],
    problems: &mut Vec<Problem>,
) -> Vec<Contour> {
    let mut kept: Vec<Contour> = Vec::with_capacity(loops.len());
    let mut middles = Grid::new(DUPLICATE);
    let mut dropped = Dropped::default();
    for contour in loops {
        let bounds = contour.shape.bounds();
        let (middle, length) = (bounds.centre(), contour.shape.perimeter());
        let bound = DUPLICATE.min(length / 20.0);
        let alike =
            |i: usize| {
                let other = &kept[i].shape;
                let theirs = other.bounds();
                bounds.min.distance(theirs.min) <= bound
                    && bounds.max.distance(theirs.max) <= bound
                    && (contour.shape.area() - other.area()).abs() <= bound * length
                    && contour.shape.vertices().iter().all(|v| {
                        other.edges().any(|e| e.nearest(v.point).distance(v.point) <= bound)
                    })
            };
        if middles.near(middle).any(|(i, _)| alike(i)) {
            dropped.add(middle, length, contour.layer);
            continue;
        }
        middles.add(kept.len(), middle);
        kept.push(contour);
    }
    problems.extend(dropped.problem("contour drawn twice", "contours drawn twice", layers));
    kept
}

/// Counts what is dropped as drawn twice.
#[derive(Default)]
struct Dropped {
    count: usize,
    length: f64,
    first: Option<(Point<PartSpace>, usize)>,
}

impl Dropped {
    fn add(&mut self, at: Point<PartSpace>, length: f64, layer: usize) {
        self.count += 1;
        self.length += length;
        self.first.get_or_insert((at, layer));
    }

    fn problem(&self, one: &str, many: &str, layers: &[String]) -> Option<Problem> {
        let (at, layer) = self.first?;
        Some(Problem {
            what: format!("{}, {:.2} mm in all", counted(self.count, one, many), self.length),
            at: Some(at),
            layer: layers.get(layer).cloned(),
            done: "taken once".to_owned(),
            must_settle: false,
        })
    }
}

/// Ends that meet, as nodes, and the pieces as links between them.
fn at_nodes(pieces: Vec<Piece>, layers: &[String], problems: &mut Vec<Problem>) -> Joined {
    let mut joined = Joined::default();
    let (links, nodes) = links(pieces, &mut joined.loops);
    let mut degree = vec![0_u32; nodes.len()];
    let mut groups = Groups::new(nodes.len());
    for link in &links {
        degree[link.start] += 1;
        degree[link.end] += 1;
        groups.unite(link.start, link.end);
    }
    let mut branched = vec![false; nodes.len()];
    let mut forks = (0, None);
    for (node, degree) in degree.iter().enumerate() {
        if *degree > 2 {
            branched[groups.find(node)] = true;
            forks = (forks.0 + 1, forks.1.or(Some(nodes[node])));
        }
    }
    let (tangled, plain): (Vec<_>, Vec<_>) =
        links.into_iter().partition(|l| branched[groups.find(l.start)]);
    if forks.0 > 0 {
        let layer = tangled.first().and_then(|l| layers.get(l.piece.layer));
        let layer = layer.cloned();
        let grouped = tangled.into_iter().map(|l| (groups.find(l.start), l.piece)).collect();
        let (links, nodes) = self::links(split::at_contacts(grouped), &mut joined.loops);
        let found = faces::faces(links, nodes.len());
        problems.push(Problem {
            what: format!("more than two ends meet at {} places", forks.0),
            at: forks.1,
            layer,
            done: format!("{} areas between the lines taken as contours", found.loops.len()),
            must_settle: true,
        });
        joined.loops.extend(found.loops);
        joined.open.extend(found.open);
    }
    let walked = walk(plain, nodes.len());
    joined.loops.extend(walked.loops);
    joined.open.extend(walked.open);
    joined
}

/// The pieces as links between nodes, and where the nodes are; pieces that end where they start
/// are contours already.
fn links(
    pieces: Vec<Piece>,
    closed: &mut Vec<Contour>,
) -> (Vec<faces::Link>, Vec<Point<PartSpace>>) {
    let nodes = Nodes::of(&pieces);
    let mut links = Vec::with_capacity(pieces.len());
    for (i, piece) in pieces.into_iter().enumerate() {
        let (start, end) = (nodes.node[2 * i], nodes.node[2 * i + 1]);
        if start == end {
            closed.extend(piece.closed());
            continue;
        }
        let piece = piece.pinned(nodes.at[start], nodes.at[end]);
        links.push(faces::Link { piece, start, end });
    }
    (links, nodes.at)
}

/// Walks through links of which no more than two meet at any node.
fn walk(links: Vec<faces::Link>, nodes: usize) -> Joined {
    let mut at_node = vec![[None; 2]; nodes];
    for (i, link) in links.iter().enumerate() {
        for node in [link.start, link.end] {
            let [first, second] = &mut at_node[node];
            *(if first.is_none() { first } else { second }) = Some(i);
        }
    }
    let mut joined = Joined::default();
    let ends: Vec<_> = links.iter().map(|l| (l.start, l.end)).collect();
    let mut left: Vec<Option<Piece>> = links.into_iter().map(|l| Some(l.piece)).collect();
    // Chains from their free ends first; what is left then runs round.
    let free =
        |i: usize| [ends[i].0, ends[i].1].into_iter().find(|node| at_node[*node][1].is_none());
    let starts = (0..ends.len()).filter_map(|i| free(i).map(|node| (i, node)));
    let rounds = (0..ends.len()).map(|i| (i, ends[i].0));
    for (first, from) in starts.chain(rounds) {
        let (mut link, mut node) = (first, from);
        let mut chain: Option<Piece> = None;
        while let Some(piece) = left[link].take() {
            let forward = ends[link].0 == node;
            let piece = if forward { piece } else { piece.reversed() };
            node = if forward { ends[link].1 } else { ends[link].0 };
            match &mut chain {
                Some(chain) => chain.followed_by(piece),
                None => chain = Some(piece),
            }
            match at_node[node].into_iter().flatten().find(|next| *next != link) {
                Some(next) => link = next,
                None => break,
            }
        }
        let Some(chain) = chain else { continue };
        if node == from {
            joined.loops.extend(chain.closed());
        } else {
            joined.open.push(chain);
        }
    }
    joined
}

/// Every piece's two ends, sorted into nodes.
struct Nodes {
    /// Node of the start of piece i at 2 i, of its end at 2 i + 1.
    node: Vec<usize>,
    at: Vec<Point<PartSpace>>,
}

impl Nodes {
    fn of(pieces: &[Piece]) -> Self {
        let ends: Vec<_> = pieces.iter().flat_map(|p| [p.start(), p.end()]).collect();
        let mut groups = Groups::new(ends.len());
        let mut grid = Grid::new(SAME);
        for (i, end) in ends.iter().enumerate() {
            for (other, _) in grid.near(*end) {
                groups.unite(other, i);
            }
            grid.add(i, *end);
        }
        let mut number = vec![usize::MAX; ends.len()];
        let mut at = Vec::new();
        let node = (0..ends.len())
            .map(|i| {
                let group = groups.find(i);
                if number[group] == usize::MAX {
                    number[group] = at.len();
                    at.push(ends[group]);
                }
                number[group]
            })
            .collect();
        Self { node, at }
    }
}

/// Disjoint sets of numbers.
struct Groups(Vec<usize>);

impl Groups {
    fn new(count: usize) -> Self {
        Self((0..count).collect())
    }

    fn find(&mut self, mut of: usize) -> usize {
        while self.0[of] != of {
            self.0[of] = self.0[self.0[of]];
            of = self.0[of];
        }
        of
    }

    fn unite(&mut self, a: usize, b: usize) {
        let (a, b) = (self.find(a), self.find(b));
        self.0[a.max(b)] = a.min(b);
    }
}

/// Chains joined across gaps.
#[derive(Default)]
struct Bridged {
    loops: Vec<Contour>,
    open: Vec<Piece>,
    gaps: Gaps,
    /// Those of them that are in closed contours.
    gaps_in_loops: Gaps,
}

/// How many gaps, and the widest: where, how wide, on which layer.
#[derive(Clone, Copy, Default)]
struct Gaps {
    count: usize,
    widest: Option<(Point<PartSpace>, f64, usize)>,
}

impl Gaps {
    fn add(&mut self, other: Self) {
        self.count += other.count;
        if other.widest.map_or(0.0, |w| w.1) > self.widest.map_or(0.0, |w| w.1) {
            self.widest = other.widest;
        }
    }

    fn problem(
        &self,
        [one, many]: [&str; 2],
        done: &str,
        must_settle: bool,
        layers: &[String],
    ) -> Option<Problem> {
        let (at, gap, layer) = self.widest?;
        Some(Problem {
            what: match self.count {
                1 => format!("1 {one}, {} mm wide", short_words(gap, 3)),
                n => format!("{n} {many}, the widest {} mm", short_words(gap, 3)),
            },
            at: Some(at),
            layer: layers.get(layer).cloned(),
            done: done.to_owned(),
            must_settle,
        })
    }
}

/// Joins free ends up to `reach` mm apart, nearest first, each end once.
fn across_gaps(chains: Vec<Piece>, reach: f64) -> Bridged {
    let ends: Vec<_> = chains.iter().flat_map(|p| [p.start(), p.end()]).collect();
    let lengths: Vec<_> = chains.iter().map(Piece::length).collect();
    let mut grid = Grid::new(reach);
    let mut pairs = Vec::new();
    for (i, end) in ends.iter().enumerate() {
        for (other, gap) in grid.near(*end) {
            // A piece shorter than the gap is detail that the gap must not swallow.
            if lengths[i / 2].min(lengths[other / 2]) > gap {
                pairs.push((gap, other, i));
            }
        }
        grid.add(i, *end);
    }
    // Equal gaps are taken by place, so that the order of the file does not matter.
    let place = |pair: &(f64, usize, usize)| {
        let (a, b) = (ends[pair.1], ends[pair.2]);
        [a.x.min(b.x), a.y.min(b.y), a.x.max(b.x), a.y.max(b.y)]
    };
    pairs.sort_unstable_by(|a, b| {
        let by_place = || place(a).partial_cmp(&place(b)).unwrap_or(Ordering::Equal);
        a.0.total_cmp(&b.0).then_with(by_place)
    });
    let mut partner = vec![None; ends.len()];
    for (_, a, b) in pairs {
        if partner[a].is_none() && partner[b].is_none() && a != b {
            partner[a] = Some(b);
            partner[b] = Some(a);
        }
    }
    link_up(chains, &ends, &partner)
}

fn link_up(chains: Vec<Piece>, ends: &[Point<PartSpace>], partner: &[Option<usize>]) -> Bridged {
    let mut bridged = Bridged::default();
    let layers: Vec<_> = chains.iter().map(|c| c.layer).collect();
    let mut left: Vec<Option<Piece>> = chains.into_iter().map(Some).collect();
    let starts = (0..ends.len()).filter(|end| partner[*end].is_none());
    let rounds = (0..ends.len()).step_by(2);
    for first in starts.chain(rounds) {
        let mut end = first;
        let mut chain: Option<Piece> = None;
        let mut gaps = Gaps::default();
        let mut closes = false;
        while let Some(piece) = left[end / 2].take() {
            let piece = if end % 2 == 0 { piece } else { piece.reversed() };
            match &mut chain {
                Some(chain) => chain.followed_by(piece),
                None => chain = Some(piece),
            }
            let far = end ^ 1;
            let Some(next) = partner[far] else { break };
            let gap = ends[far].distance(ends[next]);
            if gap > SAME {
                let at = ends[far].midpoint(ends[next]);
                gaps.add(Gaps { count: 1, widest: Some((at, gap, layers[far / 2])) });
            }
            closes = next == first;
            end = next;
        }
        let Some(chain) = chain else { continue };
        bridged.gaps.add(gaps);
        match closes.then(|| chain.closed()).flatten() {
            Some(contour) => {
                bridged.gaps_in_loops.add(gaps);
                bridged.loops.push(contour);
            }
            None => bridged.open.push(chain),
        }
    }
    bridged
}
