//! A table that goes on on a further sheet where one is full.

use std::rc::Rc;

use rust_xlsxwriter::{
    ConditionalFormatText, ConditionalFormatTextRule, Format, FormatBorder, FormatUnderline, Table,
    TableColumn, TableStyle, Workbook, Worksheet,
};

use super::grid::Grid;
use super::looks::Look;
use super::{Paper, Setup};
use crate::export::ExportError;
use crate::export::columns::{Column, Holds};
use crate::export::value::Value;

/// The head of a column.
#[derive(Debug, Clone)]
pub struct Head(String);

impl Head {
    /// Of a name and what stands under it. A date in a sheet has no zone: the head tells it.
    pub fn new(name: &str, holds: Holds) -> Head {
        Head(match holds {
            Holds::Moment => format!("{name} (UTC)"),
            Holds::Local => format!("{name} (shop)"),
            _ => name.to_owned(),
        })
    }

    /// Of columns.
    pub fn of(columns: &[Column]) -> Vec<Head> {
        columns
            .iter()
            .map(|column| Head::new(column.name, column.holds))
            .collect()
    }
}

/// The sheets of one table: `Readings`, `Readings2` and so on.
pub struct Sheets {
    /// Rows in all.
    pub rows: u64,
    name: &'static str,
    heads: Vec<Head>,
    setup: Rc<Setup>,
    full: Vec<Grid>,
    open: Grid,
    /// Rows that are still to come, where that is known.
    to_come: Option<u64>,
}

impl Sheets {
    /// An empty table; where it is known how many rows it gets, a table in the spreadsheet's own sense.
    pub fn new(
        book: &mut Workbook,
        setup: &Rc<Setup>,
        name: &'static str,
        heads: Vec<Head>,
        to_come: Option<u64>,
    ) -> Result<Sheets, ExportError> {
        let open = open(book, setup, name, &heads, to_come)?;
        Ok(Sheets {
            rows: 0,
            name,
            heads,
            setup: Rc::clone(setup),
            full: Vec::new(),
            open,
            to_come,
        })
    }

    /// Writes a row.
    pub fn row<'v>(
        &mut self,
        book: &mut Workbook,
        values: impl IntoIterator<Item = Value<'v>>,
    ) -> Result<(), ExportError> {
        if self.open.row > self.setup.rows_a_sheet {
            let name = format!("{}{}", self.name, self.full.len() + 2);
            let next = open(book, &self.setup, &name, &self.heads, self.to_come)?;
            self.full.push(std::mem::replace(&mut self.open, next));
        }
        for (column, value) in (0_u16..).zip(values) {
            self.open.cell(column, &value)?;
        }
        self.open.row += 1;
        self.rows += 1;
        self.to_come = self.to_come.map(|rows| rows.saturating_sub(1));
        Ok(())
    }

    fn all(&self) -> impl Iterator<Item = &Grid> {
        self.full.iter().chain([&self.open])
    }

    /// Names of its sheets with the rows on each.
    pub fn sheets(&self) -> Vec<(String, u32)> {
        let told = |grid: &Grid| (grid.sheet.name(), grid.row - 1);
        self.all().map(told).collect()
    }

    /// How many texts had to be cut.
    pub fn cut(&self) -> u64 {
        self.all().map(|grid| grid.cut).sum()
    }

    /// Where a column stands.
    pub fn column(&self, name: &str) -> Option<u16> {
        let found = self.heads.iter().position(|head| head.0 == name)?;
        u16::try_from(found).ok()
    }

    /// Finishes its sheets and puts them into the workbook.
    pub fn push(self, book: &mut Workbook) -> Result<(), ExportError> {
        for mut grid in self.full.into_iter().chain([self.open]) {
            finish(&mut grid, &self.heads)?;
            book.push_worksheet(grid.sheet);
        }
        Ok(())
    }
}

fn open(
    book: &mut Workbook,
    setup: &Setup,
    name: &str,
    heads: &[Head],
    to_come: Option<u64>,
) -> Result<Grid, ExportError> {
    let mut sheet = book.new_worksheet_with_constant_memory()?;
    sheet.set_name(name)?;
    set_up(&mut sheet, setup)?;
    sheet.set_freeze_panes(1, 1)?;
    sheet.set_repeat_rows(0, 0)?;
    let rows = to_come.map_or(0, |rows| rows.min(u64::from(setup.rows_a_sheet)));
    if let (Ok(last @ 1..), Ok(width)) = (u32::try_from(rows), u16::try_from(heads.len())) {
        let table = native(name, heads, setup);
        sheet.add_table(0, 0, last, width - 1, &table)?;
    }
    let mut grid = Grid::new(sheet, &setup.looks, heads.len());
    grid.has_table = rows > 0;
    for (column, head) in (0_u16..).zip(heads) {
        grid.heading(column, &head.0)?;
    }
    grid.row = 1;
    Ok(grid)
}

fn native(name: &str, heads: &[Head], setup: &Setup) -> Table {
    let format = setup.looks.of(Look::Heading);
    let columns = heads.iter().map(|head| {
        let column = TableColumn::new().set_header(&head.0);
        column.set_header_format(format)
    });
    let columns: Vec<TableColumn> = columns.collect();
    Table::new()
        .set_name(format!("{name}_table"))
        .set_style(TableStyle::Light1)
        .set_columns(&columns)
}

/// What a verdict's cell is given besides its word: each can be told from the others without colour.
fn marks() -> [(&'static [&'static str], Format); 3] {
    let format = Format::new;
    [
        (
            &["FAIL", "fail"],
            format().set_bold().set_border(FormatBorder::Thin),
        ),
        (&["UNDECIDED", "undecided"], format().set_italic()),
        (
            &["HELD", "held"],
            format().set_underline(FormatUnderline::Single),
        ),
    ]
}

fn finish(grid: &mut Grid, heads: &[Head]) -> Result<(), ExportError> {
    grid.set_widths()?;
    let last = grid.row.saturating_sub(1);
    let Some(width) = u16::try_from(heads.len()).ok().filter(|width| *width > 0) else {
        return Ok(());
    };
    if !grid.has_table {
        grid.sheet.autofilter(0, 0, last, width - 1)?;
    }
    let verdicts = ["verdict", "verdict_words"];
    for (column, _) in (0_u16..)
        .zip(heads)
        .filter(|(_, head)| verdicts.contains(&head.0.as_str()))
    {
        for (words, format) in marks() {
            for word in words {
                let rule = ConditionalFormatTextRule::BeginsWith((*word).to_owned());
                let mark = ConditionalFormatText::new()
                    .set_rule(rule)
                    .set_format(&format);
                let sheet = &mut grid.sheet;
                sheet.add_conditional_format(1, column, last.max(1), column, &mark)?;
            }
        }
    }
    Ok(())
}

/// Paper, heads and feet of a sheet.
pub fn set_up(sheet: &mut Worksheet, setup: &Setup) -> Result<(), ExportError> {
    sheet.set_landscape();
    sheet.set_paper_size(match setup.paper {
        Paper::Letter => 1,
        Paper::A4 => 9,
    });
    sheet.set_print_fit_to_pages(1, 0);
    let job: String = setup.job.chars().take(60).collect();
    // `&` begins a code there.
    let job = job.replace('&', "&&");
    sheet.set_header(format!("&L{job}&R&A"));
    let (entry, hash) = &setup.head;
    let hash: String = hash.chars().take(16).collect();
    sheet.set_footer(format!(
        "&LRecord to entry {entry}, hash {hash}…&RPage &P of &N"
    ));
    Ok(())
}
