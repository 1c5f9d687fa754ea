//! A tree of boxes over things that keep a required distance, to find the tightest of them fast.

use crate::shape::{Bounds, Point, SheetSpace};

/// Items per leaf.
const LEAF: usize = 4;

/// A binary tree of boxes, halved along their longer side.
#[derive(Debug)]
pub(super) struct Tree {
    nodes: Vec<Node>,
    /// Items in leaf order: number, box and required distance.
    order: Vec<(u32, Bounds<SheetSpace>, f64)>,
}

#[derive(Debug)]
struct Node {
    bounds: Bounds<SheetSpace>,
    /// The greatest required distance of the items in it.
    required: f64,
    /// A leaf's items in `order`; an inner node has none, its left child comes next in `nodes`.
    first: u32,
    count: u32,
    right: u32,
}

impl Tree {
    /// The tree over items with these boxes and required distances.
    pub(super) fn new(items: &[(Bounds<SheetSpace>, f64)]) -> Self {
        let mut tree = Self { nodes: Vec::new(), order: Vec::new() };
        let mut numbers: Vec<u32> = (0..items.len() as u32).collect();
        if !items.is_empty() {
            tree.grow(items, &mut numbers);
        }
        tree
    }

    fn grow(&mut self, items: &[(Bounds<SheetSpace>, f64)], numbers: &mut [u32]) {
        let of = |n: &u32| items[*n as usize];
        let bounds = numbers.iter().map(|n| of(n).0).fold(Bounds::EMPTY, Bounds::union);
        let required = numbers.iter().map(|n| of(n).1).fold(f64::NEG_INFINITY, f64::max);
        let at = self.nodes.len();
        let first = self.order.len() as u32;
        self.nodes.push(Node { bounds, required, first, count: 0, right: 0 });
        if numbers.len() <= LEAF {
            self.nodes[at].count = numbers.len() as u32;
            self.order.extend(numbers.iter().map(|n| (*n, of(n).0, of(n).1)));
            return;
        }
        let along_x = bounds.width() >= bounds.height();
        let key = |n: &u32| {
            let b = of(n).0;
            if along_x { b.min.x + b.max.x } else { b.min.y + b.max.y }
        };
        let half = numbers.len() / 2;
        numbers.select_nth_unstable_by(half, |a, b| key(a).total_cmp(&key(b)).then(a.cmp(b)));
        let (left, right) = numbers.split_at_mut(half);
        self.grow(items, left);
        self.nodes[at].right = self.nodes.len() as u32;
        self.grow(items, right);
    }

    /// Visits the items that may have less than `limit` (mm) to spare from what lies in `around`:
    /// the distance of the boxes less what is required. `visit` returns the limit from there on.
    pub(super) fn near(
        &self,
        around: &Bounds<SheetSpace>,
        mut limit: f64,
        mut visit: impl FnMut(usize, f64) -> f64,
    ) {
        let spare = |n: usize| {
            let node: &Node = &self.nodes[n];
            around.distance_squared(&node.bounds).sqrt() - node.required
        };
        if self.nodes.is_empty() {
            return;
        }
        let mut waiting = [(0_u32, 0.0_f64); 40];
        waiting[0] = (0, spare(0));
        let mut count = 1;
        while count > 0 {
            count -= 1;
            let (n, least) = waiting[count];
            if least >= limit {
                continue;
            }
            let node = &self.nodes[n as usize];
            if node.right == 0 {
                let items = node.first as usize..(node.first + node.count) as usize;
                for (item, bounds, required) in &self.order[items] {
                    if around.distance_squared(bounds).sqrt() - required < limit {
                        limit = visit(*item as usize, limit);
                    }
                }
                continue;
            }
            let (mut near, mut far) =
                ((n + 1, spare(n as usize + 1)), (node.right, spare(node.right as usize)));
            if far.1 < near.1 {
                std::mem::swap(&mut near, &mut far);
            }
            // Halving keeps the depth under 33 for any number of items that fits u32.
            waiting[count] = far;
            waiting[count + 1] = near;
            count += 2;
        }
    }

    /// Visits the items whose box holds `point`.
    pub(super) fn holding(&self, point: Point<SheetSpace>, mut visit: impl FnMut(usize)) {
        let spot = Bounds { min: point, max: point };
        let mut at = 0;
        // Halving keeps the depth under 33, as above.
        let (mut waiting, mut count) = ([0_u32; 40], 0);
        while at < self.nodes.len() {
            let node = &self.nodes[at];
            let meets = node.bounds.distance_squared(&spot) <= 0.0;
            if meets && node.right != 0 {
                waiting[count] = node.right;
                count += 1;
                at += 1;
                continue;
            }
            if meets {
                let items = node.first as usize..(node.first + node.count) as usize;
                let holders = self.order[items].iter().filter(|i| i.1.contains(point));
                holders.for_each(|i| visit(i.0 as usize));
            }
            if count == 0 {
                return;
            }
            count -= 1;
            at = waiting[count] as usize;
        }
    }
}
