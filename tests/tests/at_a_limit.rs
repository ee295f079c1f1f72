//! A reading that fails by less than its display shows is seen to fail, wherever it is told.

use overwire_tests::one_station::Shop;
use serde_json::json;

/// Limits from a metric drawing never come out even in inches: to the places of the display the reading and the limit
/// it is outside of are one number.
#[test]
fn a_reading_just_outside_a_metric_limit_is_seen_outside_on_an_inch_display() {
    let shop = Shop::new("at-a-limit", "", "");
    shop.begin(&json!({}), "inspecting");
    shop.measure("0.51270");
    let connection =
        overwire::record::reader::open(&shop.folder.join("record.db")).expect("the record");
    let size_mm: f64 = connection
        .query_row("SELECT pitch_diameter_mm FROM reading", [], |row| {
            row.get(0)
        })
        .expect("its size");
    // Two hundred-thousandths of a millimetre inside the size just measured, on the side to which it is rounded.
    let rounded = (size_mm / 25.4 * 1e5).round() / 1e5 * 25.4;
    let is_over = rounded < size_mm;
    let away = if is_over { -2e-5 } else { 2e-5 };
    let limit = format!("{:.5}", size_mm + away);
    let [min, max] = if is_over {
        ["11.25", &limit]
    } else {
        [&limit, "11.4"]
    };
    let limits = json!({"unit":"mm","min":min,"max":max});
    let features = json!([{"name":"end","thread":"1/2-13 UNC-2A","wire_set":"WS","limits":limits}]);
    shop.begin(&json!({"features":features}), "inspecting");
    let reading = shop.measure("0.51270");
    let (verdict, side) = if is_over {
        ("fail_over", "max")
    } else {
        ("fail_under", "min")
    };
    assert_eq!(reading["verdict"], verdict, "{reading}");
    let shown = reading["pitch_diameter"].as_str().expect("its size");
    let is_outside = |size: &str, limit: &str| {
        let [of, beyond] = [size, limit].map(|text| text.parse::<f64>().expect("a number"));
        assert!(
            if is_over { of > beyond } else { of < beyond },
            "{size} {limit} {verdict}"
        );
    };
    is_outside(shown, reading["limits"][side].as_str().expect("its limit"));

    let rows = shop.rows();
    let row = rows.last().expect("the reading");
    is_outside(
        &row["pitch_diameter"],
        &row[&format!("pitch_diameter_{side}")],
    );
    is_outside(&row[&format!("over_{side}")], "0");
    let row = shop.pieces().pop().expect("the piece");
    for size in [
        "pitch_diameter_largest",
        "pitch_diameter_smallest",
        "pitch_diameter_1",
    ] {
        is_outside(&row[size], &row[&format!("pitch_diameter_{side}")]);
    }
    let report = shop.told(&["report", "--job", "J"]);
    assert!(
        report.contains(&format!("<strong>{shown}</strong> in")),
        "{report}"
    );
}
