//! What one marker gave where another gave that: levels by levels, each square as large as its count.

use maud::{Markup, html};

use super::{Figure, at};

const CELL: f64 = 64.0;
const LEFT: f64 = 150.0;
const TOP: f64 = 58.0;
/// Least side of a square that stands for one case, so that it is seen.
const LEAST: f64 = 8.0;

/// A table of two markers' levels: rows of the first, columns of the second.
pub fn agreement(id: &str, markers: [&str; 2], table: &[Vec<usize>]) -> Markup {
    let [first, second] = markers;
    let levels = table.len();
    let most = table.iter().flatten().copied().max().unwrap_or(0).max(1) as f64;
    let side = |count: usize| ((count as f64 / most).sqrt() * (CELL - 8.0)).max(LEAST);
    let wide = CELL * levels as f64;
    // Short scales are drawn no larger than long ones.
    let size = [LEFT + wide.max(4.0 * CELL) + 12.0, TOP + wide + 12.0];
    let cells = || {
        let of = |(row, counts): (usize, &Vec<usize>)| -> Vec<(usize, usize, usize)> {
            counts.iter().enumerate().map(|(column, count)| (row, column, *count)).collect()
        };
        table.iter().enumerate().flat_map(of).collect::<Vec<_>>()
    };
    let centre = |start: f64, place: usize| start + (place as f64 + 0.5) * CELL;
    let drawing = html! {
        text.m x=(at(LEFT + 0.5 * wide)) y="18" text-anchor="middle" { (second) " gave" }
        text.m x=(at(LEFT - 14.0)) y=(at(TOP - 12.0)) text-anchor="end" { (first) " gave" }
        @for level in 0..levels {
            text x=(at(centre(LEFT, level))) y=(at(TOP - 12.0)) text-anchor="middle" { (level) }
            text x=(at(LEFT - 14.0)) y=(at(centre(TOP, level) + 5.0)) text-anchor="end" { (level_in_words(level, levels)) }
        }
        @for (row, column, count) in cells() {
            @let (x, y) = (centre(LEFT, column), centre(TOP, row));
            rect.cell x=(at(x - 0.5 * CELL)) y=(at(y - 0.5 * CELL)) width=(at(CELL)) height=(at(CELL)) {}
            @if count > 0 {
                @let side = side(count);
                rect.band x=(at(x - 0.5 * side)) y=(at(y - 0.5 * side)) width=(at(side)) height=(at(side)) {}
            }
            text x=(at(x)) y=(at(y + 5.0)) text-anchor="middle" { (count) }
        }
        // Last, so that no neighbour lies over their frames.
        @for level in 0..levels {
            rect.same x=(at(centre(LEFT, level) - 0.5 * CELL)) y=(at(centre(TOP, level) - 0.5 * CELL)) width=(at(CELL)) height=(at(CELL)) {}
        }
    };
    let heads = std::iter::once(format!("{first} gave"))
        .chain((0..levels).map(|level| format!("{second} gave {}", level_in_words(level, levels))))
        .collect();
    let row = |(level, counts): (usize, &Vec<usize>)| {
        std::iter::once(level_in_words(level, levels)).chain(counts.iter().map(usize::to_string)).collect()
    };
    let both: usize = table.iter().flatten().sum();
    let same: usize = (0..levels).map(|level| table[level][level]).sum();
    Figure {
        id,
        title: format!("Levels of {first} by levels of {second}, number of cases"),
        says: format!("{first} and {second} gave the same level in {same} of {both} cases"),
        size,
        drawing,
        legend: html! { "Area of a square and number: cases. Framed: both gave the same level. Level 0 is the worst." },
        heads,
        rows: table.iter().enumerate().map(row).collect(),
    }
    .markup()
}

/// A level with its end of the scale.
pub fn level_in_words(level: usize, levels: usize) -> String {
    match level {
        0 => "0, the worst".to_owned(),
        _ if level + 1 == levels => format!("{level}, the best"),
        _ => level.to_string(),
    }
}
