//! Colours and line types.
//!
//! Every class is a single, flat selector and every colour is one of the palette, so that the
//! same rules serve a page with custom properties and a program that knows only plain colours.
//! Text has a contrast of at least 4.5 to 1 on the paper, lines and symbols at least 3 to 1,
//! light and dark; the grid and the tints carry no meaning of their own and stay fainter.

use std::borrow::Cow;

use super::Look;

/// A colour's name, its value on light paper, on dark paper, and in print.
pub(super) const PALETTE: [(&str, &str, &str, &str); 12] = [
    ("paper", "#ffffff", "#12171c", "#ffffff"),
    ("ink", "#161c22", "#e8edf2", "#000000"),
    ("soft", "#4c5762", "#a9b5c0", "#333333"),
    ("grid", "#dde2e7", "#2b353e", "#dddddd"),
    ("tolerance", "#7a3300", "#f2b27a", "#000000"),
    ("guard", "#f7ede3", "#2d241b", "#f4f4f4"),
    ("control", "#0b4f94", "#8fc4ff", "#000000"),
    ("signal", "#a3122a", "#ff95a0", "#000000"),
    ("bar", "#b9cbdd", "#3b566f", "#d0d0d0"),
    ("edge", "#35536f", "#a9c4de", "#333333"),
    ("band", "#e6f1ea", "#193024", "#f0f0f0"),
    ("fit", "#54318a", "#cdb5f7", "#000000"),
];

/// Every rule; `$ink` and its like stand for a colour of the palette.
const RULES: &str = r#"
.ch-paper{fill:$paper}
.ch-text{fill:$ink}
.ch-strong{fill:$ink;font-weight:700}
.ch-quiet{fill:$soft}
.ch-text-tolerance{fill:$tolerance}
.ch-text-control{fill:$control}
.ch-text-fit{fill:$fit}
.ch-text-signal-strong{fill:$signal;font-weight:700}
.ch-back{fill:$paper;fill-opacity:0.85}
.ch-grid{fill:none;stroke:$grid;stroke-width:1}
.ch-axis{fill:none;stroke:$soft;stroke-width:1.2}
.ch-leader{fill:none;stroke:$soft;stroke-width:0.8}
.ch-tolerance{fill:none;stroke:$tolerance;stroke-width:2.2}
.ch-hatch{fill:none;stroke:$tolerance;stroke-width:0.9}
.ch-guard{fill:$guard}
.ch-guard-hatch{fill:none;stroke:$tolerance;stroke-width:0.6}
.ch-guard-line{fill:none;stroke:$tolerance;stroke-width:1}
.ch-control{fill:none;stroke:$control;stroke-width:1.6;stroke-dasharray:8 5}
.ch-centre{fill:none;stroke:$control;stroke-width:1.2;stroke-dasharray:16 3 3 3}
.ch-average{fill:none;stroke:$ink;stroke-width:1.2;stroke-dasharray:16 3 3 3}
.ch-joined{fill:none;stroke:$soft;stroke-width:1.1;stroke-linejoin:round}
.ch-envelope{fill:none;stroke:$ink;stroke-width:1;stroke-linejoin:round}
.ch-dots{fill:none;stroke:$ink;stroke-linecap:round}
.ch-hollow{fill:$paper;stroke:$ink;stroke-width:1.4}
.ch-signal{fill:$signal;stroke:$paper;stroke-width:1.2}
.ch-mark{fill:none;stroke:$soft;stroke-width:1.1;stroke-dasharray:2 3}
.ch-tab{fill:$paper;stroke:$soft;stroke-width:1}
.ch-bar{fill:$bar;stroke:$edge;stroke-width:1}
.ch-bar-second{fill:$paper;stroke:$edge;stroke-width:1}
.ch-bar-hatch{fill:none;stroke:$edge;stroke-width:1}
.ch-bar-third{fill:$edge;stroke:$edge;stroke-width:1}
.ch-curve{fill:none;stroke:$fit;stroke-width:2.2;stroke-linejoin:round}
.ch-forecast{fill:none;stroke:$fit;stroke-width:2;stroke-dasharray:3 4}
.ch-slope-limit{fill:none;stroke:$fit;stroke-width:1.5;stroke-dasharray:8 5}
.ch-spread{fill:$grid}
.ch-spread-edge{fill:none;stroke:$fit;stroke-width:1}
.ch-level{fill:none;stroke:$ink;stroke-width:1.6}
.ch-zero{fill:none;stroke:$soft;stroke-width:1}
.ch-band{fill:$band}
.ch-band-edge{fill:none;stroke:$ink;stroke-width:1.5;stroke-dasharray:1.5 3.5}
.ch-interval{fill:none;stroke:$ink;stroke-width:1.8}
.ch-mean{fill:$ink;stroke:$paper;stroke-width:1}
.ch-arrow{fill:$soft}
"#;

/// The style sheet of a look.
pub(super) fn sheet(look: Look) -> String {
    let font = "font-family:system-ui,\"Segoe UI\",Roboto,\"DejaVu Sans\",Arial,sans-serif";
    let mut style = match look {
        Look::Fixed => format!(".ch{{{font}}}"),
        Look::Page => {
            let light = properties(|(_, light, _, _)| light);
            let dark = properties(|(_, _, dark, _)| dark);
            let print = printed();
            format!(
                ".ch{{{font};font-variant-numeric:tabular-nums;{light}}}\n\
                 @media (prefers-color-scheme:dark){{.ch{{{dark}}}}}\n\
                 @media print{{.ch{{{print}}}}}"
            )
        }
    };
    style.push_str(&coloured(look));
    style
}

/// A drawing of either look with its colours written out.
pub(super) fn written_out(svg: &str) -> Cow<'_, str> {
    let of_the_page = sheet(Look::Page);
    match svg.contains(&of_the_page) {
        true => Cow::Owned(svg.replacen(&of_the_page, &sheet(Look::Fixed), 1)),
        false => Cow::Borrowed(svg),
    }
}

type Colour = (&'static str, &'static str, &'static str, &'static str);

fn properties(value: impl Fn(Colour) -> &'static str) -> String {
    PALETTE
        .into_iter()
        .map(|colour| format!("--ch-{0}:var(--chart-{0},{1});", colour.0, value(colour)))
        .collect()
}

/// Paper has its own colours, whatever the page's are.
fn printed() -> String {
    PALETTE
        .into_iter()
        .map(|(name, _, _, print)| format!("--ch-{name}:{print};"))
        .collect()
}

fn coloured(look: Look) -> String {
    let mut rules = RULES.to_owned();
    for (name, light, _, _) in PALETTE {
        let value = match look {
            Look::Fixed => light.to_owned(),
            Look::Page => format!("var(--ch-{name})"),
        };
        // A colour's name ends where its declaration does.
        for end in [';', '}'] {
            rules = rules.replace(&format!("${name}{end}"), &format!("{value}{end}"));
        }
    }
    rules
}
