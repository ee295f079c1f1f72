//! Texts made safe for HTML, and tables. Whatever a person or a device wrote passes through [`free`].

use crate::sheet::{escape, printable};

/// A text of this program's own.
pub fn plain(text: &str) -> String {
    escape(text)
}

/// A text that a person or a device wrote: kept as text, and its direction kept to itself. A dash for none.
pub fn free(text: &str) -> String {
    match text {
        "" => "–".to_owned(),
        text => format!("<bdi>{}</bdi>", escape(text)),
    }
}

/// A moment, never broken over two lines.
pub fn time(text: &str) -> String {
    format!("<span class=\"time\">{}</span>", escape(text))
}

/// A string of a style sheet: anything but plain letters and digits is written by its number.
pub fn style_string(text: &str) -> String {
    let mut safe = String::from("\"");
    for character in text.chars().map(printable) {
        match character {
            ' ' | '.' | ',' | ':' | '-' | '+' => safe.push(character),
            character if character.is_ascii_alphanumeric() => safe.push(character),
            character => safe.push_str(&format!("\\{:x} ", u32::from(character))),
        }
    }
    safe.push('"');
    safe
}

/// The beginning of a text that may be long.
pub fn beginning(text: &str, most: usize) -> String {
    match text.char_indices().nth(most) {
        None => text.to_owned(),
        Some((at, _)) => format!("{}…", text.get(..at).unwrap_or_default()),
    }
}

/// A paragraph of ready HTML.
pub fn paragraph(html: &str) -> String {
    format!("<p>{html}</p>\n")
}

/// Sentences of this program's own as a list; nothing for none.
pub fn list(sentences: &[String]) -> String {
    let items: String = sentences
        .iter()
        .map(|sentence| format!("<li>{sentence}</li>\n"))
        .collect();
    match items.is_empty() {
        true => items,
        false => format!("<ul>\n{items}</ul>\n"),
    }
}

/// Pairs of a name and ready HTML.
pub fn facts(pairs: &[(&str, String)]) -> String {
    let rows: String = pairs
        .iter()
        .map(|(name, said)| format!("<div><dt>{}</dt><dd>{said}</dd></div>\n", plain(name)))
        .collect();
    format!("<dl class=\"facts\">\n{rows}</dl>\n")
}

/// A table that grows row by row. Cells are ready HTML; the first of a row is its head.
#[derive(Debug)]
pub struct Table {
    html: String,
    columns: Vec<String>,
    in_row: bool,
}

impl Table {
    /// Begins one, with the class that sets its widths, its caption (ready HTML) and its columns' names.
    pub fn new(class: &str, caption: &str, columns: &[&str]) -> Table {
        let heads: String = columns
            .iter()
            .map(|name| format!("<th scope=\"col\">{}</th>", plain(name)))
            .collect();
        Table {
            html: format!(
                "<table class=\"{class}\">\n<caption>{caption}</caption>\n<thead><tr>{heads}</tr></thead>\n"
            ),
            columns: columns.iter().map(|name| plain(name)).collect(),
            in_row: false,
        }
    }

    /// Adds a row.
    pub fn row(&mut self, cells: &[String]) {
        self.close_row();
        self.html.push_str("<tbody><tr>");
        for (index, cell) in cells.iter().enumerate() {
            // On a narrow screen every cell names its column itself.
            let head = self.columns.get(index).map_or("", String::as_str);
            let cell = match index {
                0 => format!("<th scope=\"row\" data-head=\"{head}\">{cell}</th>"),
                _ => format!("<td data-head=\"{head}\">{cell}</td>"),
            };
            self.html.push_str(&cell);
        }
        self.html.push_str("</tr>\n");
        self.in_row = true;
    }

    /// Adds a remark under the last row, over the whole width.
    pub fn remark(&mut self, html: &str) {
        let columns = self.columns.len();
        self.html.push_str(&format!(
            "<tr class=\"remark\"><td colspan=\"{columns}\">{html}</td></tr>\n"
        ));
    }

    fn close_row(&mut self) {
        if std::mem::take(&mut self.in_row) {
            self.html.push_str("</tbody>\n");
        }
    }

    /// The whole table.
    pub fn end(mut self) -> String {
        self.close_row();
        self.html + "</table>\n"
    }
}
