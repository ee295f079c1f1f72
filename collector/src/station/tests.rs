use std::sync::Arc;

use overwire_config::settings::{Rules, StationSettings};
use overwire_core::decimal::Decimal;

use super::*;
use crate::record::{Held, Kind, Reading};

/// Nothing was ever measured.
struct Blank;

impl Remembered for Blank {
    fn left_off(&self, _: &str, _: &str) -> Option<LeftOff> {
        None
    }
    fn attempts(&self, _: Option<&str>, _: Option<&str>, _: i64) -> i64 {
        0
    }
    fn repeats(&self, _: &Which<'_>) -> Option<crate::register::budget::Repeats> {
        None
    }
}

/// The usual rules, without a zero check asked for.
const RULES: Rules = Rules {
    double_press_ms: 1500,
    operator_minutes: 480,
    zero_check_hours: 0,
};

const MINUTE_US: i64 = 60_000_000;

fn at(seconds: i64) -> Stamp {
    Stamp {
        wall_us: 1_772_600_000_000_000 + seconds * 1_000_000,
        utc_offset_s: 0,
        mono_ns: 1_000_000_000_000 + seconds * 1_000_000_000,
    }
}

fn change(kind: Kind, subject: &str, entry: i64, body: &str) -> Change {
    let mut head = new_head(&Arc::from(""), at(0));
    head.entry = entry;
    Change {
        head,
        kind,
        subject: subject.to_owned(),
        reading: None,
        by: String::new(),
        reason: String::new(),
        body: body.to_owned(),
    }
}

/// Tarn Mill's jobs: an inch stud end measured three times a piece, and a metric spindle.
fn register() -> Register {
    let mut register = Register::default();
    for (kind, subject, body) in [
        (
            Kind::WireSet,
            "WS-12A",
            r#"{"wire_set":"WS-12A","unit":"in","diameters":["0.04811"],"due":"2020-01-01"}"#,
        ),
        (
            Kind::WireSet,
            "WS-M150",
            r#"{"wire_set":"WS-M150","unit":"mm","diameters":["0.866","0.866","0.866"]}"#,
        ),
        (
            Kind::Instrument,
            "MIC-07",
            r#"{"instrument":"MIC-07","serial":"S1","due":"2031-01-31"}"#,
        ),
        (
            Kind::Job,
            "J-2417",
            r#"{"job":"J-2417","readings_a_piece":3,"features":[{"name":"stud end","thread":"1 1/16-12 UN-2A","wire_set":"WS-12A"}]}"#,
        ),
        (
            Kind::Job,
            "J-2431",
            r#"{"job":"J-2431","features":[{"name":"nose","thread":"M40x1.5-4h","wire_set":"WS-M150"}]}"#,
        ),
    ] {
        let entry = 1
            + (register.jobs.len() + register.wire_sets.len() + register.instruments.len()) as i64;
        register.apply(&change(kind, subject, entry, body)).unwrap();
    }
    register
}

fn settings() -> StationSettings {
    StationSettings {
        name: "lathe-1".to_owned(),
        port: "/dev/null".into(),
        instrument: "MIC-07".to_owned(),
        unit: Unit::Inch,
        profile: overwire_config::profile::find("decimal-line", None)
            .unwrap()
            .unwrap(),
        lathe: None,
    }
}

struct Shop {
    station: Station,
    register: Register,
}

