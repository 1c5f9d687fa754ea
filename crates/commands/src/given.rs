//! What is typed after `--sheet` and `--part`: a drawing or a rectangle, and how many of it.

use std::ffi::OsStr;
use std::path::{Path, PathBuf};

use oddment_core::plan::Count;
use oddment_core::units::{LengthUnit, parse_length};
use oddment_files::job_file::MOST_COPIES;

/// A sheet as typed.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum GivenSheet {
    Drawing(PathBuf),
    /// Width and height, mm.
    Rectangle(f64, f64),
}

/// Reads `DRAWING[=COUNT]` or `2500x1250[=COUNT]`.
///
/// # Errors
/// A sentence.
pub(crate) fn sheet(text: &OsStr) -> Result<(GivenSheet, usize), String> {
    let (what, count) = split_count(text, 1, whole_number, "")?;
    match rectangle(&what).filter(|_| !Path::new(&what).exists()) {
        Some(sides) => sides.map(|(width, height)| (GivenSheet::Rectangle(width, height), count)),
        None => Ok((GivenSheet::Drawing(what.into()), count)),
    }
}

/// Reads `DRAWING[=COUNT|=max]`.
///
/// # Errors
/// A sentence.
pub(crate) fn part(text: &OsStr) -> Result<(PathBuf, Count), String> {
    let count = |text: &str| match text {
        "max" => Some(Count::Max),
        _ => whole_number(text).map(Count::Exactly),
    };
    let one = Count::Exactly(1);
    split_count(text, one, count, ", or max for as many as go in")
        .map(|(what, count)| (what.into(), count))
}

fn whole_number(text: &str) -> Option<usize> {
    text.parse().ok().filter(|n| (1..=MOST_COPIES).contains(n))
}

/// The text before the last `=`, and what `read` makes of the count after it (`one` where there is
/// none). The `=` belongs to the name where a file is called so.
fn split_count<T>(
    text: &OsStr,
    one: T,
    read: impl Fn(&str) -> Option<T>,
    or_else: &str,
) -> Result<(String, T), String> {
    let Some(text) = text.to_str() else {
        return Err("the file name is not Unicode text, so a plan could not name it; rename the \
                    file"
            .to_owned());
    };
    if text.is_empty() {
        return Err("there is no file name; write for example offcut.dxf=2".to_owned());
    }
    let Some((what, count)) = text.rsplit_once('=').filter(|_| !Path::new(text).exists()) else {
        return Ok((text.to_owned(), one));
    };
    match read(count) {
        Some(count) => Ok((what.to_owned(), count)),
        None if is_meant_as_count(count) || Path::new(what).exists() => Err(format!(
            "“{count}” is no count; write a whole number from 1 to {MOST_COPIES}{or_else}"
        )),
        None => Ok((text.to_owned(), one)),
    }
}

fn is_meant_as_count(text: &str) -> bool {
    text.is_empty() || text == "max" || text.parse::<f64>().is_ok()
}

/// Width and height of `2500x1250`, if the text is meant so.
fn rectangle(text: &str) -> Option<Result<(f64, f64), String>> {
    let (width, height) = text.split_once(['x', 'X', '×'])?;
    let side = |side: &str| parse_length(side, LengthUnit::Mm).ok();
    let (Some(w), Some(h)) = (side(width), side(height)) else {
        let odd = |side: &str| {
            let side = side.trim().trim_start_matches('-').to_ascii_lowercase();
            side.starts_with("nan") || side.starts_with("inf") || side.parse::<f64>().is_ok()
        };
        return (odd(width) && odd(height)).then(|| {
            Err("its sides are no lengths a sheet could have; write for example \
                          2500x1250"
                .to_owned())
        });
    };
    if w <= 0.0 || h <= 0.0 {
        return Some(Err(
            "a sheet needs a width and a height above 0; write for example 2500x1250".to_owned(),
        ));
    }
    // A bare number beside one in inches is hardly meant as millimetres.
    let has_unit =
        |side: &str| parse_length(side, LengthUnit::Inch) == parse_length(side, LengthUnit::Mm);
    let with_unit = if has_unit(width) { width } else { height };
    if has_unit(width) != has_unit(height) && !with_unit.trim().ends_with("mm") {
        return Some(Err(
            "one side is in inches and the other has no unit; write both, as in 100inx50in"
                .to_owned(),
        ));
    }
    Some(Ok((w, h)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet_of(text: &str) -> Result<(GivenSheet, usize), String> {
        sheet(OsStr::new(text))
    }

    #[track_caller]
    fn check_rectangle(text: &str, width: f64, height: f64, count: usize) {
        let (GivenSheet::Rectangle(w, h), n) = sheet_of(text).unwrap() else {
            panic!("{text} is taken for a drawing");
        };
        assert!((w - width).abs() < 1e-9 && (h - height).abs() < 1e-9 && n == count, "{text}");
    }

    #[test]
    fn rectangles_with_and_without_units() {
        check_rectangle("2500x1250", 2500.0, 1250.0, 1);
        check_rectangle("2500x1250=3", 2500.0, 1250.0, 3);
        check_rectangle("100inx50in", 2540.0, 1270.0, 1);
        check_rectangle("100\" x 50\"=2", 2540.0, 1270.0, 2);
        check_rectangle("2500mmx1250mm", 2500.0, 1250.0, 1);
        check_rectangle("2500x1250mm", 2500.0, 1250.0, 1);
        check_rectangle("2,5mm×1 1/2in", 2.5, 38.1, 1);
    }

    #[test]
    fn sizes_that_no_sheet_has_are_refused() {
        for text in ["0x100", "100x0", "-5x100", "nanx100", "infx5", "1e9x10", "100x50in"] {
            assert!(sheet_of(text).is_err(), "{text}");
        }
    }

    #[test]
    fn other_names_are_drawings() {
        for text in ["1250x2500.dxf", "boxes.dxf", "a=b.dxf=2", "a=b.dxf", "x"] {
            let read = sheet_of(text).unwrap().0;
            assert!(matches!(read, GivenSheet::Drawing(_)), "{text}");
        }
        let read = sheet_of("a=b.dxf=2").unwrap();
        assert_eq!(read, (GivenSheet::Drawing("a=b.dxf".into()), 2));
    }

    #[test]
    fn counts_that_are_none_are_refused() {
        for text in ["a.dxf=0", "a.dxf=-1", "a.dxf=", "a.dxf=1.5", "a.dxf=99999999999999999999"] {
            assert!(sheet_of(text).is_err(), "{text}");
            assert!(part(OsStr::new(text)).is_err(), "{text}");
        }
        assert!(sheet_of("a.dxf=max").is_err());
    }

    #[test]
    fn parts_may_be_wanted_as_many_as_go_in() {
        assert_eq!(part(OsStr::new("a.dxf=max")).unwrap(), ("a.dxf".into(), Count::Max));
        assert_eq!(part(OsStr::new("a.dxf")).unwrap(), ("a.dxf".into(), Count::Exactly(1)));
    }
}
