//! The inspection report on the narrower paper and with every column it can have: no word is broken in two.

use overwire_tests::one_station::{BUDGET, Shop};
use overwire_tests::sheet::{LETTER, are_all, pages, print, sizes};
use serde_json::json;

/// What stands between two marks, each time.
fn between<'a>(text: &'a str, begin: &str, end: &str) -> Vec<&'a str> {
    let parts = text.split(begin).skip(1);
    parts
        .filter_map(|part| Some(part.split_once(end)?.0))
        .collect()
}

/// Words of a piece of HTML without its marks.
fn words(html: &str) -> Vec<String> {
    let text: String = html
        .split('<')
        .map(|part| part.split_once('>').map_or(part, |(_, text)| text))
        .collect::<Vec<_>>()
        .join(" ");
    text.split_whitespace().map(str::to_owned).collect()
}

#[test]
fn no_word_of_a_table_is_broken_on_letter_paper() {
    let shop = Shop::new("report-words", BUDGET, "");
    shop.begin(
        &json!({"decision":"guarded","drawing":"HF-1716-03","drawing_revision":"C"}),
        "inspecting",
    );
    for (position, text) in [
        ("near shoulder, 0 deg", "0.51270"),
        ("near shoulder, 90 deg", "0.51600"),
        ("at the end, 0 deg", "0.50400"),
        ("at the end, 90 deg", "0.51515"),
    ] {
        let (status, answer) = shop.tags(&json!({"position":position}));
        assert_eq!(status, 200, "{answer}");
        shop.measure(text);
    }
    let held = shop.measure("12.9");
    assert!(
        held["verdict"] == "held" || held["counted"] == false,
        "{held}"
    );
    let html = shop.told(&["report", "--job", "J", "--paper", "letter"]);
    let sheet = print(&shop.folder, "words", &html);
    assert!(are_all(&sizes(&sheet), LETTER));
    let printed: std::collections::HashSet<String> =
        pages(&sheet).iter().flat_map(|page| words(page)).collect();
    let heads = between(&html, "<thead>", "</thead>");
    assert!(heads.len() >= 5, "{heads:?}");
    let cells = between(&html, "<tbody>", "</tbody>");
    for word in heads.into_iter().chain(cells).flat_map(words) {
        // A line may end after a hyphen or a slash, as anywhere in print.
        let whole = printed.contains(&word);
        let at_its_joints = || {
            word.split_inclusive(['-', '/'])
                .all(|part| printed.contains(part))
        };
        assert!(whole || at_its_joints(), "`{word}` is broken");
    }
}
