//! The shape of a sheet in the rack: lines and arcs, and of each edge how it was made, how sure it
//! is, and where it is known from.

use oddment_core::capture::{CapturedMetal, How, Rim};
use oddment_core::shape::{
    Bounds, KnownEdges, Loop, Point, Pose, Region, SheetSpace, Vector, Vertex,
};
use oddment_core::sheet::{Body, Contour, EdgeFacts, EdgeKind, NoGo, Sheet};
use oddment_files::sound::unsound;
use serde::{Deserialize, Serialize};

use crate::fault::ShopFault;

/// A sheet is still as it was planned on where its edges are within this (mm) of where they were.
pub const SAME: f64 = 1e-3;
/// Longest side (mm) of a sheet that is added, and longest bar: what is longer was typed in another unit.
pub const LONGEST: f64 = 20_000.0;

/// That nothing of this kind is so long (mm), in words; nothing where it may be.
pub(crate) fn too_long(kind: &str, length: f64) -> Option<String> {
    let (metres, inches) = (LONGEST / 1000.0, (LONGEST / 25.4).floor());
    (length > LONGEST).then(|| format!("no {kind} is longer than {metres} m ({inches} in)"))
}

/// Give or take (mm) of an edge cut in the set-up that the sheet still lies in.
pub const CUT_IN_THIS_SETUP: f64 = 0.3;
/// Give or take (mm) of an edge that was cut here before the sheet was last lifted.
pub const CUT_EARLIER: f64 = 1.0;

/// Where an edge is known from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Source {
    /// Nobody has said.
    #[default]
    Unknown,
    /// As delivered.
    Delivered,
    /// Its drawing.
    Drawing,
    /// Taped.
    Taped,
    /// The machine's pointer.
    Measured,
    /// A photograph.
    Photo,
    /// Cut here, in the set-up of this number.
    Cut(i64),
}

impl Source {
    /// The sources that people can name, and their names.
    pub const NAMED: [(Self, &'static str); 6] = [
        (Self::Unknown, "unknown"),
        (Self::Delivered, "delivered"),
        (Self::Drawing, "drawing"),
        (Self::Taped, "taped"),
        (Self::Measured, "measured"),
        (Self::Photo, "photo"),
    ];

    /// The give or take (mm) to start from, for a sheet whose longer side is `reach` mm.
    pub fn give_or_take(self, reach: f64) -> f64 {
        match self {
            Self::Unknown => 3.0,
            Self::Delivered | Self::Drawing => CUT_EARLIER,
            Self::Taped => (reach / 1000.0).max(1.0),
            Self::Measured => 0.5,
            Self::Photo => 3.0,
            Self::Cut(_) => CUT_IN_THIS_SETUP,
        }
    }
}

impl std::fmt::Display for Source {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Cut(setup) => write!(f, "cut {setup}"),
            named => {
                let name = Self::NAMED.iter().find(|(source, _)| source == named);
                f.write_str(name.map_or("unknown", |(_, name)| name))
            }
        }
    }
}

impl std::str::FromStr for Source {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        if let Some(setup) = text.strip_prefix("cut ") {
            return setup.parse().map(Self::Cut).map_err(|_| format!("“{text}” is no source"));
        }
        let found = Self::NAMED.iter().find(|(_, name)| *name == text);
        found.map(|(source, _)| *source).ok_or_else(|| {
            let names: Vec<&str> = Self::NAMED.iter().map(|(_, name)| *name).collect();
            format!("“{text}” is no source of an edge; use one of {}", names.join(", "))
        })
    }
}

impl From<How> for Source {
    fn from(how: How) -> Self {
        match how {
            How::Drawing => Self::Drawing,
            How::Taped => Self::Taped,
            How::Pointer => Self::Measured,
            How::Photo => Self::Photo,
        }
    }
}

/// What is known of one edge.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct EdgeNote {
    /// How it was made, and how far (mm) it may lie from where it is recorded.
    pub facts: EdgeFacts,
    /// Where it is known from.
    pub source: Source,
}

