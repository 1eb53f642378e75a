//! Hatchings and colours of regions.
//!
//! A state is told by hatching, mark and word; the hue only helps. Each colour has a value for
//! paper and one for a dark screen, with the contrasts of WCAG 2.2 that the tests hold.

use std::fmt::Write as _;

use super::state::RegionState;

/// What a state is filled with: ground, hatching and edge, on paper and on a dark screen.
pub(crate) struct Fill {
    pub(crate) paper: [&'static str; 2],
    pub(crate) dark: [&'static str; 2],
    /// Side of the square tile.
    pub(crate) tile: u32,
    /// The hatching as a path in the tile; empty for a plain fill.
    pub(crate) hatch: &'static str,
    /// Width of its lines in tenths of a pixel.
    pub(crate) line: u32,
}

pub(crate) fn fill(state: RegionState) -> Fill {
    let of = |paper, dark, tile, hatch, line| Fill { paper, dark, tile, hatch, line };
    match state {
        RegionState::Hazard => {
            of(["#f6c9c1", "#a3281c"], ["#4d1913", "#f0806f"], 8, "M0 0L8 8M8 0L0 8", 14)
        }
        RegionState::OutsideLimits => of(
            ["#f9dcc0", "#b0641b"],
            ["#492a10", "#d8924a"],
            7,
            "M-1 8L8-1M-1 1L1-1M6 8L8 6",
            15,
        ),
        RegionState::Doubtful => {
            of(["#fbf0c8", "#a98a1f"], ["#40360f", "#bda24a"], 9, "M2 3h2M6.5 7.5h2", 20)
        }
        RegionState::Open => {
            of(["#d3e1f2", "#5b7ba6"], ["#23374f", "#7c9cc4"], 6, "M0 3H6", 11)
        }
        RegionState::UnderWay => {
            of(["#e4daf0", "#8768a6"], ["#372a47", "#9d80bd"], 6, "M3 0V6", 11)
        }
        RegionState::WithinLimits => {
            of(["#e6efd6", "#7f9a4f"], ["#2d3a1a", "#8aa65a"], 12, "M6 5v2", 16)
        }
        RegionState::Cleared => of(
            ["#d4ead7", "#4d8a5c"],
            ["#1d3b26", "#69a878"],
            12,
            "M-2 2L2-2M-2 14L14-2M10 14L14 10",
            8,
        ),
        RegionState::NoEntry => {
            of(["#f4f3ee", "#f4f3ee"], ["#1f2327", "#1f2327"], 4, "", 0)
        }
    }
}

/// The hatchings, for a `<defs>`; their names begin with the drawing's own.
pub(super) fn patterns(id: &str) -> String {
    let mut out = String::new();
    for state in RegionState::ALL {
        let (number, fill) = (state.number(), fill(state));
        let side = fill.tile;
        let _ = write!(
            out,
            r#"<pattern id="{id}-{number}" width="{side}" height="{side}" patternUnits="userSpaceOnUse"><path class="rg-g{number}" d="M0 0H{side}V{side}H0z"/>"#
        );
        if !fill.hatch.is_empty() {
            let _ = write!(
                out,
                r#"<path class="rg-h{number}" stroke-width="{}.{}" d="{}"/>"#,
                fill.line / 10,
                fill.line % 10,
                fill.hatch
            );
        }
        out.push_str("</pattern>");
    }
    out
}

/// Colours that are no state's: name, on paper, on a dark screen.
pub(crate) const FRAME: [(&str, &str, &str); 5] = [
    ("paper", "#fcfbf7", "#14171a"),
    ("ink", "#1b1e21", "#ebe9e3"),
    ("soft", "#54585c", "#b3b5b3"),
    ("edge", "#3a3f44", "#c4c6c4"),
    ("focus", "#1f4f99", "#8fbaff"),
];

const RULES: &str = include_str!("regions.css");

/// The style sheet of drawings of regions and of graphs of steps. It names colours only by
/// custom properties of its own, which follow what the reader prefers; a page that has a
/// switch of its own for that sets `data-theme` to `light` or `dark` on its root.
pub fn regions_style() -> String {
    let (mut paper, mut dark) = (String::new(), String::new());
    for (name, on_paper, on_dark) in FRAME {
        let _ = write!(paper, "--rg-{name}:{on_paper};");
        let _ = write!(dark, "--rg-{name}:{on_dark};");
    }
    let mut rules = RULES.to_owned();
    for state in RegionState::ALL {
        let (number, fill) = (state.number(), fill(state));
        for (part, letter) in ["g", "h"].into_iter().enumerate() {
            let _ = write!(paper, "--rg-{letter}{number}:{};", fill.paper[part]);
            let _ = write!(dark, "--rg-{letter}{number}:{};", fill.dark[part]);
        }
        let _ = writeln!(
            rules,
            ".rg-g{number}{{fill:var(--rg-g{number})}}.rg-h{number}{{fill:none;stroke:var(--rg-h{number})}}"
        );
    }
    format!(
        ".rg{{{paper}}}\n@media screen and (prefers-color-scheme:dark){{.rg{{{dark}}}}}\n\
         [data-theme=light] .rg{{{paper}}}@media screen{{[data-theme=dark] .rg{{{dark}}}}}\n{rules}"
    )
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::paint::contrast;

    #[test]
    fn words_can_be_read_on_every_ground() {
        let [ink_paper, ink_dark] = [FRAME[1].1, FRAME[1].2];
        for state in RegionState::ALL {
            let fill = fill(state);
            assert!(contrast(fill.paper[0], ink_paper) >= 4.5, "{state:?}");
            assert!(contrast(fill.dark[0], ink_dark) >= 4.5, "{state:?}");
        }
        let [paper, ink, soft, edge, focus] = FRAME;
        for colour in [ink, soft] {
            assert!(
                contrast(paper.1, colour.1) >= 4.5 && contrast(paper.2, colour.2) >= 4.5
            );
        }
        for colour in [edge, focus] {
            assert!(
                contrast(paper.1, colour.1) >= 3.0 && contrast(paper.2, colour.2) >= 3.0
            );
        }
    }

    #[test]
    fn no_two_states_share_hatching_mark_or_word() {
        let all = RegionState::ALL.len();
        let hatches: BTreeSet<&str> =
            RegionState::ALL.iter().map(|s| fill(*s).hatch).collect();
        let marks: BTreeSet<char> = RegionState::ALL.iter().map(|s| s.mark()).collect();
        let words: BTreeSet<&str> = RegionState::ALL.iter().map(|s| s.word()).collect();
        assert_eq!((hatches.len(), marks.len(), words.len()), (all, all, all));
    }

    #[test]
    fn the_hatching_shows_on_its_ground() {
        for state in RegionState::ALL {
            let fill = fill(state);
            for [ground, hatch] in [fill.paper, fill.dark] {
                let ratio = contrast(ground, hatch);
                assert!(fill.hatch.is_empty() || ratio >= 2.4, "{state:?}: {ratio:.2}");
            }
        }
    }
}
