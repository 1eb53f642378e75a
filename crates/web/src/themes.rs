//! The colours of the pages: each once, by day and by night.
//!
//! A page follows the device unless somebody chose (`data-theme` on its root); what is printed
//! is always dark on white. The style is made here from one table, so that no colour stands
//! twice and a browser of some years ago follows it too.

use std::fmt::Write;

/// Each colour by its name: in the light, and in the dark.
const COLOURS: [(&str, &str, &str); 14] = [
    ("paper", "#fbfaf7", "#16181b"),
    ("sheet", "#ffffff", "#1d2024"),
    ("ink", "#1b1d21", "#e8e6e1"),
    ("faint", "#565b64", "#a9adb5"),
    ("line", "#c9c8c2", "#3a3e45"),
    ("edge", "#767a82", "#878c95"),
    ("act", "#8a3b0c", "#f0a36a"),
    ("on-act", "#ffffff", "#1b1208"),
    ("link", "#1a4f8b", "#8fbdf2"),
    ("wash", "#f0eee8", "#25292e"),
    ("wrong", "#a01620", "#ff9c96"),
    ("wrong-wash", "#fbeceb", "#3a1d1f"),
    ("good", "#1f5f35", "#8fd3a3"),
    ("good-wash", "#e8f2ea", "#1b3022"),
];

/// The style that gives every page its colours.
pub(crate) fn style() -> String {
    let (mut light, mut dark) = (String::new(), String::new());
    for (name, by_day, by_night) in COLOURS {
        // Writing to a text cannot fail.
        let _ = write!(light, "--{name}:{by_day};");
        let _ = write!(dark, "--{name}:{by_night};");
    }
    format!(
        ":root{{{light}color-scheme:light dark}}\n\
         @media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}\n\
         :root[data-theme=light]{{{light}color-scheme:light}}\n\
         @media screen{{:root[data-theme=dark]{{{dark}color-scheme:dark}}}}\n\
         @media print{{:root,:root[data-theme]{{color-scheme:light}}}}\n"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The contrast of two colours (WCAG 2.2, "relative luminance" and "contrast ratio").
    fn contrast(one: &str, other: &str) -> f64 {
        let light = |colour: &str| {
            let part = |at: usize| {
                let value = u8::from_str_radix(&colour[at..at + 2], 16).unwrap();
                let value = f64::from(value) / 255.0;
                if value <= 0.040_45 {
                    value / 12.92
                } else {
                    ((value + 0.055) / 1.055).powf(2.4)
                }
            };
            0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
        };
        let (one, other) = (light(one), light(other));
        (one.max(other) + 0.05) / (one.min(other) + 0.05)
    }

    #[test]
    fn words_can_be_read_on_every_ground_and_edges_be_seen() {
        // The contrast of black and white, as the recommendation has it.
        assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
        let colour = |name: &str| {
            COLOURS.iter().find(|(found, _, _)| *found == name).copied().unwrap()
        };
        let words = ["ink", "faint", "act", "link", "wrong", "good"];
        let grounds = ["paper", "sheet", "wash"];
        let mut pairs: Vec<(&str, &str, f64)> = Vec::new();
        for ground in grounds {
            pairs.extend(words.map(|word| (word, ground, 4.5)));
            // What is no word: 3 to 1 (criterion 1.4.11).
            pairs.push(("edge", ground, 3.0));
        }
        pairs.extend([("on-act", "act", 4.5), ("ink", "wrong-wash", 4.5)]);
        pairs.extend([("wrong", "wrong-wash", 4.5), ("ink", "good-wash", 4.5)]);
        for (word, ground, least) in pairs {
            let (word, ground) = (colour(word), colour(ground));
            for (one, other) in [(word.1, ground.1), (word.2, ground.2)] {
                let found = contrast(one, other);
                assert!(found >= least, "{} on {}: {found:.2}", word.0, ground.0);
            }
        }
    }

    #[test]
    fn a_choice_outdoes_the_device_and_no_colour_stands_in_another_file() {
        let style = style();
        let at = |part: &str| style.find(part).unwrap_or_else(|| panic!("{part}"));
        assert!(at("prefers-color-scheme") < at("data-theme=light"));
        for file in [
            include_str!("../assets/page.css"),
            include_str!("../assets/text.css"),
            include_str!("../assets/floor.css"),
            include_str!("../assets/aircraft.css"),
            include_str!("../assets/timeline.css"),
        ] {
            for (name, _, _) in COLOURS {
                assert!(!file.contains(&format!("--{name}:")), "--{name} is given again");
            }
        }
    }
}
