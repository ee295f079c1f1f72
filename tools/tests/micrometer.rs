//! The program `micrometer` read back over its port: exact frames, hang-ups, words typed at it.

mod port;
mod program;

use std::io::Write;
use std::process::Command;

use port::{End, open, read, read_to_end};
use program::{Folder, Program};

fn micrometer(folder: &Folder, arguments: &[&str]) -> Program {
    let mut command = Command::new(env!("CARGO_BIN_EXE_micrometer"));
    command
        .arg("--port")
        .arg(folder.file("port"))
        .args(arguments);
    Program::start(command)
}

/// The values that the program says it has sent.
fn told(output: &str) -> Vec<String> {
    output
        .lines()
        .filter_map(|line| line.strip_prefix("sent "))
        .filter_map(|rest| rest.split(' ').next())
        .map(str::to_owned)
        .collect()
}

#[test]
fn frames_arrive_byte_for_byte() {
    let folder = Folder::new("frames");
    let program = micrometer(&folder, &["--press", "7", "--every", "15", "--seed", "3"]);
    let (bytes, _) = read_to_end(&read(open(&folder.file("port"))));
    let (success, output, errors) = program.finish();
    assert!(success, "{errors}");
    let told = told(&output);
    assert_eq!(told.len(), 7);
    let wanted: String = told.iter().map(|text| format!("{text}\r\n")).collect();
    assert_eq!(String::from_utf8(bytes).unwrap(), wanted);
    // 0.00005 in steps, five passes down, then the next piece.
    let numbers: Vec<f64> = told.iter().map(|text| text.parse().unwrap()).collect();
    assert!(
        told.iter()
            .all(|text| text.len() == 7 && text.ends_with(['0', '5'])),
        "{told:?}"
    );
    assert!(
        numbers[..5].windows(2).all(|two| two[1] < two[0]),
        "{told:?}"
    );
    assert!(numbers[5] > numbers[4], "{told:?}");
    assert!(!folder.file("port").exists(), "the link is left behind");
}

#[test]
fn other_shapes_units_and_line_ends_are_spoken() {
    let spoken = |arguments: &[&str]| {
        let folder = Folder::new("shapes");
        let _program = micrometer(&folder, &[arguments, &["--press", "1"]].concat());
        let (bytes, _) = read_to_end(&read(open(&folder.file("port"))));
        String::from_utf8(bytes).unwrap()
    };
    let target = [
        "--target",
        "12.5",
        "--major",
        "12",
        "--wire",
        "0.6",
        "--repeatability",
        "0",
    ];
    let numbers = [
        &target[..],
        &["--start", "12.7", "--cuts", "0.2", "--unit", "mm"],
    ]
    .concat();
    let shape = |shape: &str, end: &str| {
        spoken(&[&numbers, &["--shape", shape, "--end", end][..]].concat())
    };
    // The start varies by 0.01 mm at most: 12.69 to 12.71.
    let unit_line = shape("decimal-unit-line", "lf");
    assert!(
        unit_line.starts_with("12.") && unit_line.ends_with(" mm\n"),
        "{unit_line:?}"
    );
    let number: f64 = unit_line.trim_end_matches(" mm\n").parse().unwrap();
    assert!((12.689..=12.711).contains(&number), "{unit_line:?}");
    let text = unit_line.trim_end_matches(" mm\n");
    assert_eq!(
        shape("channel-decimal-line", "crlf"),
        format!("A1: {text} mm\r\n")
    );
    assert_eq!(shape("nr2-line", "cr"), format!("+{text}\r"));
    assert_eq!(
        shape("nr1-line", "cr"),
        format!("+{}\r", text.replace('.', ""))
    );
}

#[test]
fn the_same_seed_speaks_the_same() {
    let spoken = |seed: &str, noise: &str| {
        let folder = Folder::new("seeds");
        let arguments = [
            "--press", "8", "--every", "5", "--seed", seed, "--noise", noise,
        ];
        let program = micrometer(&folder, &arguments);
        let (bytes, _) = read_to_end(&read(open(&folder.file("port"))));
        (bytes, told(&program.finish().1))
    };
    let (bytes, values) = spoken("21", "0");
    assert_eq!(spoken("21", "0").0, bytes);
    assert_ne!(spoken("22", "0").1, values);
    let (noisy, with_noise) = spoken("21", "1");
    assert_eq!(with_noise, values, "noise changes no reading");
    // Every frame stands whole on a line of its own, each behind a line of noise.
    let lines: Vec<&[u8]> = noisy.split(|byte| *byte == b'\n').collect();
    assert_eq!(lines.len(), 2 * 8 + 1);
    for (value, lines) in values.iter().zip(lines.chunks(2)) {
        assert!(!lines[0].iter().any(u8::is_ascii_digit));
        assert_eq!(lines[1], format!("{value}\r").as_bytes());
    }
}

#[test]
fn a_pulled_plug_hangs_up_and_the_link_comes_back() {
    let folder = Folder::new("unplug");
    let program = micrometer(
        &folder,
        &[
            "--press", "5", "--every", "20", "--unplug", "2,0.4", "--seed", "9",
        ],
    );
    let link = folder.file("port");
    let (first, end) = read_to_end(&read(open(&link)));
    assert!(matches!(end, End::Eof | End::Eio), "{end:?}");
    assert!(
        std::fs::symlink_metadata(&link).is_err(),
        "the link stays while the plug is out"
    );
    let (second, _) = read_to_end(&read(open(&link)));
    let (success, output, errors) = program.finish();
    assert!(success, "{errors}");
    let frames = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap().replace("\r\n", " ");
    let told = told(&output);
    assert_eq!(frames(first).trim_end(), told[..2].join(" "));
    assert_eq!(frames(second).trim_end(), told[2..].join(" "));
    assert_eq!(told.len(), 5);
}

