//! Loops of lines and arcs, regions made of them, and what can be measured on them.
//!
//! Every point belongs to a space ([`PartSpace`], [`SheetSpace`], [`BedSpace`]); a [`Pose`] carries
//! points from one space to another. A [`Loop`] is a closed chain of lines and arcs, a [`Region`]
//! an outer loop with holes. Curves stay curves: only [`flatten`] makes polygons of them, with a
//! bound and a side on which to err.

mod bounds;
mod distance;
mod edge;
mod edge_set;
mod flatten;
mod grow;
mod hull;
mod known_edges;
mod loops;
mod offset;
mod point;
mod pose;
mod region;
mod subtract;

pub use bounds::Bounds;
pub(crate) use distance::crossings as edge_crossings;
pub use distance::{Gap, crossings, edge_gap};
pub use edge::Edge;
pub use edge_set::EdgeSet;
pub use flatten::{Side, flatten, flatten_region};
pub use grow::{grow_loop, shrink_loop};
pub use hull::hull;
pub use known_edges::KnownEdges;
pub use loops::{FARTHEST, Loop, LoopFault, Vertex};
pub use offset::offset;
pub use point::{BedSpace, PartSpace, Point, SheetSpace, Space, Vector};
pub(crate) use pose::Frame;
pub use pose::Pose;
pub use region::Region;
pub use subtract::subtract;
