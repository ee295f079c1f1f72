//! The head: what is reported on, and what came of it.

use std::collections::BTreeMap;

use overwire_core::functional_check::FunctionalResult;

use super::super::equipment::{Equipment, Use};
use super::super::gather::{Gathered, OfFeature};
use super::super::html::{Table, facts, free, list, paragraph, plain};
use super::super::{Maker, Question};
use super::outcome::Outcome;
use super::{counted, section};
use crate::clock::{Civil, offset};
use crate::record::functional::FunctionalCheck;
use crate::view::verdict_words;

/// Title and the facts of the job.
pub fn head(title: &str, question: &Question, maker: &Maker, gathered: &Gathered) -> String {
    let job = &gathered.job;
    let newest = gathered.revisions.iter().next_back();
    let revision = newest.map_or_else(String::new, |(entry, (number, _))| {
        format!("{number} (entry {entry})")
    });
    let pairs = [
        ("Shop", free(&maker.shop)),
        ("Job", free(&job.job)),
        ("Order", free(&job.order)),
        ("Drawing", free(&job.drawing)),
        ("Drawing revision", free(&job.drawing_revision)),
        ("Lot or serial", free(&job.lot)),
        ("Material", material(&job.material)),
        ("Job set up, revision", revision),
        ("Covers", covers(question, gathered)),
        ("Made", made(maker)),
    ];
    format!(
        "<header>\n<p class=\"screen\">Print this page from the browser: on paper, or saved as PDF.</p>\n\
         <h1>{}</h1>\n{}</header>\n",
        plain(title),
        facts(&pairs)
    )
}

/// When the report was made, in the shop's time.
pub fn made(maker: &Maker) -> String {
    let mut text = String::new();
    Civil::default().plain(&mut text, maker.at.wall_us, maker.at.utc_offset_s);
    text.push_str(", UTC");
    offset(&mut text, maker.at.utc_offset_s);
    text
}

fn material(code: &str) -> String {
    match code {
        "" => "steel".to_owned(),
        code => plain(&code.replace('_', " ")),
    }
}

fn covers(question: &Question, gathered: &Gathered) -> String {
    let threads = match question.feature.as_str() {
        "" => "every thread".to_owned(),
        name => format!("thread {}", free(name)),
    };
    match gathered.piece {
        Some(piece) => format!("piece {piece}, {threads}"),
        None => format!("every piece, {threads}"),
    }
}

/// Verdicts in the order they are told.
const VERDICTS: [&str; 6] = [
    "pass",
    "fail_over",
    "fail_under",
    "still_to_cut",
    "undecided",
    "none",
];

/// What came of it: how many pieces of each verdict, and of each word of a gauge.
pub fn result(question: &Question, gathered: &Gathered) -> String {
    let used: Vec<&str> = VERDICTS
        .into_iter()
        .filter(|code| {
            let of = |feature: &OfFeature| tally(feature).contains_key(code);
            *code == "pass" || gathered.features.iter().any(of)
        })
        .collect();
    let mut columns = vec!["Thread", "Pieces inspected"];
    columns.extend(used.iter().map(|code| verdict_words(code)));
    columns.push("Functional check");
    let mut table = Table::new("result", "Pieces by their verdict over wires", &columns);
    for of in &gathered.features {
        let tally = tally(of);
        let mut cells = vec![free(&of.name), of.pieces.len().to_string()];
        let number = |code: &&str| tally.get(code).copied().unwrap_or_default().to_string();
        cells.extend(used.iter().map(number));
        let checks = gathered.checks_of(of).into_values();
        cells.push(plain(&checks_in_words(checks)));
        table.row(&cells);
    }
    let features = gathered.features.iter();
    let checks = features.flat_map(|of| gathered.checks_of(of).into_values());
    let outcome = Outcome::of(gathered);
    let said = format!(
        "<p class=\"verdict\">{}<br>Functional check: {}.</p>\n{}",
        outcome.sentence(question, gathered),
        plain(&checks_in_words(checks)),
        list(&outcome.reasons)
    );
    let mind = vec![
        "Pitch diameter over wires is <strong>not functional size</strong>: wires do not see errors of lead, flank \
         angle, root and crest. A go gauge or the mating part decides that, and its check is told beside each piece."
            .to_owned(),
        "A piece is as good as the worst of its readings that count, of the last attempt at it.".to_owned(),
    ];
    let html = said + &overdue(&gathered.equipment) + &table.end() + &list(&mind);
    section("Result", &html)
}

fn tally(of: &OfFeature) -> BTreeMap<&'static str, usize> {
    let mut tally = BTreeMap::new();
    for piece in of.pieces.values() {
        *tally.entry(piece.verdict()).or_default() += 1;
    }
    tally
}

/// How many pieces each word of a gauge was said of.
fn checks_in_words<'a>(checks: impl Iterator<Item = Option<&'a FunctionalCheck>>) -> String {
    let mut tally: BTreeMap<&str, usize> = BTreeMap::new();
    for check in checks {
        let words = check.map_or(NONE_RECORDED, |check| check.result.words());
        *tally.entry(words).or_default() += 1;
    }
    let known = FunctionalResult::ALL.map(FunctionalResult::words);
    let order = known.into_iter().chain([NONE_RECORDED]);
    let said: Vec<String> = order
        .filter_map(|words| Some(format!("{words}: {}", tally.get(words)?)))
        .collect();
    match said.is_empty() {
        true => "–".to_owned(),
        false => said.join(", "),
    }
}

/// Of a piece nothing was said of.
const NONE_RECORDED: &str = "none recorded";

/// Calibrations that were overdue when readings that count were made.
fn overdue(equipment: &Equipment) -> String {
    let told = [
        ("instrument", Use::sum(equipment.instruments.values())),
        ("wires", Use::sum(equipment.wire_sets.values())),
    ];
    let told = told.into_iter().filter(|(_, used)| used.overdue > 0);
    let said = told.map(|(what, used)| {
        paragraph(&format!(
            "<strong>Calibration of the {what} was overdue on the day of {} of {}.</strong>",
            used.overdue,
            counted(used.readings, "reading")
        ))
    });
    said.collect()
}