impl Shop {
    /// The stud job is active, AK is at work.
    fn new(purpose: &str) -> Shop {
        let mut shop = Shop {
            station: Station::new(&settings(), RULES, None, "by hand"),
            register: register(),
        };
        shop.tags(
            &format!(r#"{{"job":"J-2417","operator":"AK","purpose":"{purpose}"}}"#),
            0,
        )
        .unwrap();
        shop
    }

    fn tags(&mut self, form: &str, seconds: i64) -> Result<Change, Refusals> {
        let form: TagsForm = serde_json::from_str(form).unwrap();
        let methods = ["by hand".to_owned(), "rubber strips".to_owned()];
        self.station
            .change_tags(&form, &self.register, &methods, &Blank, at(seconds))
    }

    fn press(&mut self, text: &str, seconds: i64) -> Reading {
        let arrival = Arrival {
            raw: text.as_bytes().to_vec(),
            number: Decimal::parse(text).unwrap(),
            unit: None,
            channel: None,
            stamp: at(seconds),
            typed: false,
            waited: false,
        };
        self.station
            .take(arrival, &self.register, &Blank, None)
            .unwrap()
    }
}

#[test]
fn a_reading_is_stamped_with_what_was_active_when_it_came() {
    let mut shop = Shop::new("cutting");
    let before = shop.press("1.0850", 10);
    shop.tags(
        r#"{"piece":4,"method":"rubber strips","position":"head"}"#,
        11,
    )
    .unwrap();
    let after = shop.press("1.0840", 12);
    assert_eq!((before.tags.piece, &*before.tags.method), (1, "by hand"));
    assert_eq!(
        (after.tags.piece, &*after.tags.method),
        (4, "rubber strips")
    );
    assert_eq!(after.tags.position.as_deref(), Some("head"));
    assert_eq!(before.judged.verdict, "still_to_cut");
    assert!(
        before.judged.flags.any(Flags::OVERDUE_WIRES),
        "the wires' certificate ran out in 2020"
    );
    assert!(!before.judged.flags.any(Flags::OVERDUE_INSTRUMENT));
}

#[test]
fn the_piece_advances_after_its_counted_readings_only() {
    let mut shop = Shop::new("inspecting");
    for (text, seconds, piece) in [
        ("1.0760", 0, 1),
        ("1.0760", 1, 1), // the same again within 1.5 s: a double press
        ("0.0000", 5, 1), // jaws closed
        ("1.0761", 10, 1),
        ("1.0760", 20, 1), // the third that counts
        ("1.0758", 30, 2),
    ] {
        assert_eq!(
            shop.press(text, seconds).tags.piece,
            piece,
            "{text} at {seconds} s"
        );
    }
}

#[test]
fn an_equal_value_later_is_a_reading_of_its_own() {
    let mut shop = Shop::new("inspecting");
    assert!(shop.press("1.0760", 0).judged.counted);
    let double = shop.press("1.0760", 1);
    assert!(!double.judged.counted && double.judged.flags.any(Flags::DOUBLE_PRESS));
    assert!(shop.press("1.0760", 3).judged.counted);
}

#[test]
fn closed_jaws_and_nothing_between_the_wires_are_kept_and_not_counted() {
    let mut shop = Shop::new("inspecting");
    for (text, flag) in [
        ("0.0000", Flags::CLOSED_JAWS),
        ("0.0962", Flags::EMPTY),
        ("3.1000", Flags::OUT_OF_WINDOW),
    ] {
        let reading = shop.press(text, 10);
        assert!(
            reading.judged.flags.any(flag),
            "{text}: {:?}",
            reading.judged.flags.to_text()
        );
        assert!(!reading.judged.counted && reading.judged.held.is_none());
        assert_eq!(&*reading.text, text);
    }
}

#[test]
fn another_unit_is_asked_about_and_never_converted() {
    let mut shop = Shop::new("inspecting");
    let reading = shop.press("27.331", 5); // 1.0760 in, the micrometer left in millimetres
    assert_eq!(reading.judged.held, Some(Held::Unit));
    assert_eq!(
        (reading.unit, reading.judged.verdict, reading.judged.counted),
        ("in", "none", false)
    );
}

#[test]
fn another_job_s_window_is_asked_about() {
    let mut shop = Shop::new("inspecting");
    let reading = shop.press("1.5861", 5); // 40.287 mm in inches: fits J-2431 alone
    assert_eq!(
        reading.judged.held,
        Some(Held::Job("J-2431".into(), "nose".into()))
    );
    assert_eq!(reading.judged.verdict, "none");
}

/// With the lone wire gone the anvil lies on the crests and M becomes (M + D)/2; for this thread that is
/// 0.0068 in low, a good deal within what a range check lets through (computed from the definition).
#[test]
fn a_fallen_wire_gets_no_verdict() {
    let mut shop = Shop::new("inspecting");
    assert_eq!(shop.press("1.0760", 0).judged.verdict, "pass");
    let fallen = shop.press("1.0692", 10);
    assert_eq!(
        (fallen.judged.held, fallen.judged.verdict),
        (Some(Held::Wire), "none")
    );
}

/// With one wire on a crest M becomes (M + D)/2 + w: 0.0413 in high for this thread.
#[test]
fn a_wire_on_a_crest_gets_no_verdict() {
    let mut shop = Shop::new("inspecting");
    assert_eq!(shop.press("1.0760", 0).judged.verdict, "pass");
    let ridden = shop.press("1.1174", 10);
    assert_eq!(
        (ridden.judged.held, ridden.judged.verdict),
        (Some(Held::Wire), "none")
    );
}

#[test]
fn a_double_press_stays_with_its_piece() {
    let mut shop = Shop::new("inspecting");
    shop.tags(r#"{"job":"J-2431"}"#, 0).unwrap(); // one reading a piece
    let first = shop.press("1.5861", 1); // 40.287 mm
    let second = shop.press("1.5861", 2);
    assert_eq!((first.tags.piece, second.tags.piece), (1, 1));
    assert_eq!(shop.press("1.5862", 9).tags.piece, 2);
}

#[test]
fn metal_that_came_back_is_asked_about() {
    let mut shop = Shop::new("cutting");
    assert_eq!(shop.press("1.0815", 0).judged.held, None);
    assert_eq!(shop.press("1.0793", 30).judged.held, None);
    let rise = shop.press("1.0830", 60);
    assert_eq!(
        (rise.judged.held, rise.judged.counted),
        (Some(Held::Rise), false)
    );
}

#[test]
fn the_operator_runs_out_and_is_never_filled_in_afterwards() {
    let mut shop = Shop::new("inspecting");
    assert_eq!(shop.press("1.0760", 0).tags.operator.as_deref(), Some("AK"));
    let hours = |h: i64| h * 3600;
    // Each press keeps the name alive for another eight hours.
    assert_eq!(
        shop.press("1.0761", hours(7)).tags.operator.as_deref(),
        Some("AK")
    );
    assert_eq!(
        shop.press("1.0760", hours(14)).tags.operator.as_deref(),
        Some("AK")
    );
    let late = shop.press("1.0761", hours(14) + 480 * 60);
    assert_eq!(late.tags.operator, None);
    assert!(late.judged.flags.any(Flags::UNATTRIBUTED));
    assert!(shop.station.operator_until_us() <= at(hours(14)).wall_us + 480 * MINUTE_US);
    shop.tags(r#"{"piece":9}"#, hours(23)).unwrap();
    assert_eq!(
        shop.press("1.0760", hours(23)).tags.operator,
        None,
        "a change by nobody names nobody"
    );
}

#[test]
fn a_zero_check_is_neither_judged_nor_counted() {
    let mut shop = Shop::new("zero");
    let zero = shop.press("0.0005", 0);
    let said = (zero.judged.verdict, zero.judged.counted);
    assert_eq!(
        said,
        ("zero_off", false),
        "two steps of the display are allowed"
    );
    assert!(!zero.judged.flags.any(Flags::CLOSED_JAWS));
    let zero = shop.press("0.0001", 10);
    assert_eq!(zero.judged.verdict, "zero_within");
    assert_eq!(zero.judged.limit_max_mm, None, "no thread is judged");
}

#[test]
fn what_cannot_be_is_refused_and_changes_nothing() {
    let mut shop = Shop::new("cutting");
    let before = shop.station.tags().clone();
    for (form, field) in [
        (r#"{"job":"J-9"}"#, "job"),
        (r#"{"feature":"other end"}"#, "feature"),
        (r#"{"wire_set":"WS-99"}"#, "wire_set"),
        (r#"{"wire_set":"WS-M150","method":"by magic"}"#, "method"),
        (r#"{"purpose":"guessing"}"#, "purpose"),
        (r#"{"piece":0}"#, "piece"),
        (r#"{"operator":"A\nB"}"#, "operator"),
    ] {
        let refusals = shop.tags(form, 1).unwrap_err();
        assert!(refusals.0.contains_key(field), "{form}: {refusals:?}");
        assert_eq!(*shop.station.tags(), before, "{form}");
    }
}

/// The wires of another pitch have no seat here, and the sentence names what would do.
#[test]
fn a_wire_set_that_does_not_fit_is_refused_with_the_usable_range() {
    let mut shop = Shop::new("cutting");
    let thin = r#"{"wire_set":"WS-thin","unit":"in","diameters":["0.0300"]}"#;
    shop.register
        .apply(&change(Kind::WireSet, "WS-thin", 40, thin))
        .unwrap();
    let refusals = shop.tags(r#"{"wire_set":"WS-thin"}"#, 1).unwrap_err();
    let sentence = &refusals.0["wire_set"];
    assert!(
        sentence.contains("too small") && sentence.contains("usable from"),
        "{sentence}"
    );
}

#[test]
fn a_clock_that_went_back_is_said() {
    let mut shop = Shop::new("inspecting");
    shop.press("1.0760", 100);
    let mut stamp = at(101);
    stamp.wall_us -= 3_600_000_000;
    let arrival = Arrival {
        raw: Vec::new(),
        number: Decimal::parse("1.0761").unwrap(),
        unit: None,
        channel: None,
        stamp,
        typed: false,
        waited: false,
    };
    let reading = shop
        .station
        .take(arrival, &shop.register, &Blank, None)
        .unwrap();
    assert!(reading.judged.flags.any(Flags::CLOCK_WENT_BACK));
}

/// A day at Tarn Mill (invented readings): only the two readings with a wire fallen out are held, and
/// none of the good ones, between passes, from piece to piece or after the tool has worn.
#[test]
fn a_day_s_readings_raise_no_false_alarm() {
    let mut shop = Shop::new("cutting");
    let mut held = Vec::new();
    let mut seconds = 0;
    let mut day = |shop: &mut Shop, purpose: &str, piece: i64, texts: &[&'static str]| {
        shop.tags(
            &format!(r#"{{"purpose":"{purpose}","piece":{piece}}}"#),
            seconds,
        )
        .unwrap();
        for text in texts {
            seconds += 60;
            let reading = shop.press(text, seconds);
            if let Some(reason) = reading.judged.held {
                held.push((*text, reason));
            }
        }
    };
    day(
        &mut shop,
        "cutting",
        1,
        &["1.09085", "1.08495", "1.08140", "1.07930", "1.07805"],
    );
    let batch = [
        "1.07635", "1.07640", "1.07650", "1.07635", "1.07610", "1.07625", "1.07600", "1.07590",
        "1.07590", "1.07585", "1.07550", "1.07540", "1.07545", "1.07515", "1.06925", "1.07605",
    ];
    day(&mut shop, "inspecting", 1, &batch);
    // Over size still; then the same thread with the lone wire gone reads well inside the limits.
    day(&mut shop, "cutting", 14, &["1.08890", "1.07570"]);
    assert_eq!(held, [("1.06925", Held::Wire), ("1.07570", Held::Wire)]);
}