/// A closed edge of metal with a note for each of its lines and arcs.
#[derive(Clone, Debug, PartialEq)]
pub struct NotedLoop {
    shape: Loop<SheetSpace>,
    notes: Vec<EdgeNote>,
}

impl NotedLoop {
    /// A loop all of whose edges are known alike.
    pub fn uniform(shape: Loop<SheetSpace>, note: EdgeNote) -> Self {
        let notes = vec![note; shape.vertices().len()];
        Self { shape, notes }
    }

    /// Its shape.
    pub fn shape(&self) -> &Loop<SheetSpace> {
        &self.shape
    }

    /// A note for each edge, in the order of the loop's edges.
    pub fn notes(&self) -> &[EdgeNote] {
        &self.notes
    }

    fn contour(&self) -> Contour {
        let facts = self.notes.iter().map(|n| n.facts).collect();
        Contour::with_facts(self.shape.clone(), facts)
            .unwrap_or_else(|| Contour::uniform(self.shape.clone(), EdgeFacts::default()))
    }

    fn of_rim(rim: &Rim) -> Self {
        let notes = rim.known().iter().map(|k| EdgeNote { facts: k.facts, source: k.how.into() });
        Self { shape: rim.shape().clone(), notes: notes.collect() }
    }

    fn of_contour(contour: &Contour, source: Source) -> Self {
        let notes = contour.facts().iter().map(|facts| EdgeNote { facts: *facts, source });
        Self { shape: contour.shape().clone(), notes: notes.collect() }
    }
}

/// A connected piece of metal.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Its outer edge.
    pub outer: NotedLoop,
    /// What has been cut out of it.
    pub cutouts: Vec<NotedLoop>,
}

impl Piece {
    /// Its metal.
    pub fn region(&self) -> Region<SheetSpace> {
        Region::new(
            self.outer.shape.clone(),
            self.cutouts.iter().map(|c| c.shape.clone()).collect(),
        )
    }

    /// Its closed edges, the outer one first.
    pub fn loops(&self) -> impl Iterator<Item = &NotedLoop> {
        std::iter::once(&self.outer).chain(&self.cutouts)
    }
}

/// The shape of a sheet: its metal, and where nothing may lie.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outline {
    /// Its metal, usually one piece.
    pub pieces: Vec<Piece>,
    /// Where nothing may lie: metal that nobody has measured, or that is half cut.
    pub no_go: Vec<NoGo>,
}

impl Outline {
    /// The shape of a sheet whose edges are all known from `source`.
    pub fn of_sheet(sheet: &Sheet, source: Source) -> Self {
        let pieces = sheet.bodies.iter().map(|body| Piece {
            outer: NotedLoop::of_contour(&body.outer, source),
            cutouts: body.cutouts.iter().map(|c| NotedLoop::of_contour(c, source)).collect(),
        });
        Self { pieces: pieces.collect(), no_go: sheet.no_go.clone() }
    }

    /// A rectangle, its edges known as a tape gives them.
    ///
    /// # Errors
    /// A sentence where it is no size of a sheet.
    pub fn rectangle([width, height]: [f64; 2], kind: EdgeKind) -> Result<Self, ShopFault> {
        let is_length = |mm: f64| (1.0..=100_000.0).contains(&mm);
        if !is_length(width) || !is_length(height) {
            return Err(ShopFault::refused(format!(
                "{width} × {height} mm is no size of a sheet; write for example 980x610"
            )));
        }
        let outer = Loop::rectangle(Point::origin(), Point::new(width, height));
        let outer = outer.map_err(|why| ShopFault::refused(why.to_string()))?;
        let give_or_take = Source::Taped.give_or_take(width.max(height));
        let note = EdgeNote { facts: EdgeFacts { kind, give_or_take }, source: Source::Taped };
        Ok(Self::uniform(&[Region::new(outer, Vec::new())], note))
    }

