//! Columns of numbers from a file: what `overwire describe`, `chart` and `study` work on.

use std::collections::HashMap;
use std::io::Read;

use overwire_core::stats::describe::{Description, Settings};
use overwire_core::stats::{Readings, Undefined};
use overwire_core::units::Unit;

use super::{Findings, Section, Shown, Table};

/// Why a file's numbers cannot be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum NumbersError {
    /// The file is no CSV.
    #[error("this is no CSV: {0}")]
    Csv(#[from] csv::Error),
    /// There is no such column.
    #[error("there is no column `{wanted}`; the file has {known}")]
    NoColumn {
        /// Column asked for.
        wanted: String,
        /// Columns there are.
        known: String,
    },
    /// Several columns could be meant.
    #[error("say which column is meant with --column: the file has {known}")]
    WhichColumn {
        /// Columns there are.
        known: String,
    },
    /// Two columns have the name that was asked for.
    #[error("two columns are named `{name}`")]
    TwoColumns {
        /// The name.
        name: String,
    },
    /// A cell is no number.
    #[error("line {line}, column `{column}`: `{found}` is no number")]
    NoNumber {
        /// Line of the file.
        line: u64,
        /// Column.
        column: String,
        /// What stands there.
        found: String,
    },
    /// A cell that has to name something is empty.
    #[error(
        "line {line}, column `{column}`: the cell is empty, so whose number it is cannot be told"
    )]
    NoName {
        /// Line of the file.
        line: u64,
        /// Column.
        column: String,
    },
    /// Not a single number.
    #[error("column `{column}` holds no number")]
    Empty {
        /// Column.
        column: String,
    },
}

impl NumbersError {
    /// What to do next.
    pub const fn hint(&self) -> &'static str {
        match self {
            NumbersError::Csv(_) => {
                "It needs a header line, as many cells in every line, and UTF-8."
            }
            NumbersError::NoColumn { .. } => {
                "Write the column as it stands in the header line; the file needs one."
            }
            NumbersError::WhichColumn { .. } => "The first line of the file is its header.",
            NumbersError::TwoColumns { .. } => "Give each column a name of its own.",
            NumbersError::NoNumber { .. } => "With decimal commas, say --decimal-comma.",
            NumbersError::NoName { .. } => {
                "Fill it in, or leave the number beside it out; numbers of one piece stand under one name."
            }
            NumbersError::Empty { .. } => "Look at the file; is it the right column?",
        }
    }
}

/// What stands for the text of an empty cell.
const NO_NAME: &str = "(no name)";

/// A column of numbers with the text of others beside it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Column {
    /// Its name.
    pub name: String,
    /// Its numbers in the file's order, mm; empty cells are left out.
    pub mm: Vec<f64>,
    /// The text beside each number, in the order the columns were asked for.
    pub beside: Vec<Vec<String>>,
    /// The line of the file each number stands in.
    pub lines: Vec<u64>,
    /// Most decimal places of a number.
    pub places: u8,
}

/// Which columns, and how their numbers are written.
#[derive(Debug, Clone)]
pub struct Choice<'a> {
    /// Column of the numbers; none where the file has one only.
    pub column: Option<&'a str>,
    /// Columns of text beside them.
    pub beside: &'a [&'a str],
    /// Unit of the numbers.
    pub unit: Unit,
    /// Whether a comma is the decimal mark.
    pub decimal_comma: bool,
    /// What parts the cells.
    pub separator: u8,
}

/// Reads a column.
///
/// # Errors
/// The file is no CSV, has no such column, or holds something else than numbers in it.
pub fn read(file: impl Read, choice: &Choice<'_>) -> Result<Column, NumbersError> {
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(choice.separator)
        .from_reader(file);
    let header = reader.headers()?.clone();
    let at = match choice.column {
        Some(wanted) => place(&header, wanted)?,
        None if header.len() == 1 => 0,
        None => {
            return Err(NumbersError::WhichColumn {
                known: known(&header),
            });
        }
    };
    let beside = choice.beside.iter().map(|wanted| place(&header, wanted));
    let beside: Vec<usize> = beside.collect::<Result<_, _>>()?;
    let mut column = Column {
        name: header.get(at).unwrap_or_default().trim().to_owned(),
        ..Column::default()
    };
    for row in reader.records() {
        let row = row?;
        let cell = row.get(at).unwrap_or_default().trim();
        if cell.is_empty() {
            continue;
        }
        let line = row.position().map_or(0, csv::Position::line);
        column.take(cell, line, choice)?;
        let text = |at: &usize| match row.get(*at).unwrap_or_default().trim() {
            "" => NO_NAME.to_owned(),
            text => text.to_owned(),
        };
        column.beside.push(beside.iter().map(text).collect());
    }
    if column.mm.is_empty() {
        return Err(NumbersError::Empty {
            column: column.name,
        });
    }
    Ok(column)
}

