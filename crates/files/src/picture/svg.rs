//! Pictures as SVG.

use std::fmt::Write as _;

use super::page_path::Step;
use super::{Anchor, Colour, Item, PagePath, Picture, Stroke, Text};

/// The picture as an SVG file. Its texts stay texts, in a sans-serif font of the reader's.
pub fn svg(picture: &Picture) -> String {
    let (w, h) = (short(picture.width), short(picture.height));
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}pt\" height=\"{h}pt\" viewBox=\"0 0 {w} {h}\">\n"
    );
    for item in &picture.items {
        match item {
            Item::Shape { path, fill, stroke } => draw(&mut out, path, *fill, *stroke),
            Item::Text(text) => write_text(&mut out, text),
        }
    }
    out + "</svg>\n"
}

// Writing to a text can't fail, hence `let _` below.

fn draw(out: &mut String, path: &PagePath, fill: Option<Colour>, stroke: Option<Stroke>) {
    let fill = fill.map_or_else(|| "none".to_owned(), hex);
    let _ = write!(out, "<path fill=\"{fill}\" fill-rule=\"evenodd\"");
    if let Some(stroke) = stroke {
        let _ = write!(
            out,
            " stroke=\"{}\" stroke-width=\"{}\" stroke-linejoin=\"round\"",
            hex(stroke.colour),
            short(stroke.width)
        );
        if let Some([dash, gap]) = stroke.dash {
            let _ = write!(out, " stroke-dasharray=\"{} {}\"", short(dash), short(gap));
        }
    }
    out.push_str(" d=\"");
    for step in &path.steps {
        let _ = match *step {
            Step::Move(p) => write!(out, "M{} {}", short(p.x), short(p.y)),
            Step::Line(p) => write!(out, "L{} {}", short(p.x), short(p.y)),
            Step::Curve(a, b, p) => {
                let numbers = [a.x, a.y, b.x, b.y, p.x, p.y].map(short);
                write!(out, "C{}", numbers.join(" "))
            }
            Step::Close => write!(out, "Z"),
        };
    }
    out.push_str("\"/>\n");
}

fn write_text(out: &mut String, text: &Text) {
    let anchor = match text.anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    let _ = writeln!(
        out,
        "<text x=\"{}\" y=\"{}\" font-family=\"IBM Plex Sans, sans-serif\" font-size=\"{}\" \
         font-weight=\"{}\" text-anchor=\"{anchor}\" fill=\"{}\">{}</text>",
        short(text.at.x),
        short(text.at.y),
        short(text.size),
        if text.bold { "600" } else { "normal" },
        hex(text.colour),
        escaped(&text.text)
    );
}

fn hex(c: Colour) -> String {
    format!("#{:02x}{:02x}{:02x}", c.0, c.1, c.2)
}

/// A number of points with three decimals at most.
fn short(number: f64) -> String {
    let text = format!("{number:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Text as XML takes it; control characters, which it does not take, become blanks.
fn escaped(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '&' => "&amp;".to_owned(),
            '<' => "&lt;".to_owned(),
            '>' => "&gt;".to_owned(),
            c if c.is_control() => " ".to_owned(),
            c => c.to_string(),
        })
        .collect()
}
