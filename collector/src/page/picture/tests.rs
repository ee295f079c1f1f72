//! The pictures are read back as text and measured: nothing here looks at the drawing code's
//! own intermediate numbers. Geometry of seated wires: from memory, the plane formula every
//! handbook prints, distance of a wire's axis = d2/2 - P/(4 tan a) + (w/2)/sin a.

use super::*;

/// An inch thread of 12 to the inch with wires near the best size.
fn inch_thread() -> Scene {
    symmetric(25.4 / 12.0, 30.0, 26.94, 25.48, [1.222; 3])
}

fn symmetric(pitch: f64, flank: f64, major: f64, pitch_diameter: f64, wires: [f64; 3]) -> Scene {
    let flank_radians = flank.to_radians();
    let axis = |wire: f64| {
        pitch_diameter / 2.0 - pitch / (4.0 * flank_radians.tan())
            + wire / 2.0 / flank_radians.sin()
    };
    let pair = (wires[1] + wires[2]) / 2.0;
    let over_wires = axis(wires[0]) + axis(pair) + (wires[0] + pair) / 2.0;
    Scene {
        title: "J-2417 stud end".to_owned(),
        unit_label: "mm".to_owned(),
        millimetres_per_unit: 1.0,
        places: 3,
        pitch,
        starts: 1,
        left_hand: false,
        leading_flank_deg: flank,
        trailing_flank_deg: flank,
        major_diameter: major,
        root_diameter: None,
        pitch_diameter,
        pitch_diameter_limits: Some((pitch_diameter - 0.06, pitch_diameter + 0.09)),
        wires,
        wire_axis_radius: [axis(wires[0]), axis(pair)],
        over_wires,
        over_wires_limits: Some((over_wires - 0.06, over_wires + 0.09)),
        measured: true,
        verdict: Some(("pass", "PASS".to_owned())),
        seat_sentence: None,
    }
}

/// A thread whose load flank leans 7 degrees and whose other flank 45. The wire's distance
/// from both flank lines is its radius: two straight lines, solved for the axis.
fn buttress() -> Scene {
    let (steep, slanted) = (7f64.to_radians(), 45f64.to_radians());
    let mut scene = symmetric(6.0, 30.0, 50.0, 46.3, [3.4; 3]);
    let lines = steep.tan() + slanted.tan();
    let axis = 46.3 / 2.0 + (1.7 / steep.cos() + 1.7 / slanted.cos() - 3.0) / lines;
    scene.leading_flank_deg = 7.0;
    scene.trailing_flank_deg = 45.0;
    scene.wire_axis_radius = [axis; 2];
    scene
}

fn attribute(element: &str, name: &str) -> f64 {
    let start = element.find(&format!(" {name}=\"")).unwrap() + name.len() + 3;
    let length = element[start..].find('"').unwrap();
    element[start..start + length].parse().unwrap()
}

/// Elements with a class, as lines of the document.
fn elements<'a>(picture: &'a str, class: &str) -> Vec<&'a str> {
    let mark = format!("class=\"{class}\"");
    picture
        .lines()
        .filter(|line| line.starts_with('<') && line.contains(&mark))
        .collect()
}

