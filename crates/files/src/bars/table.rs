//! A table of parts, pasted or from a CSV file: columns are found by their headings or, without
//! any, by what stands in them.

use oddment_core::bars::Wanted;
use oddment_core::units::{LengthUnit, parse_length};

use super::profiles::is_same_name;

/// Rows of a table at most.
const MOST_ROWS: usize = 10_000;

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Column {
    /// What the part is called.
    Name,
    /// Its length.
    Length,
    /// How many.
    Count,
    /// Of which profile it is; all must be of one.
    Profile,
    /// What it is made of; all must be of one.
    Material,
    /// Bars with parts of a higher one are cut first.
    Priority,
    /// The angle of its first or second end from square, degrees.
    End(usize),
}

/// A table as it was understood, to be shown before it is taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// What each column was taken for; `None` where it is left out.
    pub columns: Vec<Option<Column>>,
    /// Whether the first row was taken for headings.
    pub headed: bool,
    /// The unit of bare numbers.
    pub unit: LengthUnit,
    /// The profile that all parts are of, where the table says it.
    pub profile: Option<String>,
    /// The material that all parts are of, where the table says it.
    pub material: Option<String>,
    /// The parts, each with the line it stands in, from 1.
    pub parts: Vec<(usize, Wanted)>,
    /// What is wrong.
    pub faults: Vec<RowFault>,
}

/// What is wrong with a row.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {what}")]
pub struct RowFault {
    /// Which line of the text, from 1.
    pub line: usize,
    /// What is wrong and what to do.
    pub what: String,
}

/// Reads a table of parts. Bare numbers are in `unit`, unless the heading of the lengths names
/// another.
pub fn read_table(text: &str, unit: LengthUnit) -> Table {
    let text = text.trim_start_matches('\u{feff}');
    let lines = text.lines().enumerate().map(|(i, line)| (i + 1, line));
    let lines: Vec<_> = lines.filter(|(_, line)| !line.trim().is_empty()).collect();
    let separator = separator(&lines);
    let mut rows: Vec<(usize, Vec<String>)> =
        lines.iter().map(|(n, line)| (*n, cells(line, separator))).collect();
    let mut table = Table {
        columns: Vec::new(),
        headed: false,
        unit,
        profile: None,
        material: None,
        parts: Vec::new(),
        faults: Vec::new(),
    };
    if rows.len() > MOST_ROWS {
        let what = format!("there are more than {MOST_ROWS} rows; split the table");
        table.faults.push(RowFault { line: rows[MOST_ROWS].0, what });
        return table;
    }
    let Some((_, first)) = rows.first() else {
        let what = "the table is empty; give a row for each part: length, count".to_owned();
        table.faults.push(RowFault { line: 1, what });
        return table;
    };
    let mut unit_is_said = false;
    let named: Vec<Option<Column>> = first.iter().map(|cell| by_heading(cell)).collect();
    table.headed = named.contains(&Some(Column::Length));
    // Headings in words that are not known are none the less no part.
    let of_words = |row: &[String]| row.iter().all(|cell| !cell.starts_with(is_of_number));
    let unread = !table.headed && rows.len() > 1 && of_words(first);
    let heads = if table.headed || unread { rows.remove(0).1 } else { Vec::new() };
    table.columns = if table.headed { named } else { by_content(&rows) };
    let heading = heads.iter().zip(&table.columns).find(|(_, c)| **c == Some(Column::Length));
    if let Some(said) = heading.and_then(|(cell, _)| unit_in(cell)) {
        (unit_is_said, table.unit) = (true, said);
    }
    if !table.columns.contains(&Some(Column::Length)) {
        let what = "no column of lengths was found; head one with “length”".to_owned();
        table.faults.push(RowFault { line: lines[0].0, what });
        return table;
    }
    if !unit_is_said {
        units_mixed(&rows, &mut table);
    }
    let (columns, faults) = (&table.columns, &mut table.faults);
    table.profile = one_of(&rows, columns, Column::Profile, "profile", faults);
    table.material = one_of(&rows, columns, Column::Material, "material", faults);
    for (line, row) in &rows {
        match part(row, &table.columns, table.unit) {
            Ok(part) => table.parts.push((*line, part)),
            Err(what) => table.faults.push(RowFault { line: *line, what }),
        }
    }
    table
}

/// The cells of a column that are filled in, each with its line.
fn column<'a>(
    rows: &'a [(usize, Vec<String>)],
    columns: &[Option<Column>],
    wanted: Column,
) -> Vec<(usize, &'a str)> {
    let Some(at) = columns.iter().position(|c| *c == Some(wanted)) else { return Vec::new() };
    let cells = rows.iter().filter_map(|(line, row)| Some((*line, row.get(at)?.as_str())));
    cells.filter(|(_, cell)| !cell.is_empty()).collect()
}

