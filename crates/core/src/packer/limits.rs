//! Axis-parallel boxes.

/// An axis-parallel box.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Limits {
    pub(super) min: [f64; 2],
    pub(super) max: [f64; 2],
}

impl Limits {
    pub(super) const EMPTY: Self = Self { min: [f64::INFINITY; 2], max: [f64::NEG_INFINITY; 2] };

    /// The box of some points.
    #[inline]
    pub(super) fn around(points: &[[f64; 2]]) -> Self {
        points.iter().fold(Self::EMPTY, |b, p| Self {
            min: [b.min[0].min(p[0]), b.min[1].min(p[1])],
            max: [b.max[0].max(p[0]), b.max[1].max(p[1])],
        })
    }

    /// The box of boxes; `None` without any.
    pub(super) fn union(boxes: impl Iterator<Item = Self>) -> Option<Self> {
        boxes.reduce(|a, b| Self {
            min: [a.min[0].min(b.min[0]), a.min[1].min(b.min[1])],
            max: [a.max[0].max(b.max[0]), a.max[1].max(b.max[1])],
        })
    }

    pub(super) fn grown(&self, by: f64) -> Self {
        Self {
            min: [self.min[0] - by, self.min[1] - by],
            max: [self.max[0] + by, self.max[1] + by],
        }
    }

    pub(super) fn moved(&self, x: f64, y: f64) -> Self {
        Self { min: [self.min[0] + x, self.min[1] + y], max: [self.max[0] + x, self.max[1] + y] }
    }

    /// Whether a point lies in it.
    pub(super) fn holds(&self, p: [f64; 2]) -> bool {
        (0..2).all(|k| self.min[k] <= p[k] && p[k] <= self.max[k])
    }

    /// Whether the boxes come nearer than `gap` mm along both axes.
    #[inline]
    pub(super) fn meets(&self, other: &Self, gap: f64) -> bool {
        self.min[0] - gap < other.max[0]
            && other.min[0] - gap < self.max[0]
            && self.min[1] - gap < other.max[1]
            && other.min[1] - gap < self.max[1]
    }
}