/// The runs of points of a path element.
fn runs(element: &str) -> Vec<Vec<(f64, f64)>> {
    let start = element.find(" d=\"").unwrap() + 4;
    let drawn = &element[start..];
    let drawn = drawn[..drawn.find('"').unwrap()].replace('Z', "");
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

fn distance((x, y): (f64, f64), from: (f64, f64), to: (f64, f64)) -> f64 {
    let (along_x, along_y) = (to.0 - from.0, to.1 - from.1);
    let length_squared = along_x * along_x + along_y * along_y;
    let part = ((x - from.0) * along_x + (y - from.1) * along_y) / length_squared.max(1e-12);
    let part = part.clamp(0.0, 1.0);
    (x - from.0 - part * along_x).hypot(y - from.1 - part * along_y)
}

/// The least distance from a circle's centre to the edge of any metal, less its radius.
fn least_gap(picture: &str, circle: &str) -> f64 {
    let centre = (attribute(circle, "cx"), attribute(circle, "cy"));
    let metal = elements(picture, "metal");
    let nearest = metal
        .into_iter()
        .flat_map(runs)
        .flat_map(|run| {
            let edges = run
                .windows(2)
                .map(|ends| distance(centre, ends[0], ends[1]));
            edges.collect::<Vec<_>>()
        })
        .fold(f64::INFINITY, f64::min);
    nearest - attribute(circle, "r")
}

/// Threads and wires that belong together; sizes from memory, nothing rests on them but the
/// formula in the head comment.
fn threads() -> Vec<Scene> {
    let mut four_starts = symmetric(3.0, 15.0, 24.0, 22.36, [1.55; 3]);
    four_starts.starts = 4;
    four_starts.root_diameter = Some(20.5);
    vec![
        inch_thread(),
        symmetric(1.5, 30.0, 9.968, 8.93, [0.866; 3]),
        symmetric(1.5, 30.0, 39.968, 38.95, [0.9, 0.88, 0.866]),
        symmetric(6.0, 15.0, 36.0, 32.7, [3.106; 3]),
        four_starts,
        buttress(),
    ]
}

#[test]
fn wires_touch_their_flanks_and_do_not_cut_into_them() {
    for scene in threads() {
        let picture = svg(&scene);
        let circles = elements(&picture, "wire");
        assert_eq!(circles.len(), 3, "{}", scene.pitch);
        for circle in circles {
            let gap = least_gap(&picture, circle);
            assert!(gap.abs() < 0.05, "{circle} is {gap} units off the metal");
        }
        assert_eq!(elements(&picture, "contact").len(), 6);
    }
}

#[test]
fn a_wire_too_deep_would_be_noticed() {
    let mut scene = inch_thread();
    scene.wire_axis_radius[0] -= 0.05;
    let picture = svg(&scene);
    let circles = elements(&picture, "wire");
    let deepest = circles.iter().map(|circle| least_gap(&picture, circle));
    assert!(deepest.fold(f64::INFINITY, f64::min) < -0.5);
}

#[test]
fn both_directions_have_the_stated_scale() {
    for scene in threads() {
        let picture = svg(&scene);
        let root = picture.lines().next().unwrap();
        let scale = attribute(root, "data-units-per-millimetre");
        let wires = elements(&picture, "wire");
        // The pair is drawn first.
        let radius = attribute(wires[0], "r");
        assert!((radius / scale - scene.wires[1] / 2.0).abs() < 0.01 / scale);
        let pair = attribute(wires[1], "cx") - attribute(wires[0], "cx");
        assert!((pair.abs() / scale - scene.pitch).abs() < 0.02 / scale);
        // Downward: crest to pitch line, from the outline and the chain line.
        let metal = runs(elements(&picture, "metal")[0]).concat();
        let crest = metal.iter().map(|point| point.1).fold(f64::MAX, f64::min);
        let line = runs(elements(&picture, "pitch-line")[0]).concat()[0].1;
        let above = (scene.major_diameter - scene.pitch_diameter) / 2.0;
        assert!(((line - crest) / scale - above).abs() < 0.02 / scale);
    }
}

#[test]
fn flanks_have_their_angles_on_paper() {
    let picture = svg(&buttress());
    let metal = runs(elements(&picture, "metal")[0]).concat();
    let mut angles: Vec<i64> = metal
        .windows(2)
        .filter(|ends| (ends[0].1 - ends[1].1).abs() > 20.0 && ends[0].0 != ends[1].0)
        .map(|ends| {
            let (across, down) = (ends[1].0 - ends[0].0, ends[1].1 - ends[0].1);
            (across / down).atan().to_degrees().round() as i64
        })
        .collect();
    angles.sort_unstable();
    angles.dedup();
    // Down into the groove along the steep leading flank, up again along the slanted one.
    assert_eq!(angles, [-45, 7]);
}

#[test]
fn faces_touch_the_wires() {
    let picture = svg(&inch_thread());
    let tops = elements(&picture, "wire")
        .into_iter()
        .map(|circle| attribute(circle, "cy") - attribute(circle, "r"))
        .fold(f64::INFINITY, f64::min);
    let face = elements(&picture, "face")[0];
    let touching = attribute(face, "y") + attribute(face, "height");
    assert!((tops - touching).abs() < 0.03);
}

#[test]
fn an_even_number_of_starts_sets_the_grooves_opposite_each_other() {
    let offset = |starts: u32| {
        let mut scene = inch_thread();
        scene.starts = starts;
        let picture = svg(&scene);
        let wires = elements(&picture, "wire");
        let places = wires.iter().map(|circle| attribute(circle, "cx"));
        let [first, second, single] = places.collect::<Vec<_>>()[..] else {
            panic!("three wires");
        };
        (single - first) / (second - first)
    };
    for (starts, expected) in [(1, 0.5), (2, 0.0), (3, 0.5), (4, 0.0)] {
        assert!((offset(starts) - expected).abs() < 0.001, "{starts} starts");
    }
}

#[test]
fn grooves_half_a_turn_apart_carry_the_same_letter() {
    // Four starts: half a lead is two pitches, so A stands opposite C and B opposite D.
    let mut scene = symmetric(3.0, 15.0, 24.0, 22.36, [1.55; 3]);
    scene.starts = 4;
    let picture = svg(&scene);
    let letters = elements(&picture, "strong").into_iter().filter_map(|line| {
        let content = line.rsplit_once("</text>")?.0.rsplit_once('>')?.1;
        (content.len() == 1).then(|| (attribute(line, "x"), content.to_owned()))
    });
    let mut letters: Vec<(f64, String)> = letters.collect();
    letters.sort_by(|one, other| one.0.total_cmp(&other.0));
    let opposite: Vec<String> = letters
        .chunks(2)
        .map(|pair| format!("{}{}", pair[0].1, pair[1].1))
        .collect();
    assert_eq!(opposite, ["DB", "AC", "BD", "CA"]);
}

#[test]
fn the_pointer_stands_where_the_reading_lies_between_the_limits() {
    let scene = inch_thread();
    let picture = svg(&scene);
    let limits: Vec<f64> = elements(&picture, "limit")
        .into_iter()
        .map(|line| runs(line)[0][0].1)
        .collect();
    let reading = runs(elements(&picture, "reading good")[0])[0][0].1;
    // 0.06 above the minimum, of a band of 0.15.
    let share = (limits[0] - reading) / (limits[0] - limits[1]);
    assert!((share - 0.4).abs() < 0.002, "{share}");
}

#[test]
fn limits_and_reading_are_written_in_the_unit_of_the_job() {
    let picture = svg(&inch_thread());
    for text in ["max 25.570", "min 25.420", "d\u{2082} 25.480 mm", "PASS"] {
        assert!(picture.contains(text), "{text} is missing");
    }
    let mut inch = inch_thread();
    inch.unit_label = "in".to_owned();
    inch.millimetres_per_unit = 25.4;
    inch.places = 4;
    let picture = svg(&inch);
    // 25.57 / 25.4 and 25.42 / 25.4.
    for text in ["max 1.0067", "min 1.0008", "pitch 0.0833 in", "0.04811 in"] {
        assert!(picture.contains(text), "{text} is missing");
    }
}

#[test]
fn a_reading_far_outside_says_so() {
    for (change, word) in [(1.2, "over by"), (-1.2, "under by")] {
        let mut scene = inch_thread();
        let limits = scene.pitch_diameter_limits;
        scene = symmetric(scene.pitch, 30.0, 26.94, 25.48 + change, scene.wires);
        scene.pitch_diameter_limits = limits;
        let picture = svg(&scene);
        assert!(picture.contains("off scale,"), "{change}");
        assert!(picture.contains(word), "{change}");
    }
    assert!(!svg(&inch_thread()).contains("off scale"));
}

#[test]
fn numbers_are_never_shortened() {
    let mut scene = inch_thread();
    scene.places = 8;
    scene.title = "A very long name of a job ".repeat(9);
    for measured in [true, false] {
        scene.measured = measured;
        let picture = svg(&scene);
        for number in ["25.48000000", "25.57000000", "25.42000000"] {
            assert!(picture.contains(&format!("{number}</text>")), "{number}");
        }
        // Only the title ends in an ellipsis.
        assert_eq!(picture.matches('\u{2026}').count(), 1);
    }
}

#[test]
fn without_limits_or_reading_it_says_so() {
    let mut scene = inch_thread();
    scene.pitch_diameter_limits = None;
    scene.measured = false;
    assert!(svg(&scene).contains(">Over wires</text>"));
    scene.over_wires_limits = None;
    let picture = svg(&scene);
    assert!(picture.contains("No limits"));
    assert!(picture.contains("Nothing measured yet."));
}

#[test]
fn hostile_texts_stay_texts() {
    let mut scene = inch_thread();
    let hostile = "</text><script>alert('&\"')</script>\u{0}\u{8}\u{ffff}";
    scene.title = hostile.to_owned();
    scene.unit_label = hostile.to_owned();
    scene.seat_sentence = Some(hostile.to_owned());
    scene.verdict = Some(("none", hostile.to_owned()));
    for picture in [svg(&scene), empty(hostile)] {
        assert!(!picture.contains("<script"));
        assert!(!picture.contains("&\""));
        assert!(!picture.contains(['\u{0}', '\u{8}', '\u{ffff}']));
        assert!(picture.contains("&lt;script&gt;"));
    }
}

#[test]
fn numbers_that_cannot_be_drawn_give_the_empty_sheet() {
    type Spoil = fn(&mut Scene, f64);
    let spoils: [Spoil; 10] = [
        |scene, bad| scene.pitch = bad,
        |scene, bad| scene.major_diameter = bad,
        |scene, bad| scene.pitch_diameter = bad,
        |scene, bad| scene.over_wires = bad,
        |scene, bad| scene.wires[1] = bad,
        |scene, bad| scene.wire_axis_radius[0] = bad,
        |scene, bad| scene.leading_flank_deg = bad,
        |scene, bad| scene.millimetres_per_unit = bad,
        |scene, bad| scene.wires[0] = bad.abs() * 1e3,
        |scene, _| scene.starts = 0,
    ];
    for spoil in spoils {
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1.0] {
            let mut scene = inch_thread();
            spoil(&mut scene, bad);
            assert!(svg(&scene).contains("<title>No picture</title>"));
        }
    }
}

