//! What is remembered from one start to the next.

use std::path::{Path, PathBuf};

use oddment_core::units::LengthUnit;
use oddment_files::dxf_out::CutLines;
use oddment_files::outputs::Choices;
use oddment_files::setup_sheet::Paper;
use oddment_rack::find::Loadable;
use serde::{Deserialize, Serialize};

use crate::keep::write_whole;
use crate::place::Place;

/// A person's own settings. Anything missing or out of range in the file gets its starting value.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// The place that is shown.
    pub place: Place,
    /// Dark rather than light.
    pub dark: bool,
    /// Inches rather than millimetres.
    pub inch: bool,
    /// Size of text and controls, as a percentage.
    pub size_percent: u32,
    /// Larger targets, for gloves.
    pub large_targets: bool,
    /// How far the arrow keys move a part, mm.
    pub nudge: f64,
    /// What the machine can load.
    pub loadable: Loadable,
    /// How long a fill may take, seconds.
    pub fill_seconds: u32,
    /// Folder last used for drawings and plans.
    pub folder: Option<PathBuf>,
    /// Whether the hint of the first start has been read.
    pub hint_read: bool,
    /// How files are exported.
    pub export: ExportChoices,
}

/// The least and the greatest size of text and controls, percent of the usual one.
const SIZES: (u32, u32) = (80, 200);

/// How a person wants exported files.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct ExportChoices {
    /// The parts' own lines, where the machine keeps half a kerf off and leads in by itself; not the
    /// beam's centre.
    pub as_drawn: bool,
    /// Inches rather than millimetres, in drawings and on paper.
    pub inch: bool,
    /// Letter rather than A4.
    pub letter: bool,
    /// Each part's own drawing too, turned as it lies.
    pub singles: bool,
}

impl ExportChoices {
    /// The same, for what writes the files.
    pub fn choices(self) -> Choices {
        Choices {
            unit: if self.inch { LengthUnit::Inch } else { LengthUnit::Mm },
            paper: if self.letter { Paper::Letter } else { Paper::A4 },
            lines: if self.as_drawn { CutLines::AsDrawn } else { CutLines::BeamCentre },
            singles: self.singles,
        }
    }
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            place: Place::default(),
            dark: false,
            inch: false,
            size_percent: 100,
            large_targets: false,
            nudge: 1.0,
            loadable: Loadable::default(),
            fill_seconds: 10,
            folder: None,
            hint_read: false,
            export: ExportChoices::default(),
        }
    }
}

impl Settings {
    /// Reads the settings; starting values where there are none yet.
    pub fn read(file: &Path) -> Self {
        let text = std::fs::read_to_string(file).unwrap_or_default();
        let mut read: Self = serde_json::from_str(&text).unwrap_or_default();
        read.set_size(read.size_percent);
        read.fill_seconds = read.fill_seconds.clamp(1, 3600);
        if !(read.nudge.is_finite() && read.nudge > 0.0 && read.nudge <= 1000.0) {
            read.nudge = Self::default().nudge;
        }
        read
    }

    /// Writes the settings.
    ///
    /// # Errors
    /// What the system said.
    pub fn write(&self, file: &Path) -> std::io::Result<()> {
        write_whole(file, &serde_json::to_string_pretty(self)?)
    }

    /// Makes text and controls so large (percent of the usual size), as far as that goes.
    pub fn set_size(&mut self, percent: u32) {
        self.size_percent = percent.clamp(SIZES.0, SIZES.1);
    }

    /// What lengths are typed and read in.
    pub fn unit(&self) -> LengthUnit {
        if self.inch { LengthUnit::Inch } else { LengthUnit::Mm }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nonsense_in_the_file_gets_starting_values() {
        let folder = std::env::temp_dir().join(format!("oddment-settings-{}", std::process::id()));
        let file = folder.join("settings.json");
        assert_eq!(Settings::read(&file), Settings::default());
        let mine = Settings { dark: true, nudge: 0.25, ..Settings::default() };
        mine.write(&file).unwrap();
        assert_eq!(Settings::read(&file), mine);
        std::fs::write(&file, "{\"dark\": true, \"size_percent\": 100000, \"nudge\": -1}").unwrap();
        let read = Settings::read(&file);
        assert_eq!((read.dark, read.size_percent, read.nudge), (true, 200, 1.0));
        std::fs::write(&file, "][").unwrap();
        assert_eq!(Settings::read(&file), Settings::default());
        std::fs::remove_dir_all(folder).unwrap();
    }
}
