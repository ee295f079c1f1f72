use super::*;
use overwire_config::profile;

fn decoder(name: &str) -> Decoder {
    Decoder::new(profile::find(name, None).unwrap().unwrap())
}

fn decode(decoder: &mut Decoder, chunks: &[&[u8]]) -> Vec<Outcome> {
    let mut given = Vec::new();
    for chunk in chunks {
        decoder.push(chunk, |outcome| given.push(outcome));
    }
    given
}

fn told(outcomes: &[Outcome]) -> Vec<String> {
    let mut noise = 0;
    let mut told = Vec::new();
    for outcome in outcomes {
        match outcome {
            Outcome::Frame(frame) => told.push(format!(
                "{} {:?} {:?}",
                frame.number,
                frame.unit.map(|unit| unit.as_str()),
                frame.channel
            )),
            Outcome::Refused(refused) => told.push(format!(
                "refused {} {:?}",
                refused.reason.code(),
                String::from_utf8_lossy(&refused.raw)
            )),
            Outcome::Noise(bytes) => noise += bytes,
        }
    }
    if noise > 0 {
        told.push(format!("noise {noise}"));
    }
    told
}

fn one(name: &str, bytes: &[u8]) -> Vec<String> {
    told(&decode(&mut decoder(name), &[bytes]))
}

