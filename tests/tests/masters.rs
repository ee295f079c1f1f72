//! Studies of masters of several sizes, walked through by the data button.

use std::process::Command;

use overwire_tests::daemon::program;
use overwire_tests::dated_shop::Shop;
use overwire_tests::findings::section;
use serde_json::{Value, json};

const BIAS: &str = "Does the bias change with size?";

/// AIAG Measurement Systems Analysis, linearity: five masters, twelve readings of each (from memory), as
/// thousandths of a millimetre: the biases are a hundredth of the manual's, so that a reading is still of its
/// master. Slope -0.131667, t -12.043, intercept 0.736667, t 10.158, R squared 0.714.
const MANUAL: [(&str, [i64; 12]); 5] = [
    ("2", [27, 25, 24, 25, 27, 23, 25, 25, 24, 24, 26, 24]),
    ("4", [51, 39, 42, 50, 38, 39, 39, 39, 39, 40, 41, 38]),
    ("6", [58, 57, 59, 59, 60, 61, 60, 61, 64, 63, 60, 61]),
    ("8", [76, 77, 78, 77, 78, 78, 78, 77, 78, 75, 76, 77]),
    ("10", [91, 93, 95, 93, 94, 95, 95, 95, 96, 92, 93, 94]),
];

fn plain_masters(study: &str, rounds: u32) -> Value {
    let master = |(size, _): &(&str, [i64; 12])| {
        json!({"master": format!("SM-{size}"), "size": size, "unit": "mm", "uncertainty": "0.0004",
            "certificate": "C-1"})
    };
    let masters: Vec<Value> = MANUAL.iter().map(master).collect();
    json!({"study": study, "kind": "linearity", "over": "plain", "masters": masters, "rounds": rounds,
        "instrument": "MIC-0", "seed": 11, "by": "AK"})
}

/// What a master reads in a round: its size, and a hundredth of the manual's bias.
fn reading_of(master: &str, round: usize) -> String {
    let (size, readings) = MANUAL
        .iter()
        .find(|(size, _)| master == format!("SM-{size}"))
        .expect("the master");
    let thousandths = size.parse::<i64>().expect("a size") * 1000;
    let read = thousandths + readings[round] - thousandths / 100;
    format!("{}.{:03}", read / 1000, read % 1000)
}

#[test]
fn a_linearity_study_is_walked_through_and_gives_the_manual_s_line() {
    let mut shop = Shop::new("linearity");
    shop.begin(&plain_masters("lin", 12));
    let mut taken: Vec<(String, String)> = Vec::new();
    let mut rounds = std::collections::BTreeMap::new();
    let mut orders = std::collections::BTreeSet::new();
    for number in 1..=60 {
        let study = shop.study();
        let next = &study["next"];
        assert_eq!(next["number"], number, "{study}");
        let master = next["master"]["name"]
            .as_str()
            .expect("a master")
            .to_owned();
        let words = next["words"].as_str().expect("words");
        assert!(words.starts_with(&format!("Measure {master}, ")), "{words}");
        assert_eq!(next["master"]["nominal"], format!("{}.00 mm", &master[3..]));
        let round = rounds.entry(master.clone()).or_insert(0_usize);
        let text = reading_of(&master, *round);
        *round += 1;
        if number == 7 {
            // A slip is voided with a reason, and the same master is asked for again, after a kill too.
            let slip = shop.press(&text.replace(".0", ".1"));
            let void = format!("/api/readings/{}/void", slip["entry"]);
            shop.daemon
                .done(&void, &json!({"reason":"not clean","by":"AK"}));
            let again = shop.study();
            assert_eq!(again["next"]["again"], "not clean");
            assert_eq!(again["next"]["master"]["name"], *master);
            shop.restart();
            assert_eq!(shop.study(), again, "as before the kill");
        }
        let reading = shop.press(&text);
        assert_eq!(
            (
                &reading["counted"],
                &reading["job"],
                &reading["pitch_diameter"]
            ),
            (&json!(true), &Value::Null, &Value::Null),
            "{reading}"
        );
        taken.push((master[3..].to_owned(), text));
        orders.extend(
            taken
                .rchunks_exact(5)
                .next()
                .filter(|_| number % 5 == 0)
                .map(|round| {
                    let mut masters: Vec<&str> =
                        round.iter().map(|(master, _)| master.as_str()).collect();
                    let order = masters.join(" ");
                    masters.sort_unstable();
                    masters.dedup();
                    assert_eq!(
                        masters.len(),
                        5,
                        "a round goes through all masters: {order}"
                    );
                    order
                }),
        );
    }
    assert!(orders.len() > 6, "rounds are in random order: {orders:?}");
    assert_eq!(shop.study()["next"], Value::Null);
    let result = shop.result("lin");
    let mut csv = "master,reading\n".to_owned();
    taken.sort_by_key(|(master, _)| master.parse::<i64>().ok());
    for (master, reading) in &taken {
        csv += &format!("{master},{reading}\n");
    }
    let asked = ["linearity", "--column", "reading", "--master", "master"];
    let told = shop.at_the_command_line(&asked, &csv);
    for heading in [
        BIAS,
        "What the line is worth",
        "Does each master read what it is?",
    ] {
        assert_eq!(section(&result, heading), section(&told, heading));
    }
    let rows = section(&result, "What the line is worth")["table"]["rows"].clone();
    // A hundredth of the manual's slope and intercept; its t values and R squared as they are.
    assert_eq!(
        (&rows[0][1], &rows[0][3]),
        (&json!("-0.0013167"), &json!("-12.043"))
    );
    assert_eq!(
        (&rows[1][1], &rows[1][3]),
        (&json!("0.0074"), &json!("10.158"))
    );
    let worth = section(&result, "What the line is worth")["sentences"].to_string();
    assert!(worth.contains("71.4 %"), "{worth}");
    let said = section(&result, "What do the certificates say?");
    assert!(
        said["sentences"]
            .to_string()
            .contains("± 0.0004 mm (k = 2), certificate C-1"),
        "{said}"
    );
    // Only the bias of SM-6, 0.00025 mm, is no larger than what its certificate leaves open.
    let cautions = said["cautions"].as_array().expect("cautions");
    assert_eq!(cautions.len(), 1, "{said}");
    assert!(
        cautions[0]
            .as_str()
            .is_some_and(|told| told.starts_with("SM-6: ")),
        "{said}"
    );
    let svg = shop
        .daemon
        .text("/findings.svg?study=lin&picture=bias&width=phone");
    assert!(
        svg.starts_with("<svg") && svg.contains("Bias over size"),
        "{svg}"
    );
}

