//! Both ways through must say the same, and what is not plain must not take the quick one.

use super::*;

/// The quick way's answer, when the line takes it.
fn quick(converter: &mut Converter, line: &str) -> Option<String> {
    converter
        .answer_plain(line.as_bytes())
        .then(|| String::from_utf8(converter.answer.clone()).expect("text"))
}

fn long(line: &str) -> String {
    format!("{}\n", the_long_way(line.as_bytes()))
}

/// Lines in every shape that the quick way takes.
fn plain_lines() -> Vec<String> {
    let shapes = [
        r#""thread":"9/16-18 UNF-2A","wires":0.0395"#,
        r#""thread":"M10x1.5-6g", "wires":[0.866,0.866,0.8661]"#,
        r#""unit":"in","thread":"M10x1.5-6g","wires":0.0341"#,
        r#""thread":"M10x1.5-6g","wires":0.2"#,
        r#""thread":"M10x1.5-6g","wires":[1,1,0.5]"#,
        r#""thread":"1/2-13 UNC-2A","pitch_diameter_min":0.44,"pitch_diameter_max":0.45,"wires":4441e-5"#,
        r#""geometry":{"pitch":3,"starts":4,"hand":"left","leading_flank_deg":15,"major_diameter":24},"unit":"mm","wires":1.553"#,
        r#""geometry":{"trailing_flank_deg":45,"pitch":1.50,"leading_flank_deg":7},"wires":0.8"#,
        r#""thread":"1/2-13 UNC-2A""#,
        r#""geometry":{"pitch":3}"#,
    ];
    let sizes = [
        "",
        r#","over_wires":0.5930"#,
        r#","over_wires":10.2"#,
        r#","pitch_diameter":9"#,
        r#","pitch_diameter":0.4481"#,
        r#","over_wires":2.5e1"#,
        r#","over_wires":23"#,
    ];
    shapes
        .iter()
        .flat_map(|shape| sizes.map(|size| format!("{{{shape}{size}}}")))
        .collect()
}

#[test]
fn both_ways_say_the_same() {
    let mut converter = Converter::default();
    // Twice: the second time everything is known already.
    for line in plain_lines().iter().chain(&plain_lines()) {
        assert_eq!(quick(&mut converter, line), Some(long(line)), "{line}");
    }
}

#[test]
fn what_is_not_plain_goes_the_long_way() {
    let lines = [
        r#"{"thread":"M10x1.5-6g","wires":0.866,"over_wires":null}"#,
        r#"{"thread":null,"geometry":{"pitch":3}}"#,
        r#"{"thread":"M10x1.5-6g","wires":0.866,"wires":0.867}"#,
        r#"{"thread":"M10x1.5-6\u0067","wires":0.866}"#,
        r#"{"thread":"M10x1.5-6g","unit":{"mm":null},"wires":0.866}"#,
        r#"{"geometry":[3,1,"left",15,15,24],"wires":1.553}"#,
        r#"{"geometry":{"pitch":3,"hand":{"left":null}}}"#,
        r#"{"thread":"M10x1.5-6g","wires":[0.866]}"#,
        r#"{"thread":"M10x1.5-6g","wires":0.866,"over_wires":10.2,"pitch_diameter":9}"#,
        r#"{"thread":"M10x1.5-6g","wires":0.866,"over_wires":-1}"#,
        r#"{"thread":"M10x1,5-6g"}"#,
        r#"["M10x1.5-6g",null,null,null,null,0.866,10.2,null]"#,
        r#"{"thread":"M10x1.5-6g"} x"#,
        "null",
        "",
    ];
    let mut converter = Converter::default();
    for line in lines {
        assert_eq!(quick(&mut converter, line), None, "{line}");
    }
}

/// More threads than are kept: the first ones are dropped, and answered as before when they return.
#[test]
fn what_was_dropped_is_prepared_again() {
    let mut converter = Converter::default();
    let line = |size: u32| {
        format!(r#"{{"geometry":{{"pitch":1,"major_diameter":{size}}},"pitch_diameter":9.5}}"#)
    };
    let first = quick(&mut converter, &line(10));
    for size in 10..800 {
        assert!(quick(&mut converter, &line(size)).is_some());
    }
    assert_eq!(quick(&mut converter, &line(10)), first);
}

#[test]
fn a_line_without_end_is_not_kept() {
    let mut input = "x".repeat(LONGEST_LINE as usize + 10);
    input += "\n{}\nlast";
    let mut input = input.as_bytes();
    let mut line = Vec::new();
    let mut next = |line: &mut Vec<u8>| next_line(&mut input, line).expect("readable");
    assert!(matches!(next(&mut line), Taken::TooLong));
    assert!(line.is_empty());
    assert!(matches!(next(&mut line), Taken::Line));
    assert_eq!(line, b"{}");
    assert!(matches!(next(&mut line), Taken::Line));
    assert_eq!(line, b"last");
    assert!(matches!(next(&mut line), Taken::Nothing));
}