/// Bare numbers among lengths that say another unit than bare numbers are taken to be in.
fn units_mixed(rows: &[(usize, Vec<String>)], table: &mut Table) {
    let cells = column(rows, &table.columns, Column::Length);
    let other = cells.iter().find_map(|(line, cell)| {
        let said = unit_in(cell.trim_start_matches(|c: char| !c.is_alphabetic() && c != '"'))?;
        (said != table.unit).then_some((*line, said))
    });
    let Some((first, other)) = other else { return };
    let bare = |cell: &str| !cell.chars().any(|c| c.is_alphabetic() || matches!(c, '"' | '\''));
    for (line, cell) in cells.iter().filter(|(_, cell)| bare(cell)) {
        let what = format!(
            "“{cell}” has no unit, and line {first} says {other}; write its unit, as in {cell} {other}"
        );
        table.faults.push(RowFault { line: *line, what });
    }
}

/// What the first row with something in this column says; all others must say the same.
fn one_of(
    rows: &[(usize, Vec<String>)],
    columns: &[Option<Column>],
    wanted: Column,
    called: &str,
    faults: &mut Vec<RowFault>,
) -> Option<String> {
    let cells = column(rows, columns, wanted);
    let (first, said) = cells.first()?;
    for (line, other) in cells.iter().filter(|(_, other)| !is_same_name(said, other)) {
        let what = format!(
            "this is of {other}, line {first} is of {said}; plan each {called} in a list of its own"
        );
        faults.push(RowFault { line: *line, what });
    }
    Some((*said).to_owned())
}

/// Tab, semicolon or comma: the one that stands in the most lines equally often.
fn separator(lines: &[(usize, &str)]) -> char {
    let often = |c: char| lines.iter().filter(|(_, line)| line.contains(c)).count();
    ['\t', ';', ','].into_iter().find(|c| often(*c) * 2 > lines.len()).unwrap_or(',')
}

/// The cells of a line; quotes hold a cell together and are doubled inside it. A quote that stands
/// in the middle of a cell is an inch mark.
fn cells(line: &str, separator: char) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    let mut letters = line.chars().peekable();
    while let Some(letter) = letters.next() {
        let cell_is_empty = cells.last().is_some_and(|cell| cell.trim().is_empty());
        if quoted && letter == '"' {
            if letters.peek() == Some(&'"') {
                letters.next();
            } else {
                quoted = false;
                continue;
            }
        } else if !quoted && letter == '"' && cell_is_empty {
            quoted = true;
            continue;
        } else if !quoted && letter == separator {
            cells.push(String::new());
            continue;
        }
        if let Some(cell) = cells.last_mut() {
            cell.push(letter);
        }
    }
    cells.into_iter().map(|cell| cell.trim().to_owned()).collect()
}

/// Words that head a column, in the languages that cut lists are handed on in: English, German,
/// French, Italian, Spanish, Dutch.
const HEADINGS: [(Column, &[&str]); 6] = [
    (
        Column::Length,
        &[
            "length",
            "len",
            "long",
            "size",
            "l",
            "länge",
            "laenge",
            "longueur",
            "lunghezza",
            "longitud",
            "largo",
            "lengte",
        ],
    ),
    (
        Column::Profile,
        &["profile", "section", "profil", "querschnitt", "profilo", "perfil", "profiel"],
    ),
    (Column::Material, &["material", "grade", "werkstoff", "matière", "materiale", "materiaal"]),
    (Column::Priority, &["priority", "prio", "priorität", "priorité", "priorità", "prioridad"]),
    (
        Column::Name,
        &[
            "name",
            "part",
            "mark",
            "item",
            "description",
            "bezeichnung",
            "benennung",
            "teil",
            "désignation",
            "repère",
            "descrizione",
            "descripción",
            "omschrijving",
        ],
    ),
    (
        Column::Count,
        &[
            "count",
            "qty",
            "quantity",
            "pcs",
            "pieces",
            "number",
            "no",
            "n",
            "anzahl",
            "menge",
            "stk",
            "stück",
            "stueck",
            "quantité",
            "qté",
            "quantità",
            "cantidad",
            "aantal",
        ],
    ),
];

const ANGLES: &[&str] =
    &["angle", "mitre", "miter", "end", "winkel", "gehrung", "angolo", "ángulo", "hoek"];
