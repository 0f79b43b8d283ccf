//! The text of an answer as blocks and runs, read from CommonMark. What may be written: paragraphs, headings, lists, quotations,
//! strong and emphatic words, links, and numbers as links to their names; a picture of the bike as `![…](#drawing)`. Anything else
//! (HTML, code, other pictures) is shown as the words it is made of, and does nothing.

use pulldown_cmark::{Event, Parser, Tag, TagEnd};

/// A text.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Text {
    /// Its blocks, from the top.
    pub blocks: Vec<Block>,
}

/// A block.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Block {
    /// A paragraph.
    Paragraph(Vec<Run>),
    /// A heading.
    Heading(Vec<Run>),
    /// A list; with numbers or without.
    List {
        /// It is numbered.
        numbered: bool,
        /// Its points.
        points: Vec<Vec<Run>>,
    },
    /// A quotation.
    Quotation(Vec<Run>),
    /// The bike drawn before and after.
    Drawing,
}

impl Block {
    /// Its runs, in order.
    pub fn runs(&self) -> impl Iterator<Item = &Run> {
        let lines: &[Vec<Run>] = match self {
            Self::Paragraph(runs) | Self::Heading(runs) | Self::Quotation(runs) => std::slice::from_ref(runs),
            Self::List { points, .. } => points,
            Self::Drawing => &[],
        };
        lines.iter().flatten()
    }

    fn runs_mut(&mut self) -> impl Iterator<Item = &mut Run> {
        let lines: &mut [Vec<Run>] = match self {
            Self::Paragraph(runs) | Self::Heading(runs) | Self::Quotation(runs) => std::slice::from_mut(runs),
            Self::List { points, .. } => points,
            Self::Drawing => &mut [],
        };
        lines.iter_mut().flatten()
    }
}

/// A stretch of words in one style.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Run {
    /// The words.
    pub words: String,
    /// Said with weight.
    pub strong: bool,
    /// Said with a leaning.
    pub emphatic: bool,
    /// What they are besides.
    pub is: Is,
}

/// What a run of words is besides.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Is {
    /// Words alone.
    Words,
    /// A number of the answer.
    Figure {
        /// Its name, see [`crate::figures`].
        name: String,
        /// What stood here before, if it is another number now; [`Fresh::Gone`] if the answer has it no longer.
        fresh: Fresh,
    },
    /// A link to somewhere else.
    Link {
        /// Where to: `https:`, `http:` or `mailto:`.
        to: String,
    },
}

/// How a number in a text stands to the answer of today.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Fresh {
    /// As it was written.
    #[default]
    Same,
    /// Another number now; this one stood here.
    Was(String),
    /// The answer has no such number any more.
    Gone,
}

impl Text {
    /// Reads CommonMark. Every text is one: nothing is refused.
    pub fn from_markdown(markdown: &str) -> Self {
        let mut reader = Reader::default();
        for event in Parser::new(markdown) {
            reader.take(event);
        }
        reader.close();
        Self { blocks: reader.blocks }
    }

    /// Its runs, in order.
    pub fn runs(&self) -> impl Iterator<Item = &Run> {
        self.blocks.iter().flat_map(Block::runs)
    }

    /// The numbers of the answer in it, in order, with how each stands.
    pub(crate) fn figures_mut(&mut self) -> impl Iterator<Item = &mut Fresh> {
        self.blocks.iter_mut().flat_map(Block::runs_mut).filter_map(|run| match &mut run.is {
            Is::Figure { fresh, .. } => Some(fresh),
            Is::Words | Is::Link { .. } => None,
        })
    }

    /// Its words alone, a line a block or point.
    pub fn words(&self) -> String {
        let mut lines: Vec<String> = Vec::new();
        let words = |runs: &[Run]| runs.iter().map(|run| run.words.as_str()).collect::<String>();
        for block in &self.blocks {
            match block {
                Block::Paragraph(runs) | Block::Heading(runs) | Block::Quotation(runs) => lines.push(words(runs)),
                Block::List { points, .. } => lines.extend(points.iter().map(|point| words(point))),
                Block::Drawing => {}
            }
        }
        lines.join("\n")
    }
}

