//! Strange text in every free field of a record: the inspection report shows it as text, in its place, on every page.

use std::path::Path;
use std::sync::Arc;

use overwire::clock::Stamp;
use overwire::record::functional::{self, PieceKey};
use overwire::record::writer::Store as _;
use overwire::record::{
    Change, Entry, Judged, Kind, Reading, RecordWriter, Revised, StampedTags, UnitFrom, reader,
};
use overwire::report::{Maker, Question, report};
use overwire::station::new_head;
use overwire_core::functional_check::FunctionalResult;
use overwire_tests::Folder;
use overwire_tests::sheet::{A4, are_all, numbered, pages, print, sizes, text_of};
use serde_json::json;

/// Texts that break out of their places where they are taken for more than text, or run on without end.
fn strange_texts() -> [String; 6] {
    [
        "<script>alert(1)</script>\"&'--> {x}".to_owned(),
        "</style><script>alert(2)</script>\"; } body { display: none } @import 'x'; /*".to_owned(),
        "\u{5de}\u{5e9}\u{5d4} \u{202e}\u{5d0}\u{5d1} 12.5 \u{2067}\u{627}\u{644}".to_owned(),
        "\u{1f9ea}\u{1f469}\u{200d}\u{1f527} \u{4e2d}\u{6587}".to_owned(),
        "W".repeat(10_000),
        "wide words \u{a0}&amp; more ".repeat(400),
    ]
}

/// A record in which every free field holds strange text, more than a form would take.
fn strange_record(file: &Path, strange: &str) {
    let mut writer = RecordWriter::open(file).expect("a record");
    let stamp = Stamp {
        wall_us: 1_764_000_000_000_000,
        utc_offset_s: 3600,
        mono_ns: 1,
    };
    let mut keep = |kind: Kind, subject: &str, reading: Option<i64>, body: String| -> i64 {
        let mut kept = [Entry::Change(Change {
            head: new_head(&Arc::from("s0"), stamp),
            kind,
            subject: subject.to_owned(),
            reading,
            by: strange.to_owned(),
            reason: strange.to_owned(),
            body,
        })];
        writer.append(&mut kept).expect("kept");
        kept[0].head().entry
    };
    // The register holds wires of sound forms only.
    let short: String = strange.chars().take(190).collect();
    let short = short.trim();
    let wires = keep(
        Kind::WireSet,
        short,
        None,
        json!({"wire_set":short,"unit":"in","diameters":["0.04811"],"certificate":short})
            .to_string(),
    );
    let instrument = keep(
        Kind::Instrument,
        strange,
        None,
        json!({"instrument":strange,"serial":strange,"certificate":strange,"unit":"in"})
            .to_string(),
    );
    let job = keep(
        Kind::Job,
        strange,
        None,
        json!({"job":strange,"drawing":strange,"drawing_revision":strange,"order":strange,"lot":strange,
               "features":[{"name":strange,"characteristic":strange,"thread":"1 1/16-12 UN-2A"}]})
        .to_string(),
    );
    let of = PieceKey {
        job: strange.to_owned(),
        feature: strange.to_owned(),
        piece: 1,
        attempt: 1,
    };
    let check = functional::body(&of, FunctionalResult::Goes, strange, strange);
    keep(Kind::FunctionalCheck, &of.subject(), None, check);
    let revised = |name: &str, entry| Revised {
        name: name.into(),
        entry,
    };
    let mut readings = Vec::new();
    for piece in 1..=3 {
        readings.push(Entry::Reading(Reading {
            head: new_head(&Arc::from("s0"), stamp),
            raw: b"1.0760".to_vec(),
            text: "1.0760".into(),
            unit: "in",
            unit_from: UnitFrom::Station,
            channel: None,
            tags: Arc::new(StampedTags {
                job: Some(revised(strange, job)),
                feature: Some(strange.into()),
                piece,
                attempt: 1,
                position: Some(strange.into()),
                wire_set: Some(revised(short, wires)),
                instrument: revised(strange, instrument),
                method: strange.into(),
                operator: Some(strange.into()),
                purpose: "inspecting",
            }),
            judged: Judged {
                over_wires_mm: 1.0760 * 25.4,
                pitch_diameter_mm: Some(1.0038 * 25.4),
                limit_min_mm: Some(1.0010 * 25.4),
                limit_max_mm: Some(1.0067 * 25.4),
                seat: "ok",
                verdict: "pass",
                counted: true,
                ..Judged::default()
            },
        }));
    }
    writer.append(&mut readings).expect("kept");
    let last = readings[2].head().entry;
    for (kind, reading) in [(Kind::Comment, last - 1), (Kind::Void, last)] {
        let mut kept = [Entry::Change(Change {
            head: new_head(&Arc::from("s0"), stamp),
            kind,
            subject: String::new(),
            reading: Some(reading),
            by: strange.to_owned(),
            reason: strange.to_owned(),
            body: String::new(),
        })];
        writer.append(&mut kept).expect("kept");
    }
}

#[test]
fn strange_text_in_every_field_stays_text_and_in_its_place() {
    let folder = Folder::new("report-strange");
    for (index, strange) in strange_texts().iter().enumerate() {
        let file = folder.join(&format!("strange-{index}.db"));
        strange_record(&file, strange);
        let connection = reader::open(&file).expect("the record");
        let question = Question {
            job: strange.clone(),
            ..Question::default()
        };
        let maker = Maker {
            shop: strange.clone(),
            at: Stamp {
                wall_us: 1_764_000_000_000_000,
                utc_offset_s: 3600,
                mono_ns: 0,
            },
        };
        let html = report(&connection, &question, &maker).expect("a report");
        assert!(!html.contains("<script"), "{index}");
        let styles = html.matches("</style>").count();
        assert_eq!(styles, html.matches("<style").count(), "{index}");
        let text = text_of(&html);
        let turning = |c: &char| matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
        // Marks of direction would turn what stands beside them; each leaves a visible trace.
        let shown: String = strange
            .chars()
            .map(|c| if turning(&c) { '\u{fffd}' } else { c })
            .collect();
        let shown = shown.split_whitespace().collect::<Vec<_>>().join(" ");
        let found = text.matches(&shown).count();
        assert!(found >= 20, "{index}: {found} times");
        assert!(text.contains("1.0760 in 1.0038 in PASS"), "{index}");
        let sheet = print(&folder, &format!("strange-{index}"), &html);
        let (pages, sizes) = (pages(&sheet), sizes(&sheet));
        assert!(are_all(&sizes, A4), "{sizes:?}");
        numbered(&pages);
        let whole = pages.join(" ");
        assert!(
            whole.contains("Signature") && whole.contains("1.0038 in"),
            "{index}"
        );
    }
}
