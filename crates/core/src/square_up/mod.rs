//! How a sheet lies on the bed, found from points measured on it.
//!
//! A person drives the pointer to [`Feature`]s of the sheet and reads where they are. [`fit()`] finds
//! the shift and turn by least squares, each measurement weighed by how sure it and the record are,
//! and the [`Lay`] that remains: how far any point of the sheet may still be off. [`judge`] says
//! whether what is left over is as small as it should be, and where it is not, what explains it best.
//! A [`SquaredUp`] sheet makes of a job the job as laid, which the check, snugging and packing take as
//! they take any job. What was measured also says how sure the record is ([`sharper`]).
//!
//! Clamps must bear on sound metal ([`bearing()`]).
//!
//! A give or take holds in 95 of 100 cases: it counts as two standard deviations.

mod bearing;
mod feature;
mod fit;
mod judge;
mod lay;
mod record;
mod seek;
mod squared_up;
mod statistics;

pub use bearing::{Bearing, bearing};
pub use feature::{
    Feature, Rim, TightSpot, What, feature_at, features, place_on_edge, pointer_points,
    tightest_spot,
};
pub use fit::{Fit, Measured, Missing, Residual, fit};
pub use judge::{Doubt, Explanation, Judgement, Verdict, judge, relied_on};
pub use lay::Lay;
pub use record::{Sharper, Worth, sharper, worth_measuring};
pub use seek::How;
pub use squared_up::{Clamp, Drawn, SquaredUp, as_laid};