/// The address that stands for the drawing of the bike.
const DRAWING: &str = "#drawing";

/// Blocks under way.
#[derive(Default)]
struct Reader {
    blocks: Vec<Block>,
    runs: Vec<Run>,
    points: Vec<Vec<Run>>,
    /// Lists within lists are one list; its outermost says whether it is numbered.
    lists: Vec<bool>,
    quotations: usize,
    heading: bool,
    strong: usize,
    emphatic: usize,
    links: Vec<Is>,
    /// Inside a picture its words are its description.
    in_drawing: bool,
}

impl Reader {
    fn take(&mut self, event: Event<'_>) {
        match event {
            Event::Start(tag) => self.start(tag),
            Event::End(tag) => self.end(tag),
            Event::Text(words) | Event::Code(words) | Event::Html(words) | Event::InlineHtml(words) => self.say(&words),
            Event::SoftBreak | Event::HardBreak => self.say(" "),
            // Extensions of CommonMark are not asked for.
            Event::Rule
            | Event::FootnoteReference(_)
            | Event::TaskListMarker(_)
            | Event::InlineMath(_)
            | Event::DisplayMath(_) => {}
        }
    }

    fn start(&mut self, tag: Tag<'_>) {
        match tag {
            Tag::Paragraph => self.close_runs_unless_in_list(),
            Tag::Heading { .. } => {
                self.close();
                self.heading = true;
            }
            Tag::List(first) => {
                if self.lists.is_empty() {
                    self.close();
                } else {
                    self.close_point();
                }
                self.lists.push(first.is_some());
            }
            Tag::Item => self.close_point(),
            Tag::BlockQuote(_) => {
                self.close();
                self.quotations += 1;
            }
            Tag::Strong => self.strong += 1,
            Tag::Emphasis => self.emphatic += 1,
            Tag::Link { dest_url, .. } => {
                let is = link(&dest_url);
                // A number is one run, whatever the style of its digits.
                if matches!(is, Is::Figure { .. }) {
                    let (strong, emphatic) = (self.strong > 0, self.emphatic > 0);
                    self.runs.push(Run { words: String::new(), strong, emphatic, is: is.clone() });
                }
                self.links.push(is);
            }
            Tag::Image { dest_url, .. } => self.in_drawing = &*dest_url == DRAWING,
            _ => {}
        }
    }

    fn end(&mut self, tag: TagEnd) {
        match tag {
            TagEnd::Paragraph | TagEnd::CodeBlock | TagEnd::HtmlBlock => self.close_runs_unless_in_list(),
            TagEnd::Heading(_) => {
                self.close();
                self.heading = false;
            }
            TagEnd::Item => self.close_point(),
            TagEnd::List(numbered) => {
                self.close_point();
                self.lists.pop();
                if self.lists.is_empty() {
                    let points = std::mem::take(&mut self.points);
                    if !points.is_empty() {
                        self.blocks.push(Block::List { numbered, points });
                    }
                }
            }
            TagEnd::BlockQuote(_) => {
                self.close();
                self.quotations = self.quotations.saturating_sub(1);
            }
            TagEnd::Strong => self.strong = self.strong.saturating_sub(1),
            TagEnd::Emphasis => self.emphatic = self.emphatic.saturating_sub(1),
            TagEnd::Link => {
                self.links.pop();
            }
            TagEnd::Image if self.in_drawing => {
                self.in_drawing = false;
                self.close_runs_unless_in_list();
                if self.lists.is_empty() {
                    self.blocks.push(Block::Drawing);
                }
            }
            _ => {}
        }
    }

