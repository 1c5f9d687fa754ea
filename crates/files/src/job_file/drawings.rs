//! Sheets and parts from drawings.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use oddment_core::part::{Mark, Part};
use oddment_core::shape::{PartSpace, Region, SheetSpace};
use oddment_core::sheet::{EdgeFacts, Sheet};
use oddment_core::units::{LengthUnit, MM_PER_INCH};

use super::{DrawingNote, Origin};
use crate::drawing::{Drawing, DrawingFault, ReadOptions, read_drawing};
use crate::file::{FileFault, read_bytes};
use crate::json::{FARTHEST, Faults, Node};

/// Why a drawing can't be had from a file.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NoDrawingFile {
    /// The file can't be read.
    #[error(transparent)]
    File(#[from] FileFault),
    /// There is no drawing in it that can be used.
    #[error(transparent)]
    Drawing(#[from] DrawingFault),
}

/// Reads the drawing in the file at `path`.
///
/// # Errors
/// [`NoDrawingFile`] says why there is none.
pub fn load_drawing(path: &Path, options: &ReadOptions) -> Result<Drawing, NoDrawingFile> {
    let bytes = read_bytes(path)?;
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    Ok(read_drawing(&name, &bytes, options)?)
}

/// The file that a shape was drawn in, read again: its content, and the drawing. `None` where it was not
/// drawn, or its file can't be read any more.
pub fn drawing_again(origin: &Origin) -> Option<(Vec<u8>, Drawing)> {
    let Origin::Drawing { path, mm_per_unit, .. } = origin else { return None };
    let bytes = read_bytes(path).ok()?;
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let drawing = read_drawing(&name, &bytes, &options_for(Some(*mm_per_unit), None)).ok()?;
    Some((bytes, drawing))
}

/// The sheet that a drawing shows: all its regions are metal. Named after the file.
pub fn sheet_from_drawing(path: &Path, drawing: &Drawing) -> (Sheet, Origin) {
    let metal: Vec<Region<SheetSpace>> =
        drawing.regions.iter().map(|f| f.region.reinterpret()).collect();
    (Sheet::new(stem(path), &metal, EdgeFacts::default()), origin(path, drawing, 0))
}

/// The parts that a drawing shows, one for each region, named after the file.
pub fn parts_from_drawing(path: &Path, drawing: &Drawing) -> Vec<(Part, Origin)> {
    drawing
        .part_names(&stem(path))
        .into_iter()
        .zip(&drawing.regions)
        .enumerate()
        .map(|(i, (name, found))| {
            let part = Part { marks: found.marks.clone(), ..Part::new(name, found.region.clone()) };
            (part, origin(path, drawing, i))
        })
        .collect()
}

fn stem(path: &Path) -> String {
    path.file_stem().unwrap_or_default().to_string_lossy().into_owned()
}

fn origin(path: &Path, drawing: &Drawing, region: usize) -> Origin {
    // Without a current folder the path stays as it is.
    let path = std::path::absolute(path).unwrap_or_else(|_| path.to_path_buf());
    Origin::Drawing { path, mm_per_unit: drawing.units.mm_per_unit, region }
}

/// The drawings that a job or plan file names, each read once.
pub(crate) struct Drawings {
    folder: Option<PathBuf>,
    by_name: bool,
    units: Option<LengthUnit>,
    read: HashMap<(PathBuf, Option<u64>), Result<Drawing, NoDrawingFile>>,
}

impl Drawings {
    /// Drawings by paths relative to `folder`; `units` go before what a drawing says of them, the
    /// `mm_per_unit` of an entry before both.
    pub(crate) fn relative_to(folder: &Path, units: Option<LengthUnit>) -> Self {
        Self { folder: Some(folder.to_path_buf()), by_name: false, units, read: HashMap::new() }
    }

    /// Drawings by their file names in `folder`, or where their paths say if there is none.
    pub(crate) fn by_name(folder: Option<&Path>) -> Self {
        let folder = folder.map(Path::to_path_buf);
        Self { folder, by_name: true, units: None, read: HashMap::new() }
    }

    /// All the metal of a sheet's drawing.
    pub(crate) fn sheet(
        &mut self,
        node: &Node<'_>,
        source: &Node<'_>,
        faults: &mut Faults,
    ) -> Option<(Vec<Region<SheetSpace>>, Origin)> {
        let (path, drawing) = self.drawing(node, source, faults)?;
        let metal = drawing.regions.iter().map(|f| f.region.reinterpret()).collect();
        Some((metal, origin(&path, drawing, 0)))
    }

    /// One region of a part's drawing with its marks.
    pub(crate) fn part(
        &mut self,
        node: &Node<'_>,
        source: &Node<'_>,
        faults: &mut Faults,
    ) -> Option<(Region<PartSpace>, Vec<Mark>, Origin)> {
        let region = match node.get("region") {
            Some(region) => region.whole(0..=usize::MAX, faults)?,
            None => 0,
        };
        let (path, drawing) = self.drawing(node, source, faults)?;
        let Some(found) = drawing.regions.get(region) else {
            let what = format!("the drawing has {} regions", drawing.regions.len());
            faults.add(node.place_of("region"), what, "count them from 0, largest first");
            return None;
        };
        Some((found.region.clone(), found.marks.clone(), origin(&path, drawing, region)))
    }

    /// What a person should know of the drawings read, in the order of their paths.
    pub(crate) fn notes(&self) -> Vec<DrawingNote> {
        let mut read: Vec<_> =
            self.read.iter().filter_map(|(k, d)| Some((k, d.as_ref().ok()?))).collect();
        read.sort_by(|a, b| a.0.cmp(b.0));
        read.into_iter()
            .flat_map(|((path, _), drawing)| {
                drawing
                    .problems
                    .iter()
                    .map(|problem| DrawingNote { path: path.clone(), problem: problem.clone() })
            })
            .collect()
    }

    fn drawing(
        &mut self,
        node: &Node<'_>,
        source: &Node<'_>,
        faults: &mut Faults,
    ) -> Option<(PathBuf, &Drawing)> {
        let named = Path::new(source.text(faults)?);
        let path = match &self.folder {
            Some(folder) if self.by_name => folder.join(named.file_name().unwrap_or_default()),
            Some(folder) => folder.join(named),
            None => named.to_path_buf(),
        };
        let scale = match node.get("mm_per_unit") {
            Some(scale) => Some(scale.number(1e-6..=FARTHEST, faults)?),
            None => None,
        };
        let drawing = self
            .read
            .entry((path.clone(), scale.map(f64::to_bits)))
            .or_insert_with(|| load_drawing(&path, &options_for(scale, self.units)));
        match drawing {
            Ok(drawing) => {
                let found = drawing.units.mm_per_unit;
                if scale.is_some_and(|s| s != found) {
                    let what =
                        format!("one unit of the drawing is {found} mm, not what is said here");
                    let remedy = "use the drawing that the file was made from";
                    faults.add(node.place_of("mm_per_unit"), what, remedy);
                    return None;
                }
                Some((path, drawing))
            }
            Err(fault) => {
                let said = fault.to_string();
                let (what, remedy) =
                    said.split_once("; ").unwrap_or((&said, "use another drawing"));
                faults.add(source.place(), format!("{}: {what}", path.display()), remedy);
                None
            }
        }
    }
}

/// Reads a drawing so that a unit of it is `scale` mm where that is said, and else in `units`.
fn options_for(scale: Option<f64>, units: Option<LengthUnit>) -> ReadOptions {
    let units = match scale {
        Some(1.0) => Some(LengthUnit::Mm),
        Some(MM_PER_INCH) => Some(LengthUnit::Inch),
        Some(_) => None,
        None => units,
    };
    ReadOptions { units, ..ReadOptions::default() }
}
