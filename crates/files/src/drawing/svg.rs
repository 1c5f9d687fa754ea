//! SVG.
use super::{DrawingFault, Sheet};
pub(super) fn read(_bytes: &[u8]) -> Result<Sheet, DrawingFault> {
    Err(DrawingFault::Refused("an SVG"))
}