    fn say(&mut self, words: &str) {
        if self.in_drawing {
            return;
        }
        let words: String = words.chars().map(|letter| if letter.is_control() { ' ' } else { letter }).collect();
        let is = self.links.last().cloned().unwrap_or(Is::Words);
        if let (Is::Figure { .. }, Some(last)) = (&is, self.runs.last_mut()) {
            last.words.push_str(&words);
            return;
        }
        let (strong, emphatic) = (self.strong > 0, self.emphatic > 0);
        match self.runs.last_mut() {
            Some(last) if (last.strong, last.emphatic) == (strong, emphatic) && last.is == is => last.words.push_str(&words),
            _ => self.runs.push(Run { words, strong, emphatic, is }),
        }
    }

    /// A paragraph inside a point belongs to the point.
    fn close_runs_unless_in_list(&mut self) {
        if self.lists.is_empty() {
            self.close();
        } else if !self.runs.is_empty() {
            self.say(" ");
        }
    }

    fn close_point(&mut self) {
        let mut runs = std::mem::take(&mut self.runs);
        trim(&mut runs);
        if !runs.is_empty() {
            self.points.push(runs);
        }
    }

    fn close(&mut self) {
        let mut runs = std::mem::take(&mut self.runs);
        trim(&mut runs);
        if runs.is_empty() {
            return;
        }
        self.blocks.push(if self.heading {
            Block::Heading(runs)
        } else if self.quotations > 0 {
            Block::Quotation(runs)
        } else {
            Block::Paragraph(runs)
        });
    }
}

/// Without blanks at either end, and nothing if there is nothing else.
fn trim(runs: &mut Vec<Run>) {
    while runs.last().is_some_and(|run| run.words.trim().is_empty()) {
        runs.pop();
    }
    if let Some(last) = runs.last_mut() {
        last.words.truncate(last.words.trim_end().len());
    }
}

/// What a link is: to a number of the answer, to somewhere a browser may go, or words only.
fn link(to: &str) -> Is {
    if let Some(name) = to.strip_prefix('#') {
        return Is::Figure { name: name.to_owned(), fresh: Fresh::Same };
    }
    let may_go = ["https://", "http://", "mailto:"].iter().any(|start| to.to_ascii_lowercase().starts_with(start));
    if may_go && !to.chars().any(|letter| letter.is_control() || letter.is_whitespace()) {
        Is::Link { to: to.to_owned() }
    } else {
        Is::Words
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(words: &str) -> Run {
        Run { words: words.to_owned(), strong: false, emphatic: false, is: Is::Words }
    }

    #[test]
    fn what_may_be_written_is_read() {
        let text = Text::from_markdown(
            "# Short\n\nIt **goes**, *[0.9°](#change.head_angle)*\nmore; [see](https://example.org/a).\n\n1. one\n2. two\n   - three\n\n> said\n\n![the bike](#drawing)\n",
        );
        let [
            Block::Heading(heading),
            Block::Paragraph(runs),
            Block::List { numbered: true, points },
            Block::Quotation(_),
            Block::Drawing,
        ] = text.blocks.as_slice()
        else {
            panic!("{text:?}")
        };
        assert_eq!(heading, &[words("Short")]);
        assert_eq!(runs[1], Run { strong: true, ..words("goes") });
        let name = "change.head_angle".to_owned();
        assert_eq!(runs[3], Run { emphatic: true, is: Is::Figure { name, fresh: Fresh::Same }, ..words("0.9°") });
        assert_eq!(runs[5].is, Is::Link { to: "https://example.org/a".to_owned() });
        assert_eq!(points, &[vec![words("one")], vec![words("two")], vec![words("three")]]);
    }

    #[test]
    fn what_could_do_something_is_words() {
        for markdown in [
            "<script>alert(1)</script>",
            "a <img src=x onerror=alert(1)> b",
            "[go](javascript:alert(1))",
            "[go](data:text/html,x)",
            "![x](https://example.org/x.png)",
            "    <b>code</b>",
            "<https://example.org/ x>",
        ] {
            let text = Text::from_markdown(markdown);
            assert!(!text.words().is_empty(), "{markdown}");
            assert!(text.runs().all(|run| run.is == Is::Words), "{markdown}: {text:?}");
        }
    }
}