#[test]
fn another_master_than_asked_for_fills_no_cell() {
    let shop = Shop::new("other-master");
    shop.begin(&plain_masters("lin", 2));
    let size = |study: &Value| {
        let name = study["next"]["master"]["name"].as_str().expect("a master");
        name[3..].parse::<i64>().expect("a size")
    };
    let asked = size(&shop.study());
    let other = if asked == 2 { 4 } else { 2 };
    let wrong = shop.press(&format!("{other}.001"));
    assert_eq!(wrong["counted"], false, "{wrong}");
    assert!(
        wrong["flags"].to_string().contains("other_master"),
        "{wrong}"
    );
    assert_eq!(shop.study()["filled"], 0);
    assert_eq!(shop.press(&format!("{asked}.001"))["counted"], true);
    assert_eq!(shop.study()["filled"], 1);
    // A double press is one press, and closed jaws are no master.
    assert_eq!(shop.press(&format!("{asked}.001"))["counted"], false);
    assert_eq!(shop.press("0.000")["counted"], false);
    assert_eq!(shop.study()["filled"], 1);
}

#[test]
fn what_masters_cannot_be_is_refused_field_by_field() {
    let shop = Shop::new("masters-refused");
    shop.daemon.done(
        "/api/wire-sets",
        &json!({"wire_set":"WS","unit":"in","diameters":["0.04441"],"by":"AK"}),
    );
    shop.daemon.done(
        "/api/jobs",
        &json!({"job":"PLUGS","features":[{"name":"1/2","thread":"1/2-13 UNC-2A","wire_set":"WS"},
            {"name":"bare","thread":"5/8-11 UNC-2A"}],"by":"AK"}),
    );
    let threaded = |at: &str, value: Value| {
        let mut form = json!({"study":"lin","kind":"linearity","job":"PLUGS","feature":"1/2","methods":["by hand"],
            "masters":[{"master":"A","size":"0.4480","unit":"in"},{"master":"B","size":"0.4490","unit":"in"},
                {"master":"C","size":"0.4500","unit":"in"}],
            "rounds":3,"instrument":"MIC-0","by":"AK"});
        *form.pointer_mut(at).expect("the field") = value;
        form
    };
    let plain = |at: &str, value: Value| {
        let mut form = plain_masters("lin", 3);
        let form_at = form.pointer_mut(at).expect("the field");
        *form_at = value;
        form
    };
    let with = |mut form: Value, field: &str, value: Value| {
        form[field] = value;
        form
    };
    let whole = || threaded("/rounds", json!(3));
    for (form, field, words) in [
        (
            plain("/masters/1/size", json!("two")),
            "masters.1.size",
            "expected a digit",
        ),
        (
            plain("/masters/1/size", json!("2,5")),
            "masters.1.size",
            "decimal point",
        ),
        (
            plain("/masters/1/size", json!("")),
            "masters.1.size",
            "certificate",
        ),
        (
            plain("/masters/1/size", json!("2")),
            "masters.1.size",
            "`SM-2` has the same size",
        ),
        (
            plain("/masters/1/unit", json!("cm")),
            "masters.1.unit",
            "mm or in",
        ),
        (
            plain("/masters/1/uncertainty", json!("1")),
            "masters.1.uncertainty",
            "hundredth",
        ),
        (
            plain("/masters/1/uncertainty", json!("-1")),
            "masters.1.uncertainty",
            "above 0",
        ),
        (
            plain("/masters/1/master", json!("")),
            "masters.1.master",
            "name",
        ),
        (
            plain("/masters/1/master", json!("SM-2")),
            "masters.1.master",
            "two masters",
        ),
        (
            plain("/masters", json!([])),
            "masters",
            "three masters at least",
        ),
        (plain("/rounds", json!(0)), "rounds", "1 to 200"),
        (
            plain("/instrument", json!("")),
            "instrument",
            "Name the instrument",
        ),
        (
            with(plain_masters("lin", 3), "job", json!("PLUGS")),
            "job",
            "no thread",
        ),
        (
            with(plain_masters("lin", 3), "methods", json!(["by hand"])),
            "methods",
            "No wires",
        ),
        (
            with(plain_masters("lin", 3), "over", json!("steam")),
            "over",
            "plain or wires",
        ),
        (
            with(plain_masters("lin", 3), "kind", json!("stability")),
            "masters",
            "the one master",
        ),
        (
            with(plain_masters("lin", 3), "kind", json!("stability")),
            "every_days",
            "1 to 366 days",
        ),
        (
            with(plain_masters("lin", 3), "kind", json!("gauge_rr")),
            "masters",
            "Only linearity",
        ),
        // The outside diameter is easily typed in the place of the pitch diameter.
        (
            threaded("/masters/2/size", json!("0.5000")),
            "masters.2.size",
            "pitch diameter",
        ),
        (
            with(whole(), "pieces", json!(["A"])),
            "pieces",
            "Masters are measured",
        ),
        (with(whole(), "methods", json!([])), "methods", "one method"),
        (
            with(whole(), "feature", json!("bare")),
            "masters.0.size",
            "pitch diameter",
        ),
        (
            threaded(
                "/masters/2",
                json!({"master":"C","size":"0.5650","unit":"in","feature":"bare"}),
            ),
            "masters.2.feature",
            "wire set",
        ),
        (
            threaded(
                "/masters/2",
                json!({"master":"C","size":"0.4500","unit":"in","feature":"none"}),
            ),
            "masters.2.feature",
            "The job has",
        ),
    ] {
        let (status, refused) = shop.plan(&form);
        let told = refused["fields"][field].as_str().unwrap_or_default();
        assert!(
            status == 422 && told.contains(words),
            "{field} {words}: {refused}"
        );
    }
    let (status, answer) = shop.plan(&with(
        plain_masters("other", 3),
        "instrument",
        json!("MIC-9"),
    ));
    assert_eq!(status, 200, "{answer}");
    let tags = json!({"study":"other"});
    let (status, refused) = shop.daemon.post("/api/stations/s0/tags", &tags);
    let told = refused["fields"]["study"].as_str().unwrap_or_default();
    assert!(status == 422 && told.contains("MIC-9"), "{refused}");
}

