//! Colours and hatchings.
//!
//! A kind of work is told by its lightness, its hatching and its mark, so that the chart
//! reads in grey and for every kind of colour vision; the hue only helps. Each colour
//! has a value for paper and one for a dark screen. Contrasts are tested against WCAG
//! 2.2 (1.4.3: text 4.5:1, 1.4.11: lines that carry meaning 3:1).

use std::fmt::Write as _;

use crate::kind::JobKind;

/// One colour: its name in the style sheet, on paper, on a dark screen.
pub(crate) type Colour = (&'static str, &'static str, &'static str);

/// Colours of the page and of the chart's frame.
pub(crate) const FRAME: [Colour; 12] = [
    ("paper", "#fcfbf7", "#14171a"),
    ("sheet", "#f3f1ea", "#1d2125"),
    ("ink", "#1b1e21", "#ebe9e3"),
    ("soft", "#54585c", "#b3b5b3"),
    ("rule", "#d5d2c8", "#34393e"),
    ("month", "#a9a69b", "#565c62"),
    ("weekend", "#f0ede4", "#1a1e22"),
    ("closed", "#e3dfd2", "#262b30"),
    ("edge", "#43484d", "#c4c6c4"),
    ("gate", "#8e1b12", "#ff9a8c"),
    ("done", "#17573a", "#86d3a8"),
    ("today", "#1f4f99", "#8fbaff"),
];

/// What a kind is filled with.
pub(crate) struct Fill {
    /// Ground, hatching and text, on paper.
    pub paper: [&'static str; 3],
    /// The same on a dark screen.
    pub dark: [&'static str; 3],
    /// Side of the square tile.
    pub tile: u32,
    /// The hatching as a path in the tile; empty for a plain fill.
    pub hatch: &'static str,
    /// Width of the hatching's lines in tenths of a pixel.
    pub line: u32,
}

/// The fill of a kind.
pub(crate) fn fill(kind: JobKind) -> Fill {
    let ink = "#16181a";
    let pale = "#f4f2ec";
    let of =
        |paper: [&'static str; 2], dark: [&'static str; 2], tile, hatch, line| Fill {
            paper: [paper[0], paper[1], ink],
            dark: [dark[0], dark[1], pale],
            tile,
            hatch,
            line,
        };
    match kind {
        JobKind::Remove => of(
            ["#aebfd6", "#5b7ba6"],
            ["#33475f", "#7c9cc4"],
            6,
            "M-1 7L7-1M-1 1L1-1M5 7L7 5",
            13,
        ),
        JobKind::Strip => {
            of(["#d6e1ec", "#86a1bd"], ["#2a3946", "#61809b"], 4, "M2 0V4", 10)
        }
        JobKind::Clean => {
            of(["#dcefec", "#5f9f95"], ["#20403c", "#66a89d"], 4, "M1 1h1M3 3h1", 11)
        }
        JobKind::Inspect => of(
            ["#fbf2cf", "#b08f24"],
            ["#453c1a", "#bda24a"],
            8,
            "M2 4a2 2 0 1 0 4 0a2 2 0 1 0-4 0",
            9,
        ),
        JobKind::Repair => Fill {
            paper: ["#4b3226", "#4b3226", "#ffffff"],
            dark: ["#e0bda6", "#e0bda6", "#1a1410"],
            tile: 4,
            hatch: "",
            line: 0,
        },
        JobKind::Away => of(
            ["#fdfdfb", "#8b9095"],
            ["#14171a", "#5c6268"],
            10,
            "M-2 12L12-2M-2 2L2-2M8 12L12 8",
            26,
        ),
        JobKind::Finish => {
            of(["#f7d5b0", "#c98538"], ["#54391d", "#b9803f"], 4, "M0 2H4", 10)
        }
        JobKind::Wait => {
            of(["#fdfdfb", "#6d7278"], ["#14171a", "#92989d"], 6, "M2 2h1.4M5 5h1.4", 13)
        }
        JobKind::Assemble => {
            of(["#c5dcba", "#6d9a5b"], ["#2c4426", "#6f9d5f"], 6, "M3 0V6M0 3H6", 9)
        }
        JobKind::Refit => of(
            ["#9dc3a0", "#417a4b"],
            ["#25492d", "#5f9f6a"],
            6,
            "M-1-1L7 7M-1 5L1 7M5-1L7 1",
            13,
        ),
        JobKind::Check => of(
            ["#e6d9ef", "#8c68a8"],
            ["#3d2f4a", "#9a79b5"],
            7,
            "M1.5 1.5L5.5 5.5M5.5 1.5L1.5 5.5",
            9,
        ),
        JobKind::Other => of(["#cdccc6", "#cdccc6"], ["#4a4e52", "#4a4e52"], 4, "", 0),
    }
}

/// The number of a kind in the style sheet.
pub(crate) fn number(kind: JobKind) -> usize {
    JobKind::ALL.iter().position(|k| *k == kind).unwrap_or(0)
}

/// The hatchings, for a `<defs>`.
pub(crate) fn patterns() -> String {
    let mut out = String::new();
    for kind in JobKind::ALL {
        let (n, fill) = (number(kind), fill(kind));
        let side = fill.tile;
        let _ = write!(
            out,
            r#"<pattern id="tb-k{n}" width="{side}" height="{side}" patternUnits="userSpaceOnUse"><path class="g{n}" d="M0 0H{side}V{side}H0z"/>"#
        );
        if !fill.hatch.is_empty() {
            let (whole, tenth) = (fill.line / 10, fill.line % 10);
            let _ = write!(
                out,
                r#"<path class="h{n}" stroke-width="{whole}.{tenth}" d="{}"/>"#,
                fill.hatch
            );
        }
        out.push_str("</pattern>");
    }
    out.push_str(concat!(
        r#"<pattern id="tb-short" width="5" height="5" patternUnits="userSpaceOnUse">"#,
        r#"<path class="sg" d="M0 0H5V5H0z"/><path class="sh" d="M-1 6L6-1M-1 1L1-1M4 6L6 4"/></pattern>"#,
        r#"<pattern id="tb-shut" width="7" height="7" patternUnits="userSpaceOnUse">"#,
        r#"<path class="cg" d="M0 0H7V7H0z"/><path class="ch" d="M-1 8L8-1"/></pattern>"#,
    ));
    out
}

/// The style sheet of the chart with the colours as custom properties.
pub(crate) fn chart_style() -> String {
    let mut out = String::from(include_str!("chart.css"));
    for kind in JobKind::ALL {
        let n = number(kind);
        let _ = writeln!(
            out,
            ".g{n}{{fill:var(--k{n}g)}}.h{n}{{fill:none;stroke:var(--k{n}h)}}\
             .k{n} .w{{fill:url(#tb-k{n})}}.k{n} .in{{fill:var(--k{n}t);stroke:var(--k{n}g)}}"
        );
    }
    out
}

/// The chart's style sheet with the paper colours written in, for programs that know no
/// custom properties.
pub(crate) fn paper_style() -> String {
    let mut out = chart_style();
    for (name, paper, _) in colours() {
        out = out.replace(&format!("var(--{name})"), paper);
    }
    out
}

/// Every colour: name, on paper, on a dark screen.
pub(crate) fn colours() -> Vec<(String, &'static str, &'static str)> {
    let mut out: Vec<_> = FRAME.iter().map(|&(n, p, d)| (n.to_owned(), p, d)).collect();
    for kind in JobKind::ALL {
        let (n, fill) = (number(kind), fill(kind));
        for (part, letter) in ["g", "h", "t"].iter().enumerate() {
            out.push((format!("k{n}{letter}"), fill.paper[part], fill.dark[part]));
        }
    }
    out
}

/// Relative luminance by WCAG 2.2, "relative luminance".
#[cfg(test)]
fn luminance(colour: &str) -> f64 {
    let part = |at: usize| {
        let value = u8::from_str_radix(&colour[at..at + 2], 16).expect("two hex digits");
        let value = f64::from(value) / 255.0;
        if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
}

/// Contrast ratio by WCAG 2.2.
#[cfg(test)]
pub(crate) fn contrast(a: &str, b: &str) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    fn frame(name: &str) -> [&'static str; 2] {
        let (_, paper, dark) = FRAME.iter().find(|c| c.0 == name).expect("a colour");
        [paper, dark]
    }

    #[test]
    fn contrast_is_the_ratio_of_the_guideline() {
        // WCAG 2.2: ratios run from 1:1 to 21:1; #767676 is the usual example of the
        // lightest grey that passes 4.5:1 on white (from memory: 4.54).
        assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
        assert!((contrast("#767676", "#ffffff") - 4.54).abs() < 0.01);
    }

    #[test]
    fn words_have_a_contrast_of_four_and_a_half() {
        for theme in 0..2 {
            for ground in ["paper", "sheet", "weekend"] {
                for words in ["ink", "soft", "gate", "done", "today"] {
                    let ratio = contrast(frame(words)[theme], frame(ground)[theme]);
                    assert!(ratio >= 4.5, "{words} on {ground}: {ratio:.2}");
                }
            }
            assert!(contrast(frame("ink")[theme], frame("closed")[theme]) >= 4.5);
        }
        for kind in JobKind::ALL {
            let fill = fill(kind);
            for [ground, _, words] in [fill.paper, fill.dark] {
                let ratio = contrast(ground, words);
                assert!(ratio >= 4.5, "{kind:?}: {ratio:.2}");
            }
        }
    }

    #[test]
    fn edges_of_bars_have_a_contrast_of_three() {
        for theme in 0..2 {
            for ground in ["paper", "weekend", "closed"] {
                for line in ["edge", "gate", "done", "today"] {
                    let ratio = contrast(frame(line)[theme], frame(ground)[theme]);
                    assert!(ratio >= 3.0, "{line} on {ground}: {ratio:.2}");
                }
            }
        }
    }

    #[test]
    fn kinds_differ_without_colour() {
        let hatchings: BTreeSet<(u32, &str)> = JobKind::ALL
            .iter()
            .map(|kind| fill(*kind))
            .filter(|fill| !fill.hatch.is_empty())
            .map(|fill| (fill.tile, fill.hatch))
            .collect();
        let plain: Vec<JobKind> = JobKind::ALL
            .into_iter()
            .filter(|kind| fill(*kind).hatch.is_empty())
            .collect();
        assert_eq!(hatchings.len() + plain.len(), JobKind::ALL.len());
        let [a, b] = plain[..] else { panic!("two plain fills: {plain:?}") };
        assert!(contrast(fill(a).paper[0], fill(b).paper[0]) >= 3.0);
        assert!(contrast(fill(a).dark[0], fill(b).dark[0]) >= 3.0);
        let marks: BTreeSet<char> = JobKind::ALL.iter().map(|kind| kind.mark()).collect();
        let words: BTreeSet<&str> = JobKind::ALL.iter().map(|kind| kind.word()).collect();
        assert_eq!((marks.len(), words.len()), (JobKind::ALL.len(), JobKind::ALL.len()));
    }

    #[test]
    fn the_hatching_shows_on_its_ground() {
        for kind in JobKind::ALL {
            let fill = fill(kind);
            for [ground, hatch, _] in [fill.paper, fill.dark] {
                let ratio = contrast(ground, hatch);
                assert!(fill.hatch.is_empty() || ratio >= 1.8, "{kind:?}: {ratio:.2}");
            }
        }
    }
}