#[test]
fn unusable_limits_and_roots_are_left_out() {
    let mut scene = inch_thread();
    scene.root_diameter = Some(f64::NAN);
    scene.pitch_diameter_limits = Some((f64::NAN, 25.0));
    scene.over_wires_limits = Some((27.0, f64::INFINITY));
    let picture = svg(&scene);
    assert!(picture.contains("No limits"));
    assert!(picture.contains("Dashed root: assumed."));
    assert!(!picture.contains("NaN") && !picture.contains("inf"));
}

#[test]
fn any_numbers_give_a_finite_picture() {
    // A fixed sequence of numbers over many magnitudes; a failure names its round.
    let mut state = 0x2545_f491_4f6c_dd1d_u64;
    let mut random = move |low: f64, high: f64| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        let part = (state >> 11) as f64 / (1u64 << 53) as f64;
        low * (high / low).powf(part)
    };
    let mut drawn = 0;
    for round in 0..1000 {
        let pitch = random(0.1, 30.0);
        let flank = random(1.1, 79.0);
        let pitch_diameter = pitch * random(0.4, 60.0);
        let major = pitch_diameter * random(0.8, 1.5);
        let wires = [0; 3].map(|_| pitch * random(0.2, 3.0));
        let mut scene = symmetric(pitch, flank, major, pitch_diameter, wires);
        scene.trailing_flank_deg = random(0.1, 79.0);
        scene.wire_axis_radius[1] *= random(0.5, 2.0);
        scene.starts = random(1.0, 40.0) as u32;
        scene.root_diameter = (round % 2 == 0).then(|| major * random(0.1, 2.0));
        let width = random(1e-8, 1e4);
        scene.pitch_diameter_limits = Some((pitch_diameter, pitch_diameter + width));
        let picture = svg(&scene);
        assert!(picture.len() < 200_000, "round {round}");
        assert!(!picture.contains("NaN"), "round {round}");
        assert!(!picture.contains("inf "), "round {round}");
        drawn += usize::from(!picture.contains("No picture"));
    }
    assert!(drawn > 500, "only {drawn} were drawn");
}