fn known(header: &csv::StringRecord) -> String {
    let names: Vec<String> = header
        .iter()
        .map(|name| format!("`{}`", name.trim()))
        .collect();
    names.join(", ")
}

fn place(header: &csv::StringRecord, wanted: &str) -> Result<usize, NumbersError> {
    let mut found = header
        .iter()
        .enumerate()
        .filter(|(_, name)| name.trim() == wanted);
    match (found.next(), found.next()) {
        (Some((at, _)), None) => Ok(at),
        (Some(_), Some(_)) => Err(NumbersError::TwoColumns {
            name: wanted.to_owned(),
        }),
        (None, _) => Err(NumbersError::NoColumn {
            wanted: wanted.to_owned(),
            known: known(header),
        }),
    }
}

/// Decimal places of a number as written, also with an exponent.
fn places_of(text: &str) -> u8 {
    let (digits, exponent) = text.split_once(['e', 'E']).unwrap_or((text, "0"));
    let written = digits.split_once('.').map_or(0, |(_, places)| places.len());
    let places = written as i64 - exponent.parse::<i64>().unwrap_or(0);
    places.clamp(0, 9) as u8
}

impl Column {
    fn take(&mut self, cell: &str, line: u64, choice: &Choice<'_>) -> Result<(), NumbersError> {
        let text = match choice.decimal_comma {
            true => cell.replace(',', "."),
            false => cell.to_owned(),
        };
        let number: Option<f64> = text.parse().ok().filter(|number: &f64| number.is_finite());
        let Some(number) = number else {
            return Err(NumbersError::NoNumber {
                line,
                column: self.name.clone(),
                found: cell.chars().take(40).collect(),
            });
        };
        self.places = self.places.max(places_of(&text));
        self.mm.push(number * choice.unit.mm_per_unit());
        self.lines.push(line);
        Ok(())
    }

    /// The text of a column beside each number; nothing where no such column was asked for.
    pub fn named(&self, column: usize) -> impl Iterator<Item = &str> {
        self.beside
            .iter()
            .map(move |texts| texts.get(column).map_or("", String::as_str))
    }

    /// Whether each number has a name in the first column beside it, the one called `column`.
    ///
    /// # Errors
    /// The first cell that is empty, with its line.
    pub fn all_named(&self, column: &str) -> Result<(), NumbersError> {
        match self
            .named(0)
            .zip(&self.lines)
            .find(|(text, _)| *text == NO_NAME)
        {
            None => Ok(()),
            Some((_, line)) => Err(NumbersError::NoName {
                line: *line,
                column: column.to_owned(),
            }),
        }
    }

    /// The numbers by the text of the first column beside them, in the order the texts first come.
    pub fn groups(&self) -> Vec<(String, Vec<f64>)> {
        let mut places: HashMap<&str, usize> = HashMap::new();
        let mut groups: Vec<(String, Vec<f64>)> = Vec::new();
        for (mm, text) in self.mm.iter().zip(self.named(0)) {
            let at = *places.entry(text).or_insert(groups.len());
            match groups.get_mut(at) {
                Some((_, numbers)) => numbers.push(*mm),
                None => groups.push((text.to_owned(), vec![*mm])),
            }
        }
        groups
    }
}

