//! Points, which belong to a space, and vectors, which do not.

use std::fmt::Debug;
use std::marker::PhantomData;
use std::ops::{Add, AddAssign, Mul, Neg, Sub};

/// A coordinate system that points can belong to.
pub trait Space: Copy + Clone + Debug + PartialEq + Send + Sync + 'static {}

/// The coordinates of a part's own drawing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PartSpace;
/// The coordinates of a sheet, from its datum corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SheetSpace;
/// The coordinates of the machine's bed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BedSpace;

impl Space for PartSpace {}
impl Space for SheetSpace {}
impl Space for BedSpace {}

/// A displacement in millimetres: the difference of two points of one space.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Vector {
    /// Millimetres along x.
    pub x: f64,
    /// Millimetres along y.
    pub y: f64,
}

impl Vector {
    /// The displacement by (x, y) millimetres.
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// The unit vector at `angle` radians counter-clockwise from the x axis.
    pub fn at_angle(angle: f64) -> Self {
        let (sin, cos) = angle.sin_cos();
        Self::new(cos, sin)
    }

    /// Scalar product.
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// The z of the cross product: positive when `other` lies counter-clockwise of `self`.
    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }

    /// Length in millimetres.
    pub fn length(self) -> f64 {
        // `hypot` would only add care for numbers beyond 1e150, at ten times the cost.
        self.length_squared().sqrt()
    }

    /// Squared length, mm².
    pub fn length_squared(self) -> f64 {
        self.dot(self)
    }

    /// Angle in radians, counter-clockwise from the x axis, in (−π, π].
    pub fn angle(self) -> f64 {
        self.y.atan2(self.x)
    }

    /// Turned by a quarter counter-clockwise.
    pub fn left(self) -> Self {
        Self::new(-self.y, self.x)
    }

    /// The unit vector in this direction; `None` for the null vector.
    pub fn unit(self) -> Option<Self> {
        let length = self.length();
        (length > 0.0).then(|| self * (1.0 / length))
    }

    /// Whether both numbers are finite.
    pub fn is_finite(self) -> bool {
        self.x.is_finite() && self.y.is_finite()
    }
}

impl Add for Vector {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.x + other.x, self.y + other.y)
    }
}

impl AddAssign for Vector {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Sub for Vector {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.x - other.x, self.y - other.y)
    }
}

impl Neg for Vector {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.x, -self.y)
    }
}

impl Mul<f64> for Vector {
    type Output = Self;
    fn mul(self, by: f64) -> Self {
        Self::new(self.x * by, self.y * by)
    }
}

/// A point of space `S`, in millimetres.
#[derive(Clone, Copy, PartialEq)]
pub struct Point<S> {
    /// Millimetres along x.
    pub x: f64,
    /// Millimetres along y.
    pub y: f64,
    space: PhantomData<S>,
}

impl<S> Debug for Point<S> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "({}, {})", self.x, self.y)
    }
}

impl<S: Space> Point<S> {
    /// The point (x, y).
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y, space: PhantomData }
    }

    /// The origin of the space.
    pub const fn origin() -> Self {
        Self::new(0.0, 0.0)
    }

    /// The displacement from the origin.
    pub const fn to_vector(self) -> Vector {
        Vector::new(self.x, self.y)
    }

    /// The point half-way to `other`.
    pub fn midpoint(self, other: Self) -> Self {
        Self::new((self.x + other.x) * 0.5, (self.y + other.y) * 0.5)
    }

    /// Distance to `other` in millimetres.
    pub fn distance(self, other: Self) -> f64 {
        (other - self).length()
    }

    /// Whether both coordinates are finite.
    pub fn is_finite(self) -> bool {
        self.x.is_finite() && self.y.is_finite()
    }

    /// The same numbers read in another space; for places where a drawing becomes a part or a
    /// sheet, and nowhere else.
    pub const fn reinterpret<T: Space>(self) -> Point<T> {
        Point::new(self.x, self.y)
    }
}

impl<S: Space> Sub for Point<S> {
    type Output = Vector;
    fn sub(self, other: Self) -> Vector {
        Vector::new(self.x - other.x, self.y - other.y)
    }
}

impl<S: Space> Add<Vector> for Point<S> {
    type Output = Self;
    fn add(self, by: Vector) -> Self {
        Self::new(self.x + by.x, self.y + by.y)
    }
}

impl<S: Space> Sub<Vector> for Point<S> {
    type Output = Self;
    fn sub(self, by: Vector) -> Self {
        Self::new(self.x - by.x, self.y - by.y)
    }
}