#[test]
fn good_frames_of_each_shape() {
    for (name, bytes, wanted) in [
        ("decimal-line", &b"+0.51234\r\n"[..], r#"0.51234 None None"#),
        ("decimal-line", b"   25.400\n", r#"25.400 None None"#),
        ("decimal-line", b"- 0.0012\r", r#"-0.0012 None None"#),
        (
            "decimal-unit-line",
            b"+0.51234 in\r\n",
            r#"0.51234 Some("in") None"#,
        ),
        (
            "decimal-unit-line",
            b"25.400MM\r\n",
            r#"25.400 Some("mm") None"#,
        ),
        ("decimal-unit-line", b"25.400\r\n", r#"25.400 None None"#),
        (
            "channel-decimal-line",
            b"01: +25.400 mm\r\n",
            r#"25.400 Some("mm") Some("01")"#,
        ),
        (
            "channel-decimal-line",
            b"A 0.51234\r\n",
            r#"0.51234 None Some("A")"#,
        ),
        ("nr1-line", b"+51234\r\n", r#"51.234 None None"#),
        ("nr2-line", b".5\r\n", r#"0.5 None None"#),
        ("nr2-line", b"12.\r\n", r#"12 None None"#),
    ] {
        assert_eq!(one(name, bytes), [wanted], "{name} {bytes:?}");
    }
}

#[test]
fn what_is_no_frame_is_refused_with_its_reason() {
    for (name, bytes, wanted) in [
        (
            "decimal-line",
            &b"0.51x34\r\n"[..],
            r#"refused other-shape "0.51x34""#,
        ),
        (
            "decimal-line",
            b"51234\r\n",
            r#"refused other-shape "51234""#,
        ),
        (
            "decimal-line",
            b"0,51234\r\n",
            r#"refused other-shape "0,51234""#,
        ),
        (
            "decimal-line",
            b"1.2E-3\r\n",
            r#"refused other-shape "1.2E-3""#,
        ),
        ("nr2-line", b"1E3\r\n", r#"refused other-shape "1E3""#),
        (
            "decimal-line",
            b"0.123456789012345678\n",
            r#"refused too-many-digits "0.123456789012345678""#,
        ),
        (
            "decimal-line",
            b"0.5\xFF\x00\x3134\r\n",
            r#"refused damaged-character "0.534""#,
        ),
    ] {
        assert_eq!(one(name, bytes), [wanted], "{name} {bytes:?}");
    }
}

#[test]
fn noise_between_frames_is_skipped_and_counted() {
    let bytes = b"\x00\x80\x13+0.51234\r\n\xFF\xFF#~+0.51235\r\n\r\n\n+0.51236\r\n";
    assert_eq!(
        one("decimal-line", bytes),
        [
            "0.51234 None None",
            "0.51235 None None",
            "0.51236 None None",
            "noise 6"
        ]
    );
}

#[test]
fn noise_that_could_belong_to_a_number_is_never_split_from_it() {
    assert_eq!(
        one("decimal-line", b"7x0.51234\r\n"),
        [r#"refused other-shape "7x0.51234""#]
    );
    assert_eq!(
        one("decimal-line", b"1.0.51234\r\n"),
        [r#"refused other-shape "1.0.51234""#]
    );
    assert_eq!(
        one("decimal-line", b"1e+0.51234\r\n"),
        [r#"refused other-shape "1e+0.51234""#]
    );
    assert_eq!(
        one("decimal-line", b"7+0.51234\r\n"),
        [r#"refused other-shape "7+0.51234""#]
    );
}

#[test]
fn an_endless_line_stays_bounded_and_the_next_frame_is_found() {
    let mut decoder = decoder("decimal-line");
    let mut given = Vec::new();
    for _ in 0..1000 {
        decoder.push(&[b'#'; 1000], |outcome| given.push(outcome));
        assert!(decoder.line.len() <= decoder.profile.longest + 5);
        assert!(decoder.line.capacity() <= 2 * (decoder.profile.longest + 4));
    }
    decoder.push(b"\r\n+0.51234\r\n", |outcome| given.push(outcome));
    let told = told(&given);
    assert!(told[0].starts_with("refused too-long"), "{told:?}");
    assert_eq!(told[1], "0.51234 None None");
    let noise: usize = told[2].strip_prefix("noise ").unwrap().parse().unwrap();
    assert_eq!(noise, 1_000_000 - (decoder.profile.longest + 4));
}

#[test]
fn a_long_burst_of_noise_does_not_eat_the_frame_behind_it() {
    let mut bytes = vec![0x81; 500];
    bytes.extend_from_slice(b"+0.51234\r\n");
    assert_eq!(
        one("decimal-line", &bytes),
        ["0.51234 None None", "noise 500"]
    );
}

/// Where the chunks are cut must not matter: every way to cut the same bytes in two, and byte by byte.
#[test]
fn split_points_do_not_matter() {
    let bytes: &[u8] =
        b"+0.51234\r\n\x00\x01garbage\r\n  0.51235\r\n\xFF\x00\x35.1\r\nA1: 25.400 mm\n1.5 in\r";
    for name in [
        "decimal-line",
        "decimal-unit-line",
        "channel-decimal-line",
        "nr2-line",
    ] {
        let whole = one(name, bytes);
        for cut in 0..=bytes.len() {
            let (a, b) = bytes.split_at(cut);
            assert_eq!(
                told(&decode(&mut decoder(name), &[a, b])),
                whole,
                "{name} cut at {cut}"
            );
        }
        let single: Vec<&[u8]> = bytes.chunks(1).collect();
        assert_eq!(
            told(&decode(&mut decoder(name), &single)),
            whole,
            "{name} byte by byte"
        );
    }
}

#[test]
fn a_partial_frame_is_reported_and_never_joined_to_the_next() {
    let mut decoder = decoder("decimal-line");
    assert!(decode(&mut decoder, &[b"+0.512"]).is_empty());
    let cut = decoder.cut().unwrap();
    assert_eq!(
        cut,
        Refused {
            reason: Reason::CutShort,
            raw: b"+0.512".to_vec()
        }
    );
    assert_eq!(
        told(&decode(&mut decoder, &[b"34.5\r\n"])),
        ["34.5 None None"]
    );
    assert_eq!(decoder.cut(), None);
}

/// Random bytes of every kind: no panic, bounded memory, and a good frame is still found after a line end.
#[test]
fn random_bytes_never_break_it() {
    let mut state = 0x9E37_79B9_7F4A_7C15_u64;
    let mut random = move || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        state
    };
    let mut decoder = decoder("decimal-unit-line");
    for round in 0..2000 {
        let chunk: Vec<u8> = (0..random() % 90).map(|_| random() as u8).collect();
        decoder.push(&chunk, |_| {});
        let mut given = Vec::new();
        decoder.push(b"\n\n+1.234 mm\n", |outcome| given.push(outcome));
        let found = given.iter().any(|outcome| matches!(outcome, Outcome::Frame(frame) if frame.number.to_string() == "1.234"));
        // A mark that was left open may swallow the line end; the frame is then refused, not lost unseen.
        let refused = given
            .iter()
            .any(|outcome| matches!(outcome, Outcome::Refused(_)));
        assert!(found || refused, "round {round}: {given:?}");
    }
}