const SECOND: &[&str] =
    &["2", "b", "second", "right", "far", "rechts", "droite", "destra", "derecha"];

fn by_heading(cell: &str) -> Option<Column> {
    let lower = cell.to_lowercase();
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).collect();
    let any = |known: &[&str]| words.iter().any(|word| known.contains(word));
    let found = HEADINGS.iter().find(|(_, known)| any(known)).map(|(column, _)| *column);
    found.or_else(|| {
        let ends = lower.starts_with("angle") || any(ANGLES);
        ends.then(|| Column::End(usize::from(any(SECOND) || lower.contains("angle2"))))
    })
}

/// What a number begins with.
fn is_of_number(c: char) -> bool {
    c.is_ascii_digit() || matches!(c, '-' | '+' | '.' | ',')
}

fn unit_in(heading: &str) -> Option<LengthUnit> {
    let lower = heading.to_lowercase();
    let mut words = lower.split(|c: char| !c.is_alphanumeric() && c != '"');
    words.find_map(|word| match word {
        "mm" => Some(LengthUnit::Mm),
        "in" | "inch" | "inches" | "\"" => Some(LengthUnit::Inch),
        _ => None,
    })
}

/// Without headings: of the columns mostly of numbers, the one with the greatest is lengths and the
/// first other one of whole numbers counts; the first column of words is names.
fn by_content(rows: &[(usize, Vec<String>)]) -> Vec<Option<Column>> {
    let width = rows.iter().map(|(_, row)| row.len()).max().unwrap_or(0);
    let numbers = |column: usize| -> Option<Vec<f64>> {
        let cells = rows.iter().filter_map(|(_, row)| row.get(column));
        let read: Vec<f64> =
            cells.filter_map(|cell| parse_length(cell, LengthUnit::Mm).ok()).collect();
        (2 * read.len() > rows.len()).then_some(read)
    };
    let sums: Vec<Option<f64>> =
        (0..width).map(|c| numbers(c).map(|numbers| numbers.iter().sum())).collect();
    let mut columns = vec![None; width];
    let most = (0..width).filter(|c| sums[*c].is_some());
    let Some(length) =
        most.max_by(|a, b| sums[*a].partial_cmp(&sums[*b]).unwrap_or(std::cmp::Ordering::Equal))
    else {
        return columns;
    };
    columns[length] = Some(Column::Length);
    let whole = |c: &usize| {
        *c != length && numbers(*c).is_some_and(|n| n.iter().all(|x| x.fract() == 0.0 && *x >= 0.0))
    };
    if let Some(count) = (0..width).find(whole) {
        columns[count] = Some(Column::Count);
    }
    if let Some(name) = (0..width).find(|c| sums[*c].is_none()) {
        columns[name] = Some(Column::Name);
    }
    columns
}