/// Setting plugs of three sizes, each with a thread and wires of its own: the study goes from one to the next, and
/// what fills it is the pitch diameter.
#[test]
fn threaded_masters_of_several_sizes_are_measured_over_their_own_wires() {
    let mut shop = Shop::new("threaded-masters");
    let plugs = [
        ("M10", "M10-6g", "0.866", "9.0260"),
        ("M12", "M12-6g", "1.0104", "10.8630"),
        ("M16", "M16-6g", "1.1547", "14.7010"),
    ];
    for (name, _, wires, _) in plugs {
        let set = json!({"wire_set":format!("W-{name}"),"unit":"mm","diameters":[wires],"by":"AK"});
        shop.daemon.done("/api/wire-sets", &set);
    }
    // Limits of a master may be so narrow that its reading fits another job's better: it is not held for that.
    let narrow = json!({"unit": "mm", "min": "14.6990", "max": "14.6995"});
    let feature = |(name, thread, ..): &(&str, &str, &str, &str)| {
        let limits = (*name == "M16").then(|| narrow.clone());
        json!({"name": name, "thread": thread, "wire_set": format!("W-{name}"), "limits": limits})
    };
    let features: Vec<Value> = plugs.iter().map(feature).collect();
    let job = json!({"job":"PLUGS","features":features,"by":"AK"});
    shop.daemon.done("/api/jobs", &job);
    let wide = json!({"unit": "mm", "min": "14.650", "max": "14.750"});
    let end = json!({"name":"end","thread":"M16-6g","wire_set":"W-M16","limits":wide});
    let job = json!({"job":"K","features":[end],"by":"AK"});
    shop.daemon.done("/api/jobs", &job);
    let master = |(name, .., size): &(&str, &str, &str, &str)| {
        let name = *name;
        json!({"master": format!("plug {name}"), "size": size, "unit": "mm", "feature": name})
    };
    let masters: Vec<Value> = plugs.iter().map(master).collect();
    shop.begin(
        &json!({"study":"plugs","kind":"linearity","job":"PLUGS","feature":"M10","methods":["by hand"],
            "masters":masters,"rounds":2,"instrument":"MIC-0","seed":3,"by":"AK"}),
    );
    // Over these wires each plug reads, at its certified pitch diameter (by `overwire convert`):
    let over_wires = |name: &str| {
        let (_, thread, wires, size) = plugs.iter().find(|plug| plug.0 == name).expect("a plug");
        let line = json!({"thread":thread,"wires":wires.parse::<f64>().ok(),"unit":"mm",
            "pitch_diameter":size.parse::<f64>().ok()});
        converted(&line)["over_wires"].as_f64().expect("a length")
    };
    for number in 1..=6 {
        let station = shop.daemon.station("s0");
        let master = station["study"]["next"]["master"]["name"].clone();
        let name = master
            .as_str()
            .and_then(|name| name.strip_prefix("plug "))
            .expect("a plug");
        assert_eq!(
            (&station["tags"]["feature"], &station["tags"]["wire_set"]),
            (&json!(name), &json!(format!("W-{name}"))),
            "the station goes with the study: {station}"
        );
        // Each plug reads two thousandths more than it is.
        let reading = shop.press(&format!("{:.3}", over_wires(name) + 0.002));
        assert_eq!(
            (&reading["counted"], &reading["feature"]),
            (&json!(true), &json!(name)),
            "{reading}"
        );
        if number == 3 {
            let before = shop.daemon.station("s0")["tags"].clone();
            shop.restart();
            assert_eq!(shop.daemon.station("s0")["tags"], before);
        }
    }
    let rows = section(&shop.result("plugs"), BIAS)["table"]["rows"].clone();
    for (row, (.., size)) in rows.as_array().expect("rows").iter().zip(plugs) {
        let bias: f64 = row[2]
            .as_str()
            .and_then(|text| text.parse().ok())
            .expect("a bias");
        assert_eq!(row[0], *size);
        assert!((bias - 0.002).abs() < 0.0006, "{rows}");
    }
    // Beside the readings of a job between the plugs it is said what was found; nothing is corrected.
    let job = json!({"job":"J","features":[{"name":"end","thread":"M14-6g","wire_set":"W-M16"}],"by":"AK"});
    shop.daemon.done("/api/jobs", &job);
    let tags = json!({"job":"J","purpose":"inspecting"});
    shop.daemon.done("/api/stations/s0/tags", &tags);
    let told = shop.daemon.station("s0")["bias"].to_string();
    assert!(
        told.contains("Study plugs of MIC-0: At 12.583 mm it reads 0.0024 mm higher")
            && told.contains("Nothing is corrected for it."),
        "{told}"
    );
    assert_eq!(shop.press("14.000")["corrections"], json!([]));
}

fn converted(line: &Value) -> Value {
    use std::io::Write as _;
    let mut convert = Command::new(program("overwire", "overwire"))
        .arg("convert")
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .spawn()
        .expect("overwire convert");
    let mut stdin = convert.stdin.take().expect("its input");
    writeln!(stdin, "{line}").expect("asked");
    drop(stdin);
    let output = convert.wait_with_output().expect("an answer");
    serde_json::from_slice(&output.stdout).expect("JSON")
}