    /// The shape of captured metal, each edge known as it was captured.
    pub fn of_captured(metal: &CapturedMetal) -> Self {
        let pieces = metal.pieces.iter().map(|piece| Piece {
            outer: NotedLoop::of_rim(&piece.outer),
            cutouts: piece.cutouts.iter().map(NotedLoop::of_rim).collect(),
        });
        Self { pieces: pieces.collect(), no_go: metal.no_go.clone() }
    }

    /// Metal whose edges are all known alike.
    pub fn uniform(metal: &[Region<SheetSpace>], note: EdgeNote) -> Self {
        let noted = |l: &Loop<SheetSpace>| NotedLoop::uniform(l.clone(), note);
        let pieces = metal.iter().map(|region| Piece {
            outer: noted(region.outer()),
            cutouts: region.holes().iter().map(noted).collect(),
        });
        Self { pieces: pieces.collect(), no_go: Vec::new() }
    }

    /// The bodies of a sheet for planning.
    pub fn bodies(&self) -> Vec<Body> {
        let body = |piece: &Piece| Body {
            outer: piece.outer.contour(),
            cutouts: piece.cutouts.iter().map(NotedLoop::contour).collect(),
        };
        self.pieces.iter().map(body).collect()
    }

    /// Its metal.
    pub fn regions(&self) -> Vec<Region<SheetSpace>> {
        self.pieces.iter().map(Piece::region).collect()
    }

    /// The box around its metal.
    pub fn bounds(&self) -> Bounds<SheetSpace> {
        self.pieces.iter().map(|p| p.outer.shape.bounds()).fold(Bounds::EMPTY, Bounds::union)
    }

    /// Area of its metal, mm².
    pub fn area(&self) -> f64 {
        self.pieces.iter().map(|p| p.region().area()).sum()
    }

    /// Its closed edges, piece by piece.
    pub fn loops(&self) -> impl Iterator<Item = &NotedLoop> {
        self.pieces.iter().flat_map(Piece::loops)
    }

    /// Whether the metal is the same to `slack` mm: for each closed edge the other has one with the
    /// same edges, wherever it starts and whichever way it runs.
    pub fn is_same_metal(&self, bodies: &[Body], slack: f64) -> bool {
        let own: Vec<&Loop<SheetSpace>> = self.loops().map(NotedLoop::shape).collect();
        let other: Vec<&Loop<SheetSpace>> = bodies
            .iter()
            .flat_map(|b| std::iter::once(&b.outer).chain(&b.cutouts))
            .map(Contour::shape)
            .collect();
        let mut left = other;
        own.len() == left.len()
            && own.iter().all(|l| {
                let found = left.iter().position(|o| is_same_loop(l, o, slack));
                found.map(|at| left.swap_remove(at)).is_some()
            })
    }

    /// The sheet with edges cut in its last set-up known as no better than edges cut earlier: it has
    /// been lifted since.
    pub(crate) fn lifted(&self) -> Self {
        let mut lifted = self.clone();
        let loops = lifted
            .pieces
            .iter_mut()
            .flat_map(|p| std::iter::once(&mut p.outer).chain(&mut p.cutouts));
        for note in loops.flat_map(|l| &mut l.notes) {
            if matches!(note.source, Source::Cut(_)) {
                note.facts.give_or_take = note.facts.give_or_take.max(CUT_EARLIER);
            }
        }
        lifted
    }

    /// With edges measured again, each with its contour (counted piece by piece, the outer one first), its
    /// place along that, and its give or take (mm). What is not there is passed over.
    pub(crate) fn measured(&self, edges: &[(usize, usize, f64)]) -> Self {
        let mut measured = self.clone();
        let pieces = measured.pieces.iter_mut();
        let loops = pieces.flat_map(|p| std::iter::once(&mut p.outer).chain(&mut p.cutouts));
        for (n, contour) in loops.enumerate() {
            for (_, edge, mm) in edges.iter().filter(|e| e.0 == n) {
                if let Some(note) = contour.notes.get_mut(*edge) {
                    note.facts.give_or_take = *mm;
                    note.source = Source::Measured;
                }
            }
        }
        measured
    }

