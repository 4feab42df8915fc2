//! Lines of text for a terminal of 80 columns, and the same lines as a document that a page can show.

use std::fmt;

/// Columns of the terminal that pages are made for.
pub const COLUMNS: usize = 80;

/// Something that sections and paragraphs can be written on.
pub trait Paper {
    /// A section title.
    fn put_title(&mut self, words: &str);

    /// A paragraph that begins with a mark or a name; lines after the first are indented by `hang`.
    fn put_paragraph(&mut self, first: &str, hang: &str, words: &str);
}

/// A section title over a hairline.
pub fn title(out: &mut impl Paper, words: &str) {
    out.put_title(words);
}

/// A wrapped paragraph; lines after the first are indented by `hang`.
pub fn paragraph(out: &mut impl Paper, first: &str, hang: &str, words: &str) {
    out.put_paragraph(first, hang, words);
}

impl Paper for String {
    fn put_title(&mut self, words: &str) {
        let rule = COLUMNS.saturating_sub(words.chars().count() + 1);
        self.push_str(&format!("\n{words} {}\n", "─".repeat(rule)));
    }

    fn put_paragraph(&mut self, first: &str, hang: &str, words: &str) {
        let options = textwrap::Options::new(COLUMNS).initial_indent(first).subsequent_indent(hang);
        for line in textwrap::wrap(words, options) {
            self.push_str(&line);
            self.push('\n');
        }
    }
}

/// A piece of a document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Block {
    /// Title of a section.
    Title(String),
    /// A paragraph with the mark or the name that it begins with, and the indent of its other lines.
    Paragraph {
        /// What it begins with.
        first: String,
        /// Indent.
        hang: String,
        /// The words.
        words: String,
    },
    /// Lines as they stand.
    Lines(String),
}

/// What a page says, piece by piece; a terminal shows it as lines and a browser as sections.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Doc {
    blocks: Vec<Block>,
}

impl Doc {
    /// As lines for a terminal.
    pub fn text(&self) -> String {
        let mut out = String::new();
        for block in &self.blocks {
            match block {
                Block::Title(words) => out.put_title(words),
                Block::Paragraph { first, hang, words } => out.put_paragraph(first, hang, words),
                Block::Lines(lines) => out.push_str(lines),
            }
        }
        out
    }

    /// The pieces.
    pub fn blocks(&self) -> &[Block] {
        &self.blocks
    }

    /// What stands before the first title, and each section under its title.
    pub fn sections(&self) -> Vec<(Option<&str>, &[Block])> {
        let mut list = Vec::new();
        let mut rest = self.blocks.as_slice();
        let mut title = None;
        loop {
            let end = rest.iter().position(|block| matches!(block, Block::Title(_))).unwrap_or(rest.len());
            let (section, after) = rest.split_at(end);
            if title.is_some() || !section.is_empty() {
                list.push((title, section));
            }
            match after.split_first() {
                Some((Block::Title(words), others)) => {
                    title = Some(words.as_str());
                    rest = others;
                }
                _ => return list,
            }
        }
    }
}

impl Paper for Doc {
    fn put_title(&mut self, words: &str) {
        self.blocks.push(Block::Title(words.to_owned()));
    }

    fn put_paragraph(&mut self, first: &str, hang: &str, words: &str) {
        self.blocks.push(Block::Paragraph {
            first: first.to_owned(),
            hang: hang.to_owned(),
            words: words.to_owned(),
        });
    }
}

impl fmt::Write for Doc {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        match self.blocks.last_mut() {
            Some(Block::Lines(lines)) => lines.push_str(text),
            _ => self.blocks.push(Block::Lines(text.to_owned())),
        }
        Ok(())
    }
}
