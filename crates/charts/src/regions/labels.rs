//! Where the labels of regions stand.
//!
//! A label stands in its region where there is room for it. The others stand in a row above
//! or below the drawing, whichever is nearer, in the order of their regions from left to
//! right, each as near to its region as the others allow.

use super::RegionView;
use crate::text;

/// Height of a row of labels outside, with the gap to the next one.
pub(super) const ROW: f64 = 38.0;
/// Gap between two labels outside.
const GAP: f64 = 12.0;
/// Size of the letters.
const SIZE: f64 = 11.0;

/// The labels of a drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Labels {
    /// For each region where its label stands; nothing for one that is not drawn.
    pub at: Vec<Option<LabelAt>>,
    /// Height that those above the drawing take.
    pub above: f64,
    /// Height that those below it take.
    pub below: f64,
}

/// Where a label stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LabelAt {
    /// In the region, in two lines, around this place of the drawing.
    Two((f64, f64)),
    /// In the region, in one line.
    One((f64, f64)),
    /// Outside.
    Outside {
        /// The place of the drawing to which a line leads.
        to: (f64, f64),
        /// The middle of the label, from the left edge of the page.
        middle: f64,
        /// Half its width.
        half: f64,
        /// Whether it stands above the drawing.
        above: bool,
        /// In which row, that next to the drawing being 0.
        row: u8,
    },
}

/// Places the labels of regions in a drawing that is brought to the page by a factor, so
/// that no two outside lie on each other.
pub fn place_labels(
    regions: &[RegionView],
    by: f64,
    least: (f64, f64),
    most: (f64, f64),
    wide: f64,
) -> Labels {
    let mut at: Vec<Option<LabelAt>> =
        regions.iter().map(|region| inside(region, by)).collect();
    let left = (wide - (most.0 - least.0) * by) / 2.0;
    let middle = f64::midpoint(least.1, most.1);
    let mut heights = [0.0, 0.0];
    for above in [true, false] {
        let mut out: Vec<Wanted> = Vec::new();
        for (number, region) in regions.iter().enumerate() {
            let Some(room) = region.rooms.first().filter(|_| at[number].is_none()) else {
                continue;
            };
            if (room.y < middle) == above {
                let half = half_wide(region);
                let to = (room.x, room.y);
                out.push(Wanted { number, to, at: left + (room.x - least.0) * by, half });
            }
        }
        out.sort_by(|a, b| a.at.total_cmp(&b.at).then(a.number.cmp(&b.number)));
        let rows = rows(&out, wide - 2.0 * GAP);
        heights[usize::from(!above)] = rows.len() as f64 * ROW;
        for (row, labels) in rows.iter().enumerate() {
            for (wanted, middle) in labels.iter().zip(spread(labels, wide)) {
                let Wanted { number, to, half, .. } = **wanted;
                let row = u8::try_from(row).unwrap_or(u8::MAX);
                at[number] = Some(LabelAt::Outside { to, middle, half, above, row });
            }
        }
    }
    Labels { at, above: heights[0], below: heights[1] }
}

/// A label that goes outside: whose, to where its line leads, where it would stand, and half
/// its width.
struct Wanted {
    number: usize,
    to: (f64, f64),
    at: f64,
    half: f64,
}

fn inside(region: &RegionView, by: f64) -> Option<LabelAt> {
    let two = (half_wide(region), 14.0);
    let line = text::width(&region.name, SIZE) * 1.08 + 5.0 + state_wide(region);
    let one = (line / 2.0 + 2.0, 7.5);
    let fits = |(wide, high): (f64, f64)| {
        let room = region
            .rooms
            .iter()
            .find(|room| room.half_wide * by >= wide && room.half_high * by >= high);
        room.map(|room| (room.x, room.y))
    };
    fits(two).map(LabelAt::Two).or_else(|| fits(one).map(LabelAt::One))
}

fn state_wide(region: &RegionView) -> f64 {
    text::width(&format!("{} {}", region.state.mark(), super::said(region)), SIZE)
}

fn half_wide(region: &RegionView) -> f64 {
    // Bold letters are somewhat wider.
    let name = text::width(&region.name, SIZE) * 1.08;
    name.max(state_wide(region)) / 2.0 + 2.0
}

/// As many in a row as it holds, dealt out in turn so that each row spans the whole width.
fn rows(all: &[Wanted], room: f64) -> Vec<Vec<&Wanted>> {
    let whole: f64 = all.iter().map(|wanted| 2.0 * wanted.half + GAP).sum();
    let mut many = (whole / room).ceil().max(1.0) as usize;
    loop {
        let mut rows: Vec<Vec<&Wanted>> = vec![Vec::new(); many];
        for (place, wanted) in all.iter().enumerate() {
            rows[place % many].push(wanted);
        }
        let long = |row: &Vec<&Wanted>| {
            row.iter().map(|wanted| 2.0 * wanted.half + GAP).sum::<f64>() > room
        };
        if many >= all.len() || !rows.iter().any(long) {
            rows.retain(|row| !row.is_empty());
            return rows;
        }
        many += 1;
    }
}

/// The middles of the labels of a row: as near to where each would stand as can be, in the sum
/// of squares. With what lies before a label taken off its wish, wishes must only not fall;
/// those that do are pooled to their mean (Ayer and others, "An empirical distribution
/// function for sampling with incomplete information", 1955; from memory).
fn spread(labels: &[&Wanted], wide: f64) -> Vec<f64> {
    let mut before = Vec::with_capacity(labels.len());
    let mut edge = 0.0;
    for wanted in labels {
        before.push(edge + wanted.half);
        edge += 2.0 * wanted.half + GAP;
    }
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (wanted, before) in labels.iter().zip(&before) {
        let (mut mean, mut many) = (wanted.at - before, 1);
        while let Some((last, count)) =
            pools.last().copied().filter(|(last, _)| *last > mean)
        {
            mean = (mean * many as f64 + last * count as f64) / (many + count) as f64;
            many += count;
            pools.pop();
        }
        pools.push((mean, many));
    }
    let (least, most) = (GAP / 2.0, wide - edge + GAP / 2.0);
    let wishes = pools.iter().flat_map(|(mean, many)| std::iter::repeat_n(*mean, *many));
    wishes.zip(before).map(|(wish, before)| wish.min(most).max(least) + before).collect()
}