    /// Moved.
    pub(crate) fn shifted(&self, by: Vector) -> Self {
        let pose: Pose<SheetSpace, SheetSpace> = Pose::shifted(by);
        let moved =
            |l: &NotedLoop| NotedLoop { shape: l.shape.placed(&pose), notes: l.notes.clone() };
        let pieces = self.pieces.iter().map(|p| Piece {
            outer: moved(&p.outer),
            cutouts: p.cutouts.iter().map(moved).collect(),
        });
        let no_go = self.no_go.iter().map(|z| NoGo { shape: z.shape.placed(&pose), ..z.clone() });
        Self { pieces: pieces.collect(), no_go: no_go.collect() }
    }

    /// What is wrong with it as metal, in words.
    pub(crate) fn problem(&self) -> Option<String> {
        self.pieces.iter().find_map(|p| unsound(&p.region())).map(|p| p.to_string())
    }
}

/// Whether two loops have the same edges to `slack` mm.
fn is_same_loop(a: &Loop<SheetSpace>, b: &Loop<SheetSpace>, slack: f64) -> bool {
    let (ends, n) = (a.vertices(), a.vertices().len());
    if n != b.vertices().len() || (a.area() - b.area()).abs() > slack * (a.perimeter() + 1.0) {
        return false;
    }
    let b = b.clone().directed(a.signed_area() > 0.0);
    let same = |p: &Vertex<SheetSpace>, q: &Vertex<SheetSpace>| {
        p.point.distance(q.point) <= slack && (p.bulge - q.bulge).abs() <= 1e-6
    };
    (0..n).any(|start| (0..n).all(|i| same(&ends[i], &b.vertices()[(start + i) % n])))
}

/// Notes for the edges of metal that was cut out of other metal: edges that were there keep their
/// note, others get that of the new cut.
pub(crate) struct Noting {
    known: KnownEdges<SheetSpace, EdgeNote>,
    fresh: EdgeNote,
}

impl Noting {
    pub(crate) fn new(before: &Outline, fresh: EdgeNote) -> Self {
        let known = before.loops().flat_map(|l| l.shape.edges().zip(l.notes.iter().copied()));
        Self { known: KnownEdges::new(known), fresh }
    }

    pub(crate) fn piece(&self, region: &Region<SheetSpace>) -> Piece {
        Piece {
            outer: self.noted(region.outer()),
            cutouts: region.holes().iter().map(|h| self.noted(h)).collect(),
        }
    }

    /// Whether metal still reaches the outline of what it was cut out of, or an old cut-out beside it: what
    /// new cuts free all round falls, or lies anyhow.
    pub(crate) fn reaches_out(&self, region: &Region<SheetSpace>) -> bool {
        region.outer().edges().any(|edge| self.known.note(&edge).is_some())
    }

    fn noted(&self, shape: &Loop<SheetSpace>) -> NotedLoop {
        let notes = shape.edges().map(|edge| self.known.note(&edge).unwrap_or(self.fresh));
        NotedLoop { shape: shape.clone(), notes: notes.collect() }
    }
}

/// The shape as it is kept: `v` vertices x, y, bulge; `e` kind, give or take, source of each edge, or
/// of all where there is one.
#[derive(Serialize, Deserialize)]
struct LoopDoc {
    v: Vec<[f64; 3]>,
    e: Vec<(String, f64, String)>,
}

#[derive(Serialize, Deserialize)]
struct PieceDoc {
    outer: LoopDoc,
    #[serde(default)]
    cutouts: Vec<LoopDoc>,
}

#[derive(Serialize, Deserialize)]
struct NoGoDoc {
    name: String,
    v: Vec<[f64; 3]>,
    distance: f64,
    /// Left out by older shop files, which kept only metal that nobody knows.
    #[serde(default)]
    stands_up: bool,
}

#[derive(Serialize, Deserialize)]
struct OutlineDoc {
    pieces: Vec<PieceDoc>,
    #[serde(default)]
    no_go: Vec<NoGoDoc>,
}

