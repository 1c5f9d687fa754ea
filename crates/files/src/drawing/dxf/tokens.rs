//! The pairs of group code and value that a DXF file is made of, in ASCII and binary.
//!
//! Our own reading rather than the crate `dxf` (0.6.2), which fails the whole file for one bad
//! value it does not need, can't read files with bare carriage returns, takes NaN for a number,
//! drops the layers' frozen flag and panics on some damaged dates.

use std::borrow::Cow;

use super::super::DrawingFault;

/// The first bytes of a binary DXF.
pub(in super::super) const BINARY_MARK: &[u8] = b"AutoCAD Binary DXF";

/// Length of the binary mark with its line end and terminator.
const BINARY_HEAD: usize = 22;

/// Coordinates beyond this are damage, not drawing: a thousand kilometres in mm.
const FARTHEST: f64 = 1e9;

/// One group code with its value.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pair<'a> {
    pub(super) code: i32,
    value: Value<'a>,
    place: Place,
}

#[derive(Clone, Copy, Debug)]
enum Value<'a> {
    Text(&'a [u8]),
    Real(f64),
    Whole(i64),
}

/// Where a pair stands in its file.
#[derive(Clone, Copy, Debug)]
enum Place {
    Line(usize),
    Byte(usize),
}

impl Place {
    fn fault(self, what: impl Into<String>) -> DrawingFault {
        let place = match self {
            Self::Line(line) => format!("line {line}"),
            Self::Byte(byte) => format!("byte {byte}"),
        };
        DrawingFault::Broken { place, what: what.into() }
    }
}

impl<'a> Pair<'a> {
    /// Whether this is the pair `code` with this text.
    pub(super) fn is(&self, code: i32, text: &str) -> bool {
        self.code == code && self.bytes().eq_ignore_ascii_case(text.as_bytes())
    }

    /// The value's bytes, without the space around them; empty for a binary number.
    pub(super) fn bytes(&self) -> &'a [u8] {
        match self.value {
            Value::Text(text) => text.trim_ascii(),
            Value::Real(_) | Value::Whole(_) => b"",
        }
    }

    /// The value as text. Bytes that are not UTF-8 are read as Latin-1: names of old code pages
    /// look wrong then, but stay different from each other. `\U+XXXX` is resolved.
    pub(super) fn text(&self) -> String {
        let bytes = self.bytes();
        let text: Cow<'_, str> = match std::str::from_utf8(bytes) {
            Ok(text) => text.into(),
            Err(_) => bytes.iter().map(|b| char::from(*b)).collect::<String>().into(),
        };
        let mut parts = text.split("\\U+");
        let mut out = parts.next().unwrap_or_default().to_owned();
        for part in parts {
            let digits = part.get(..4);
            match digits.and_then(|d| u32::from_str_radix(d, 16).ok()).and_then(char::from_u32) {
                Some(letter) => {
                    out.push(letter);
                    out.push_str(&part[4..]);
                }
                None => {
                    out.push_str("\\U+");
                    out.push_str(part);
                }
            }
        }
        out
    }

    /// The value as a number, and whether it was written with a decimal comma.
    pub(super) fn real(&self) -> Result<(f64, bool), DrawingFault> {
        let (value, comma) = match self.value {
            Value::Real(value) => (value, false),
            Value::Whole(value) => (value as f64, false),
            Value::Text(text) => {
                let text = text.trim_ascii();
                let plain = std::str::from_utf8(text).ok().and_then(|t| t.parse().ok());
                match plain {
                    Some(value) => (value, false),
                    None => (self.with_comma(text)?, true),
                }
            }
        };
        if value.is_finite() && value.abs() <= FARTHEST {
            Ok((value, comma))
        } else {
            Err(self.fault(format!("{value} can't be a length or an angle")))
        }
    }

    fn with_comma(&self, text: &[u8]) -> Result<f64, DrawingFault> {
        let shown = String::from_utf8_lossy(&text[..text.len().min(40)]).into_owned();
        let commas = text.iter().filter(|b| **b == b',').count();
        let number = if commas == 1 { shown.replace(',', ".").parse().ok() } else { None };
        number.ok_or_else(|| self.fault(format!("a number belongs here, not “{shown}”")))
    }

    /// The value as a whole number; 0 where it is none, since flags are all it is used for.
    pub(super) fn whole(&self) -> i64 {
        match self.value {
            Value::Whole(value) => value,
            Value::Real(value) => value as i64,
            Value::Text(_) => {
                std::str::from_utf8(self.bytes()).ok().and_then(|t| t.parse().ok()).unwrap_or(0)
            }
        }
    }

    /// A fault at this pair.
    pub(super) fn fault(&self, what: impl Into<String>) -> DrawingFault {
        self.place.fault(what)
    }
}

/// Runs through the pairs of a file, leaving comments out.
pub(super) struct Pairs<'a> {
    bytes: &'a [u8],
    at: usize,
    line: usize,
    form: Form,
}

#[derive(Clone, Copy)]
enum Form {
    /// The byte that ends a line.
    Ascii(u8),
    /// Whether group codes take two bytes (all versions but R12).
    Binary { wide: bool },
}

