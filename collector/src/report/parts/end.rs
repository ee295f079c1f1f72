//! The end: what the report does not say, who stands for it, and where it stands in the record.

use super::super::Maker;
use super::super::gather::Gathered;
use super::super::html::{facts, list};
use super::head::made;
use super::section;
use crate::record::chain::hex;

/// Cautions, the record's mark and the lines to sign on.
pub fn end(maker: &Maker, gathered: &Gathered) -> String {
    cautions() + &record(maker, gathered) + &signatures()
}

fn cautions() -> String {
    let said = [
        "Pitch diameter over wires is not functional size. A thread within its pitch diameter limits may still not \
         assemble: pair it with a go gauge.",
        "Two opposed anvils do not see three lobes.",
        "Limits and tables told above to come from memory of a standard are to be checked against the standard.",
        "This report repeats what was recorded; the shop’s procedures and qualified inspection decide.",
        "Whoever measures again: never on a turning spindle; wires, burrs and fresh crests are sharp.",
    ];
    section("Mind", &list(&said.map(str::to_owned)))
}

fn record(maker: &Maker, gathered: &Gathered) -> String {
    let tip = &gathered.tip;
    let pairs = [
        ("Record up to entry", tip.entry.to_string()),
        (
            "Head of its chain",
            format!("<code>{}</code>", hex(&tip.hash)),
        ),
        ("Report made", made(maker)),
        ("By", format!("overwire {}", env!("CARGO_PKG_VERSION"))),
    ];
    let said = [
        "The record is append-only: readings are voided or re-tagged with a reason, never altered or deleted, and each \
         entry carries a hash over itself and the one before (SHA-256). Whoever keeps this sheet can show later \
         whether an entry up to the one named was changed. It does not show that a value was true."
            .to_owned(),
    ];
    let facts = facts(&pairs).replacen("facts", "facts single", 1);
    section("The record", &(facts + &list(&said)))
}

fn signatures() -> String {
    let block = |who: &str| {
        format!(
            "<div class=\"sign\"><p><strong>{who}</strong></p>\
             <p class=\"line\">Name</p><p class=\"line\">Signature</p><p class=\"line\">Date</p></div>\n"
        )
    };
    format!(
        "<section class=\"signatures\">\n<h2>Signatures</h2>\n<div class=\"signs\">\n{}{}</div>\n</section>\n",
        block("Inspected by"),
        block("Reviewed by")
    )
}
