//! Pictures of a forecast: vector graphics with a title, units, a legend and the same facts as a table.
//!
//! Every picture is a pure function of a forecast. Colours and sizes of type are those of the style sheet; nothing is told by colour
//! alone.

mod agreement;
mod axis;
mod budget;
mod comparison;
mod curves;
mod evidence;
mod failing;
pub mod lines;
mod rule_map;
mod section;
mod strip;
mod thickness;

pub use agreement::{agreement, level_in_words};
pub use budget::{budget, key, words as budget_words};
pub use comparison::comparison;
pub use curves::{chance, strain};
pub use evidence::{Asked, evidence};
pub use failing::failing;
pub use rule_map::rule_map;
pub use section::{section, section_as};
pub use strip::{Waits, queue_strip, strip};
pub use thickness::thickness;

use maud::{Markup, html};

/// What stands around a drawing.
pub struct Figure<'a> {
    /// Identifier within the page.
    pub id: &'a str,
    /// What it shows, with the unit.
    pub title: String,
    /// The drawing in a sentence, for those who do not see it.
    pub says: String,
    /// Width and height of the drawing, in its own units.
    pub size: [f64; 2],
    /// The drawing.
    pub drawing: Markup,
    /// What the marks mean.
    pub legend: Markup,
    /// Heads of the columns of its table.
    pub heads: Vec<String>,
    /// Its rows.
    pub rows: Vec<Vec<String>>,
}

impl Figure<'_> {
    /// The figure with its caption, legend and table.
    pub fn markup(&self) -> Markup {
        let [width, height] = self.size;
        html! {
            figure.picture id=(self.id) tabindex="0" aria-labelledby={ (self.id) "-t" } {
                figcaption id={ (self.id) "-t" } { (self.title) }
                svg viewBox=(format!("0 0 {width:.0} {height:.0}")) role="img" aria-label=(self.says) {
                    title { (self.says) }
                    (self.drawing)
                }
                p.legend { (self.legend) }
                details.as-table {
                    summary { "As a table" }
                    div.scroll {
                        table {
                            thead { tr { @for head in &self.heads { th scope="col" { (head) } } } }
                            tbody {
                                @for row in &self.rows {
                                    tr {
                                        @for (place, cell) in row.iter().enumerate() {
                                            @if place == 0 { th scope="row" { (cell) } } @else { td { (cell) } }
                                        }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// A number for an attribute: a tenth of a unit is finer than a screen.
pub(crate) fn at(value: f64) -> String {
    if value.is_finite() { format!("{value:.1}") } else { "0".to_owned() }
}
