//! Reads a picture back: a parser for the small part of XML that pictures are written in. It
//! accepts nothing that is not well formed.

use std::collections::HashMap;

/// An element with its attributes and the text directly in it.
#[derive(Debug, Clone)]
pub(super) struct Element {
    pub(super) name: String,
    attributes: HashMap<String, String>,
    pub(super) text: String,
}

impl Element {
    pub(super) fn attribute(&self, name: &str) -> &str {
        self.attributes.get(name).map_or("", String::as_str)
    }

    pub(super) fn number(&self, name: &str) -> f64 {
        self.attribute(name).parse().unwrap()
    }

    pub(super) fn class(&self) -> &str {
        self.attribute("class")
    }

    /// The runs of points of a path.
    pub(super) fn runs(&self) -> Vec<Vec<(f64, f64)>> {
        let drawn = self.attribute("d").replace('Z', "");
        let point = |text: &str| {
            let (x, y) = text.split_once(' ').unwrap();
            (x.parse().unwrap(), y.parse().unwrap())
        };
        drawn
            .split('M')
            .skip(1)
            .map(|run| run.split('L').map(point).collect())
            .collect()
    }
}

/// A document read back.
pub(super) struct Drawing {
    pub(super) elements: Vec<Element>,
}

impl Drawing {
    pub(super) fn of(svg: &str) -> Drawing {
        let mut elements: Vec<Element> = Vec::new();
        let mut open: Vec<usize> = Vec::new();
        let mut rest = svg;
        while let Some(start) = rest.find('<') {
            let (text, tag) = rest.split_at(start);
            match open.last() {
                Some(parent) => elements[*parent].text.push_str(&unescaped(text)),
                None => assert_eq!(text.trim(), ""),
            }
            let end = tag.find('>').expect("a tag is closed");
            take_tag(&tag[1..end], &mut elements, &mut open);
            rest = &tag[end + 1..];
        }
        assert!(open.is_empty(), "every element is closed");
        assert_eq!(rest.trim(), "");
        Drawing { elements }
    }

    pub(super) fn classed(&self, class: &str) -> Vec<&Element> {
        let elements = self.elements.iter();
        elements
            .filter(|element| element.class() == class)
            .collect()
    }

    pub(super) fn texts(&self) -> Vec<&Element> {
        let elements = self.elements.iter();
        elements.filter(|element| element.name == "text").collect()
    }

    pub(super) fn named(&self, name: &str) -> &Element {
        let mut elements = self.elements.iter();
        elements.find(|element| element.name == name).unwrap()
    }

    /// All points of all paths of a class.
    pub(super) fn points(&self, class: &str) -> Vec<(f64, f64)> {
        let elements = self.classed(class).into_iter();
        elements
            .flat_map(|element| element.runs().concat())
            .collect()
    }

    /// The places of dots: each is a stroke of no length to speak of.
    pub(super) fn dots(&self) -> Vec<(f64, f64)> {
        let elements = self.classed("ch-dots").into_iter();
        elements.flat_map(Element::runs).map(|run| run[0]).collect()
    }

    /// Heights of level lines of a class, from the top.
    pub(super) fn heights(&self, class: &str) -> Vec<f64> {
        let mut heights: Vec<f64> = self
            .classed(class)
            .into_iter()
            .flat_map(Element::runs)
            .filter(|run| run.len() == 2 && (run[0].1 - run[1].1).abs() < 0.011)
            .map(|run| run[0].1)
            .collect();
        heights.sort_by(f64::total_cmp);
        heights.dedup();
        heights
    }

    /// What the caption says, in one line.
    pub(super) fn caption(&self) -> String {
        let texts = self.texts().into_iter();
        let texts = texts.filter(|text| ["ch-quiet", "ch-strong"].contains(&text.class()));
        texts
            .map(|text| text.text.replace('\u{a0}', " "))
            .collect::<Vec<_>>()
            .join(" ")
    }

    /// Labels of the upright axis nearest the left edge: height and value.
    pub(super) fn upright_labels(&self) -> Vec<(f64, f64, String)> {
        let texts = self.texts().into_iter();
        texts
            .filter(|text| text.class() == "ch-quiet" && text.attribute("text-anchor") == "end")
            .filter_map(|text| {
                let value: f64 = text.text.parse().ok()?;
                // The label's foot stands 0.36 of its size below the tick.
                let size = text.number("font-size");
                Some((text.number("y") - 0.36 * size, value, text.text.clone()))
            })
            .collect()
    }

    /// Labels of level axes at one height: place and value.
    pub(super) fn level_labels(&self) -> Vec<(f64, f64, String)> {
        let texts = self.texts().into_iter();
        texts
            .filter(|text| text.class() == "ch-quiet" && text.attribute("text-anchor") == "middle")
            .filter_map(|text| {
                let value: f64 = text.text.parse().ok()?;
                Some((text.number("x"), value, text.text.clone()))
            })
            .collect()
    }
}

/// The straight line through the outermost two labels: from a place on the sheet to a value.
pub(super) fn scale(labels: &[(f64, f64, String)]) -> impl Fn(f64) -> f64 + use<> {
    let (first, last) = (labels.first().unwrap(), labels.last().unwrap());
    assert!((first.0 - last.0).abs() > 1.0, "two labels: {labels:?}");
    let slope = (last.1 - first.1) / (last.0 - first.0);
    let (place, value) = (first.0, first.1);
    move |at: f64| value + (at - place) * slope
}

fn take_tag(tag: &str, elements: &mut Vec<Element>, open: &mut Vec<usize>) {
    if let Some(name) = tag.strip_prefix('/') {
        let opened = open.pop().expect("something is open");
        assert_eq!(elements[opened].name, name);
        return;
    }
    let alone = tag.ends_with('/');
    let tag = tag.trim_end_matches('/');
    let (name, mut rest) = tag.split_once(' ').unwrap_or((tag, ""));
    let mut attributes = HashMap::new();
    while !rest.trim().is_empty() {
        let (key, after) = rest.split_once("=\"").expect("attributes are quoted");
        let (value, after) = after.split_once('"').expect("quotes are closed");
        assert!(!value.contains('<'));
        let twice = attributes.insert(key.trim().to_owned(), unescaped(value));
        assert!(twice.is_none(), "{key} twice");
        rest = after;
    }
    assert!(
        name.chars().all(|letter| letter.is_ascii_lowercase()),
        "{name}"
    );
    elements.push(Element {
        name: name.to_owned(),
        attributes,
        text: String::new(),
    });
    if !alone {
        open.push(elements.len() - 1);
    }
}

fn unescaped(text: &str) -> String {
    let mut plain = String::new();
    let mut parts = text.split('&');
    plain.push_str(parts.next().unwrap_or_default());
    for part in parts {
        let (entity, after) = part.split_once(';').expect("an entity is closed");
        plain.push(match entity {
            "amp" => '&',
            "lt" => '<',
            "gt" => '>',
            "quot" => '"',
            "#39" => '\'',
            other => panic!("{other} is no entity"),
        });
        plain.push_str(after);
    }
    plain
}