const KINDS: [(EdgeKind, &str); 3] =
    [(EdgeKind::Mill, "mill"), (EdgeKind::Sheared, "sheared"), (EdgeKind::OwnCut, "own_cut")];

impl Outline {
    /// The text that [`Self::parse`] reads back exactly.
    pub fn to_text(&self) -> Result<String, ShopFault> {
        let vertices = |l: &Loop<SheetSpace>| -> Vec<[f64; 3]> {
            l.vertices().iter().map(|v| [v.point.x, v.point.y, v.bulge]).collect()
        };
        let note = |n: &EdgeNote| {
            let kind = KINDS.iter().find(|(kind, _)| *kind == n.facts.kind);
            let kind = kind.map_or("mill", |(_, name)| name);
            (kind.to_owned(), n.facts.give_or_take, n.source.to_string())
        };
        let noted = |l: &NotedLoop| {
            let alike = l.notes.iter().all(|n| *n == l.notes[0]);
            let notes = if alike { &l.notes[..1] } else { &l.notes[..] };
            LoopDoc { v: vertices(&l.shape), e: notes.iter().map(note).collect() }
        };
        let pieces = self.pieces.iter().map(|p| PieceDoc {
            outer: noted(&p.outer),
            cutouts: p.cutouts.iter().map(noted).collect(),
        });
        let no_go = self.no_go.iter().map(|z| NoGoDoc {
            name: z.name.clone(),
            v: vertices(&z.shape),
            distance: z.clearance,
            stands_up: z.stands_up,
        });
        let doc = OutlineDoc { pieces: pieces.collect(), no_go: no_go.collect() };
        Ok(serde_json::to_string(&doc)?)
    }

    /// Reads what [`Self::to_text`] wrote.
    ///
    /// # Errors
    /// [`ShopFault::Damaged`] where it is anything else.
    pub fn parse(text: &str) -> Result<Self, ShopFault> {
        let doc: OutlineDoc = serde_json::from_str(text)?;
        let shape = |v: &[[f64; 3]]| {
            let vertices =
                v.iter().map(|[x, y, bulge]| Vertex { point: Point::new(*x, *y), bulge: *bulge });
            Loop::new(vertices).map_err(|why| ShopFault::damaged(why.to_string()))
        };
        let note = |(kind, give_or_take, source): &(String, f64, String)| {
            let kind = KINDS.iter().find(|(_, name)| name == kind);
            let (kind, _) = kind.ok_or_else(|| ShopFault::damaged("an edge of no known kind"))?;
            if !(0.0..=1000.0).contains(give_or_take) {
                return Err(ShopFault::damaged("a give or take that is no length"));
            }
            let facts = EdgeFacts { kind: *kind, give_or_take: *give_or_take };
            Ok(EdgeNote { facts, source: source.parse().map_err(ShopFault::damaged)? })
        };
        let noted = |l: &LoopDoc| {
            let shape = shape(&l.v)?;
            let notes = l.e.iter().map(note).collect::<Result<Vec<_>, _>>()?;
            match (&notes[..], shape.vertices().len()) {
                ([all], _) => Ok(NotedLoop::uniform(shape, *all)),
                (notes, n) if notes.len() == n => Ok(NotedLoop { shape, notes: notes.to_vec() }),
                _ => Err(ShopFault::damaged("a contour with more or fewer edges than notes")),
            }
        };
        let piece = |p: &PieceDoc| {
            let cutouts = p.cutouts.iter().map(noted).collect::<Result<Vec<_>, _>>()?;
            Ok::<_, ShopFault>(Piece { outer: noted(&p.outer)?, cutouts })
        };
        let no_go = |z: &NoGoDoc| {
            Ok::<_, ShopFault>(NoGo {
                name: z.name.clone(),
                shape: shape(&z.v)?,
                clearance: z.distance,
                stands_up: z.stands_up,
            })
        };
        Ok(Self {
            pieces: doc.pieces.iter().map(piece).collect::<Result<_, _>>()?,
            no_go: doc.no_go.iter().map(no_go).collect::<Result<_, _>>()?,
        })
    }
}