impl<'a> Pairs<'a> {
    pub(super) fn new(bytes: &'a [u8]) -> Self {
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        if bytes.starts_with(BINARY_MARK) {
            let at = BINARY_HEAD.min(bytes.len());
            // The first pair is (0, "SECTION"): its code's second byte tells the width.
            let wide = bytes.get(at + 1) == Some(&0);
            return Self { bytes, at, line: 0, form: Form::Binary { wide } };
        }
        let end = if bytes.contains(&b'\n') { b'\n' } else { b'\r' };
        Self { bytes, at: 0, line: 0, form: Form::Ascii(end) }
    }

    /// The next pair; `None` at the end of the file.
    pub(super) fn next(&mut self) -> Result<Option<Pair<'a>>, DrawingFault> {
        loop {
            let pair = match self.form {
                Form::Ascii(end) => self.next_ascii(end)?,
                Form::Binary { wide } => self.next_binary(wide)?,
            };
            if pair.is_none_or(|p| p.code != 999) {
                return Ok(pair);
            }
        }
    }

    /// A fault at the end of what was read.
    pub(super) fn fault(&self, what: impl Into<String>) -> DrawingFault {
        self.place().fault(what)
    }

    fn place(&self) -> Place {
        match self.form {
            Form::Ascii(_) => Place::Line(self.line),
            Form::Binary { .. } => Place::Byte(self.at),
        }
    }

    fn next_ascii(&mut self, end: u8) -> Result<Option<Pair<'a>>, DrawingFault> {
        let Some(code) = self.next_line(end) else { return Ok(None) };
        let code = code.trim_ascii();
        // Blank lines, and the Ctrl-Z of old systems, may follow the last pair.
        if matches!(code, b"" | b"\x1a") && self.bytes[self.at..].trim_ascii().is_empty() {
            return Ok(None);
        }
        let number = std::str::from_utf8(code).ok().and_then(|t| t.parse::<i32>().ok());
        let place = self.place();
        let Some(code) = number else {
            let shown = String::from_utf8_lossy(&code[..code.len().min(40)]);
            return Err(place.fault(format!("a group code belongs here, not “{shown}”")));
        };
        let Some(value) = self.next_line(end) else {
            return Err(place.fault("the file ends in the middle of a pair"));
        };
        Ok(Some(Pair { code, value: Value::Text(value), place }))
    }

    fn next_line(&mut self, end: u8) -> Option<&'a [u8]> {
        let rest = self.bytes.get(self.at..).filter(|rest| !rest.is_empty())?;
        let length = rest.iter().position(|b| *b == end).unwrap_or(rest.len());
        self.at += length + 1;
        self.at = self.at.min(self.bytes.len());
        self.line += 1;
        Some(&rest[..length])
    }

    fn next_binary(&mut self, wide: bool) -> Result<Option<Pair<'a>>, DrawingFault> {
        if self.at >= self.bytes.len() {
            return Ok(None);
        }
        let place = self.place();
        let mut code = if wide {
            i32::from(i16::from_le_bytes(self.take()?))
        } else {
            i32::from(u8::from_le_bytes(self.take()?))
        };
        if !wide && code == 255 {
            code = i32::from(i16::from_le_bytes(self.take()?));
        }
        let value = match code {
            10..=59 | 110..=149 | 210..=239 | 460..=469 | 1010..=1059 => {
                Value::Real(f64::from_le_bytes(self.take()?))
            }
            60..=79 | 170..=179 | 270..=289 | 370..=389 | 400..=409 | 1060..=1070 => {
                Value::Whole(i64::from(i16::from_le_bytes(self.take()?)))
            }
            90..=99 | 420..=429 | 440..=459 | 1071 => {
                Value::Whole(i64::from(i32::from_le_bytes(self.take()?)))
            }
            160..=169 => Value::Whole(i64::from_le_bytes(self.take()?)),
            290..=299 => Value::Whole(i64::from(u8::from_le_bytes(self.take()?))),
            310..=319 | 1004 => {
                let [length] = self.take::<1>()?;
                Value::Text(self.slice(usize::from(length))?)
            }
            0..=9
            | 100..=109
            | 300..=309
            | 320..=369
            | 390..=399
            | 410..=419
            | 430..=439
            | 470..=481
            | 999..=1009 => {
                let rest = &self.bytes[self.at..];
                let length = rest
                    .iter()
                    .position(|b| *b == 0)
                    .ok_or_else(|| self.fault("the file ends in the middle of a text"))?;
                self.at += length + 1;
                Value::Text(&rest[..length])
            }
            _ => return Err(place.fault(format!("there is no group code {code}"))),
        };
        Ok(Some(Pair { code, value, place }))
    }

    fn slice(&mut self, length: usize) -> Result<&'a [u8], DrawingFault> {
        let slice = self.bytes.get(self.at..self.at + length);
        let slice = slice.ok_or_else(|| self.fault("the file ends in the middle of a pair"))?;
        self.at += length;
        Ok(slice)
    }

    fn take<const N: usize>(&mut self) -> Result<[u8; N], DrawingFault> {
        let slice = self.slice(N)?;
        slice.try_into().map_err(|_| self.fault("the file ends in the middle of a pair"))
    }
}