fn part(row: &[String], columns: &[Option<Column>], unit: LengthUnit) -> Result<Wanted, String> {
    let mut part = Wanted { count: 1, ..Wanted::default() };
    for (cell, column) in row.iter().zip(columns) {
        match column {
            Some(Column::Name) => part.name.clone_from(cell),
            Some(Column::Length) => {
                part.length = parse_length(cell, unit).map_err(|fault| fault.to_string())?;
            }
            Some(Column::Count) if !cell.is_empty() => {
                let count = cell.parse::<f64>().ok().filter(|n| n.fract() == 0.0 && *n >= 0.0);
                let count = count.filter(|n| *n <= 1e6).map(|n| n as usize);
                part.count = count.ok_or_else(|| {
                    format!("“{cell}” is no count; write a whole number of 0 or more")
                })?;
            }
            Some(Column::Priority) if !cell.is_empty() => {
                part.priority = cell.parse().map_err(|_| {
                    format!("“{cell}” is no priority; write a whole number of 0 or more")
                })?;
            }
            Some(Column::End(end)) if !cell.is_empty() => {
                let degrees = cell.trim_end_matches('°').trim().parse::<f64>().ok();
                let degrees = degrees.filter(|d| d.is_finite()).ok_or_else(|| {
                    format!("“{cell}” is no angle; write degrees from square, as in 45")
                })?;
                part.ends[*end] = degrees.to_radians();
            }
            _ => {}
        }
    }
    if part.length == 0.0 {
        return Err("the length is missing or 0; give one".to_owned());
    }
    Ok(part)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, wanted: &[(&str, f64, usize)]) -> Table {
        let table = read_table(text, LengthUnit::Mm);
        assert_eq!(table.faults, []);
        assert_eq!(table.parts.len(), wanted.len(), "{table:?}");
        for ((_, part), (name, length, count)) in table.parts.iter().zip(wanted) {
            assert_eq!((part.name.as_str(), part.count), (*name, *count));
            assert!((part.length - length).abs() < 1e-9, "{part:?}");
        }
        table
    }

    #[test]
    fn tables_as_people_paste_them() {
        check(
            "Part,Length,Qty\nrail,712,8\n\"post, long\",1200.5,4\n",
            &[("rail", 712.0, 8), ("post, long", 1200.5, 4)],
        );
        check("712;8\n1200,5;4\n", &[("", 712.0, 8), ("", 1200.5, 4)]);
        check("8\t712\trail\n4\t1200\tpost\n", &[("rail", 712.0, 8), ("post", 1200.0, 4)]);
        check("712\n600\n", &[("", 712.0, 1), ("", 600.0, 1)]);
        let inches =
            check("qty,length (in)\n2,10\n3,\"1/2\"\"\"\n", &[("", 254.0, 2), ("", 12.7, 3)]);
        assert_eq!(inches.unit, LengthUnit::Inch);
        check("23 5/8in,4\n10mm,2\n", &[("", 600.075, 4), ("", 10.0, 2)]);
        let mitred = check("length;count;angle 1;angle 2\n500;2;45;30°\n", &[("", 500.0, 2)]);
        let ends = mitred.parts[0].1.ends.map(f64::to_degrees);
        assert!((ends[0] - 45.0).abs() < 1e-9 && (ends[1] - 30.0).abs() < 1e-9, "{ends:?}");
    }

    #[test]
    fn mixed_units_and_profiles_are_told_by_their_lines() {
        let said = |text: &str| {
            let faults = read_table(text, LengthUnit::Mm).faults;
            faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
        };
        let units = said("length,count\n24in,2\n600,1\n18 1/2\",1\n");
        assert!(units.starts_with("line 3: “600” has no unit, and line 2 says in;"), "{units}");
        assert!(!units.contains('\n'), "{units}");
        assert_eq!(said("length (mm),count\n24in,2\n600,1\n"), "");
        let profiles = said("profile,length\nFlat 20x5,100\nflat 20 × 5,90\nFlat 30 × 5,80\n");
        assert!(profiles.starts_with("line 4: this is of Flat 30 × 5, line 2"), "{profiles}");
        assert!(!profiles.contains('\n'), "{profiles}");
    }

    #[test]
    fn headings_of_other_languages_and_unknown_ones_are_no_parts() {
        let german = check(
            "Pos;Stk;Bezeichnung;Länge (mm);Winkel links;Winkel rechts;Werkstoff;Prio\n\
             1;4;Holm;1180,5;45;30;S235;2\n2;3;Quer;560;;;s 235;\n",
            &[("Holm", 1180.5, 4), ("Quer", 560.0, 3)],
        );
        let first = &german.parts[0].1;
        assert!((first.ends[0].to_degrees() - 45.0).abs() < 1e-9, "{first:?}");
        assert!((first.ends[1].to_degrees() - 30.0).abs() < 1e-9, "{first:?}");
        assert_eq!((first.priority, german.material.as_deref()), (2, Some("S235")));
        // A row of words that says nothing to us heads the rows below it, and its unit counts.
        let unknown = check("kpl;pituus in\n4;10\n2;20\n", &[("", 254.0, 4), ("", 508.0, 2)]);
        assert!(!unknown.headed);
        let mixed = read_table("length,material\n500,S235\n400,5754\n", LengthUnit::Mm);
        assert!(mixed.faults[0].to_string().starts_with("line 3: this is of 5754, line 2"));
    }

    #[test]
    fn one_bad_cell_does_not_hide_a_column() {
        let table = read_table("712;8;rail\n600;4;post\nlong;2;stay\n", LengthUnit::Mm);
        assert_eq!(table.parts.len(), 2);
        assert_eq!(table.faults.iter().map(|f| f.line).collect::<Vec<_>>(), [3]);
    }

    #[test]
    fn every_bad_row_is_named() {
        let table = read_table("length,count\nabc,1\n100,1.5\n,3\n200,2\n", LengthUnit::Mm);
        let lines: Vec<usize> = table.faults.iter().map(|f| f.line).collect();
        assert_eq!(lines, [2, 3, 4]);
        assert_eq!(table.parts.len(), 1);
        assert!(!read_table("", LengthUnit::Mm).faults.is_empty());
        assert!(
            read_table("rail,post\nfoot,arm\n", LengthUnit::Mm).faults[0]
                .what
                .contains("no column of lengths")
        );
    }
}