/// Describes a column, group by group where it has groups.
///
/// # Errors
/// A group without a number.
pub fn describe(column: &Column, grouped: bool, shown: &Shown) -> Result<Findings, Undefined> {
    let groups = match grouped {
        true => column.groups(),
        false => vec![("all".to_owned(), column.mm.clone())],
    };
    let settings = Settings::default();
    let mut rows = Vec::new();
    for (name, numbers) in &groups {
        let readings = Readings::of_numbers(numbers)?;
        let found = Description::of(&readings, settings)?;
        rows.push(row(name, &found, shown));
    }
    let columns = [
        "group",
        "n",
        "mean",
        "standard deviation",
        "mean from",
        "to",
        "least",
        "median",
        "greatest",
        "range",
        "lower quartile",
        "upper quartile",
    ];
    Ok(Findings {
        title: format!("{} ({})", column.name, shown.unit),
        sections: vec![Section {
            heading: "Description".to_owned(),
            table: Some(Table {
                columns: columns.map(str::to_owned).to_vec(),
                rows,
            }),
            ..Section::default()
        }],
        settings: vec![settings.words()],
        ..Findings::default()
    })
}

fn row(name: &str, found: &Description, shown: &Shown) -> Vec<String> {
    let interval = found.mean_interval.as_ref();
    let end = |mm: Option<f64>| mm.map_or_else(|| "–".to_owned(), |mm| shown.fine(mm));
    vec![
        name.to_owned(),
        found.moments.count.to_string(),
        shown.fine(found.moments.mean),
        shown.figure(found.standard_deviation),
        end(interval.ok().map(|interval| interval.low)),
        end(interval.ok().map(|interval| interval.high)),
        shown.fine(found.least),
        shown.fine(found.median),
        shown.fine(found.greatest),
        shown.fine(found.range),
        shown.fine(found.lower_quartile),
        shown.fine(found.upper_quartile),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn choice(column: Option<&'static str>) -> Choice<'static> {
        Choice {
            column,
            beside: &[],
            unit: Unit::Millimetre,
            decimal_comma: false,
            separator: b',',
        }
    }

    #[test]
    fn a_column_is_found_by_its_name_and_keeps_its_places() {
        let text = "piece,d2\n1,9.712\n2,\n3,9.7305\n";
        let column = read(text.as_bytes(), &choice(Some("d2"))).unwrap();
        assert_eq!((column.mm, column.places), (vec![9.712, 9.7305], 4));
        let error = read(text.as_bytes(), &choice(None)).unwrap_err();
        assert!(error.to_string().contains("`piece`, `d2`"), "{error}");
        let error = read(text.as_bytes(), &choice(Some("D2"))).unwrap_err();
        assert!(error.to_string().contains("no column `D2`"), "{error}");
    }

    #[test]
    fn places_are_counted_with_an_exponent_too() {
        let places = ["9.71", "9.71e0", "9.7100E+01", "971e-2", "1e3"].map(places_of);
        assert_eq!(places, [2, 2, 3, 2, 0]);
    }

    #[test]
    fn what_is_no_number_is_told_with_its_line() {
        let error = read("d2\n9.7\nabout 9\n".as_bytes(), &choice(None)).unwrap_err();
        assert_eq!(
            error.to_string(),
            "line 3, column `d2`: `about 9` is no number"
        );
        let comma = Choice {
            decimal_comma: true,
            separator: b';',
            beside: &["m"],
            ..choice(Some("d2"))
        };
        let column = read("d2;m\n9,71;a\n9,72;b\n9,73;a\n".as_bytes(), &comma).unwrap();
        let groups = column.groups();
        assert_eq!(
            groups,
            [
                ("a".to_owned(), vec![9.71, 9.73]),
                ("b".to_owned(), vec![9.72])
            ]
        );
        assert!(read("d2\nNaN\n".as_bytes(), &choice(None)).is_err());
    }

    #[test]
    fn a_number_without_a_name_is_told_with_its_line() {
        let named = Choice {
            beside: &["piece"],
            ..choice(Some("d2"))
        };
        let text = "piece,d2\n1,9.71\n,9.72\n,9.73\n";
        let column = read(text.as_bytes(), &named).unwrap();
        let error = column.all_named("piece").unwrap_err();
        assert_eq!(
            error.to_string(),
            "line 3, column `piece`: the cell is empty, so whose number it is cannot be told"
        );
        let column = read("piece,d2\n1,9.71\n".as_bytes(), &named).unwrap();
        assert!(column.all_named("piece").is_ok());
    }
}
