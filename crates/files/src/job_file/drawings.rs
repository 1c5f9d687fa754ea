//! The drawings that a job or plan names.

use std::path::{Path, PathBuf};

use oddment_core::part::Mark;
use oddment_core::shape::{PartSpace, Region, SheetSpace};

use super::Origin;
use crate::json::{Faults, Node};

/// Where the drawings of a file are looked for.
pub(crate) struct Drawings {
    folder: Option<PathBuf>,
}

impl Drawings {
    /// Drawings by paths relative to `folder`.
    pub(crate) fn new(folder: impl Into<PathBuf>) -> Self {
        Self { folder: Some(folder.into()) }
    }

    /// Drawings by their file names in `folder`, if one is given.
    pub(crate) fn by_name(folder: Option<&Path>) -> Self {
        Self { folder: folder.map(Path::to_path_buf) }
    }

    /// All the metal of a sheet's drawing.
    pub(crate) fn sheet(
        &mut self,
        _node: &Node<'_>,
        source: &Node<'_>,
        faults: &mut Faults,
    ) -> Option<(Vec<Region<SheetSpace>>, Origin)> {
        let what = format!(
            "no drawing is read yet from {}",
            self.folder.clone().unwrap_or_default().display()
        );
        faults.add(source.place(), what, "give the outline");
        None
    }

    /// One region of a part's drawing with its marks.
    pub(crate) fn part(
        &mut self,
        _node: &Node<'_>,
        source: &Node<'_>,
        faults: &mut Faults,
    ) -> Option<(Region<PartSpace>, Vec<Mark>, Origin)> {
        let what = format!(
            "no drawing is read yet from {}",
            self.folder.clone().unwrap_or_default().display()
        );
        faults.add(source.place(), what, "give the outline");
        None
    }
}