#[test]
fn words_are_obeyed() {
    let folder = Folder::new("words");
    let mut program = micrometer(&folder, &["--seed", "5"]);
    let reads = read(open(&folder.file("port")));
    let words = "\npress 2\nnowire\ndouble\nzero\nmm\n\nnoise\npressed\nunplug\n\nplug\nquit\n";
    program
        .0
        .stdin
        .as_mut()
        .unwrap()
        .write_all(words.as_bytes())
        .unwrap();
    let (bytes, _) = read_to_end(&reads);
    let (success, output, errors) = program.finish();
    assert!(success, "{errors}");
    let told = told(&output);
    assert_eq!(told.len(), 8, "{output}");
    // The missing wire reads halfway down to the major diameter, 1.0625; pass 4 is then measured.
    let wrong: f64 = told[3].parse().unwrap();
    let right: f64 = told[4].parse().unwrap();
    assert!(((right + 1.0625) / 2.0 - wrong).abs() < 0.0002, "{told:?}");
    assert_eq!(told[4], told[5], "a double press sends the same value");
    assert_eq!(told[6], "0.00000");
    let millimetres: f64 = told[7].parse().unwrap();
    assert!(
        (27.0..28.0).contains(&millimetres) && told[7].len() == 6,
        "{told:?}"
    );
    let frames: Vec<u8> = told
        .iter()
        .flat_map(|text| format!("{text}\r\n").into_bytes())
        .collect();
    assert_eq!(bytes[..frames.len()], frames);
    let noise = &bytes[frames.len()..];
    assert!(
        (1..=12).contains(&noise.len()) && !noise.contains(&b'\n'),
        "{noise:?}"
    );
    assert!(output.contains("`pressed` is no command"), "{output}");
    assert!(output.contains("the plug is out"), "{output}");
    assert!(output.contains("plugged in at"), "{output}");
}

// Limits of M10x1.5-6g, 8.862 to 8.994 mm, as ISO 965 tables print them (from memory); over 0.866 mm
// wires 3 W - 0.866025 P = 1.299 more (the plane handbook formula): 10.161 to 10.293, middle 10.227.
#[test]
fn a_named_thread_is_cut_to_the_middle_of_its_limits() {
    let folder = Folder::new("thread");
    let arguments = [
        "--thread",
        "M10x1.5-6g",
        "--wire",
        "0.866",
        "--unit",
        "mm",
        "--press",
        "5",
    ];
    let program = micrometer(&folder, &[&arguments[..], &["--every", "5"]].concat());
    let _reads = read(open(&folder.file("port")));
    let (success, output, errors) = program.finish();
    assert!(success, "{errors}");
    let told = told(&output);
    let last: f64 = told[4].parse().unwrap();
    assert!((10.21..10.245).contains(&last), "{told:?}");
}

#[test]
fn mistakes_happen_at_the_given_share() {
    let folder = Folder::new("strays");
    let program = micrometer(
        &folder,
        &["--press", "40", "--every", "0", "--stray", "0.4"],
    );
    let _reads = read(open(&folder.file("port")));
    let (success, output, errors) = program.finish();
    assert!(success, "{errors}");
    let wrong = [
        ", pressed with",
        ", the single wire",
        ", a wire rides",
        ", pressed twice",
    ];
    let count = |word: &str| output.lines().filter(|line| line.contains(word)).count();
    let mistakes: usize = wrong.iter().map(|word| count(word)).sum();
    // 40 tries at 0.4: 16, within three standard deviations of 3.1.
    assert!((7..=25).contains(&mistakes), "{output}");
    assert!(wrong.iter().all(|word| count(word) > 0), "{output}");
}

#[test]
fn a_file_in_the_links_place_is_left_alone() {
    let folder = Folder::new("refusal");
    std::fs::write(folder.file("port"), "mine").unwrap();
    let (success, _, errors) = micrometer(&folder, &["--press", "1"]).finish();
    assert!(!success);
    assert!(errors.contains("is not a link"), "{errors}");
    assert_eq!(
        std::fs::read_to_string(folder.file("port")).unwrap(),
        "mine"
    );
}

#[test]
fn sizes_that_cannot_be_cut_are_refused_with_a_sentence() {
    let folder = Folder::new("sizes");
    let refusal = |arguments: &[&str]| {
        let (success, _, errors) = micrometer(&folder, arguments).finish();
        assert!(!success, "{arguments:?}");
        errors
    };
    assert!(refusal(&["--start", "1.0"]).contains("nothing is left to cut"));
    assert!(refusal(&["--repeatability", "NaN"]).contains("is no length"));
    assert!(refusal(&["--wire", "0.04"]).contains("--wire needs --thread"));
    assert!(refusal(&["--thread", "M10x1.5-6q", "--wire", "0.03"]).contains("M10x1.5-6q"));
    assert!(refusal(&["--noise", "2"]).contains("a number from 0 to 1"));
    assert!(refusal(&["--unplug", "soon"]).contains("3,1.5"));
}
