//! What stands for lengths, places and days in what is typed.

use oddment_core::bars::Face;
use oddment_core::units::{LengthUnit, parse_length};
use oddment_rack::crop::Line;
use oddment_rack::outline::Source;

use crate::given::{self, GivenSheet};

pub(crate) fn length(text: &str) -> Result<f64, String> {
    let mm = parse_length(text, LengthUnit::Mm).map_err(|fault| fault.to_string())?;
    if mm < 0.0 { Err(format!("“{text}” is less than nothing")) } else { Ok(mm) }
}

/// A size of pieces for the bin: not so small that cutting up never ends.
pub(crate) fn bin(text: &str) -> Result<f64, String> {
    length(text).and_then(|mm| {
        if mm >= 50.0 { Ok(mm) } else { Err(format!("“{text}” is no bin; write 50 or more")) }
    })
}

pub(crate) fn size(text: &str) -> Result<[f64; 2], String> {
    match given::sheet(text.as_ref())? {
        (GivenSheet::Rectangle(width, height), 1) => Ok([width, height]),
        _ => Err(format!("“{text}” is no size; write for example 500x400")),
    }
}

fn numbers<const N: usize>(text: &str, example: &str) -> Result<[f64; N], String> {
    let read: Vec<f64> = text
        .split(',')
        .filter_map(|n| n.trim().parse().ok())
        .filter(|n: &f64| n.is_finite() && n.abs() <= 1e6)
        .collect();
    <[f64; N]>::try_from(read)
        .map_err(|_| format!("“{text}” will not do; write for example {example}"))
}

pub(crate) fn point(text: &str) -> Result<[f64; 2], String> {
    numbers(text, "120,80")
}

pub(crate) fn pose(text: &str) -> Result<[f64; 3], String> {
    numbers(text, "12.5,-3,0.4")
}

pub(crate) fn crop_line(text: &str) -> Result<Line, String> {
    let read = text.split_once('=').and_then(|(axis, at)| {
        let at = length(at).ok()?;
        match axis.trim() {
            "X" | "x" => Some(Line::X(at)),
            "Y" | "y" => Some(Line::Y(at)),
            _ => None,
        }
    });
    read.ok_or_else(|| format!("“{text}” is no cut; write for example X=402.5"))
}

pub(crate) fn minutes(text: &str) -> Result<f64, String> {
    let read = text.parse().ok().filter(|m: &f64| (0.0..=1e6).contains(m));
    read.ok_or_else(|| format!("“{text}” is no number of minutes"))
}

pub(crate) fn source(text: &str) -> Result<Source, String> {
    text.parse()
}

pub(crate) fn pair(text: &str) -> Result<(String, String), String> {
    text.split_once('=')
        .map(|(name, label)| (name.to_owned(), label.to_owned()))
        .ok_or_else(|| format!("“{text}” names no label; write for example 2500x1250=R-0147"))
}

/// A face of a bar.
pub(super) fn face(text: &str) -> Result<Face, String> {
    Face::named(text)
        .ok_or_else(|| format!("“{text}” is no face; write top, bottom, front or back"))
}
