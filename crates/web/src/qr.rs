//! QR codes as SVG: drawn here from the modules, so that nothing of it is styled inline.

use fast_qr::{ECL, QRBuilder};
use maud::{Markup, html};

/// The quiet zone around a code, in modules (ISO/IEC 18004, 6.3.8: four).
const QUIET: usize = 4;

/// A text as a code. A quarter of it may be dirty or torn. Nothing for a text that is too
/// long for any code.
pub(crate) fn svg(text: &str, label: &str) -> Markup {
    let Some(rows) = modules(text) else { return html! {} };
    let side = rows.len() + 2 * QUIET;
    let dark = path(&rows);
    html! {
        svg.code viewBox={ "0 0 " (side) " " (side) } role="img" aria-label=(label)
            shape-rendering="crispEdges" {
            rect width=(side) height=(side) fill="#fff" {}
            path d=(dark) fill="#000" {}
        }
    }
}

/// The modules of a code, row by row; true is dark.
fn modules(text: &str) -> Option<Vec<Vec<bool>>> {
    let code = QRBuilder::new(text).ecl(ECL::Q).build().ok()?;
    let row = |y: usize| (0..code.size).map(|x| code[y][x].value()).collect();
    Some((0..code.size).map(row).collect())
}

/// Each run of dark modules of a row as one stroke.
fn path(rows: &[Vec<bool>]) -> String {
    use std::fmt::Write;
    let mut path = String::new();
    for (y, row) in rows.iter().enumerate() {
        let mut x = 0;
        while x < row.len() {
            let run = row[x..].iter().take_while(|dark| **dark).count();
            if run > 0 {
                // Writing to a text cannot fail.
                let _ = write!(path, "M{} {}h{run}v1h-{run}z", x + QUIET, y + QUIET);
            }
            x += run.max(1);
        }
    }
    path
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO/IEC 18004: a symbol of version V has 17 + 4 V modules a side (6.3.2), finder
    /// patterns of 7 by 7 in three corners (6.3.3), timing patterns that alternate between
    /// them (6.3.5), and a dark module at (4 V + 9, 8) (6.9.1).
    #[test]
    fn a_code_has_the_patterns_of_the_standard() {
        let text = "https://hangar.example/code?c=C7K4Q2M";
        let rows = modules(text).unwrap();
        let side = rows.len();
        assert_eq!((side - 17) % 4, 0);
        let finder = |top: usize, left: usize| {
            for y in 0..7 {
                for x in 0..7 {
                    let ring = y == 0 || y == 6 || x == 0 || x == 6;
                    let middle = (2..5).contains(&y) && (2..5).contains(&x);
                    assert_eq!(rows[top + y][left + x], ring || middle, "{y} {x}");
                }
            }
        };
        finder(0, 0);
        finder(0, side - 7);
        finder(side - 7, 0);
        #[expect(
            clippy::needless_range_loop,
            reason = "it goes along a row and a column"
        )]
        for at in 8..side - 8 {
            let (along, down) = (rows[6][at], rows[at][6]);
            assert_eq!((along, down), (at % 2 == 0, at % 2 == 0));
        }
        let version = (side - 17) / 4;
        assert!(rows[4 * version + 9][8]);
    }

    #[test]
    fn a_code_is_drawn_with_its_quiet_zone_and_too_long_a_text_not_at_all() {
        let drawn = svg("P7K4Q2M", "Code").into_string();
        assert!(
            drawn.contains("viewBox=\"0 0 29 29\"") && drawn.contains("M4 4h7v1h-7z")
        );
        assert!(!drawn.contains("style="));
        assert_eq!(svg(&"x".repeat(4000), "").into_string(), "");
    }
}
