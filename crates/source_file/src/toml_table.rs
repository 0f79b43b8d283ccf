//! Taking a TOML file apart: values by key and type, each with its place, and all that is wrong with them at once.
//!
//! ```
//! use source_file::{Problems, SourceFile, toml_table};
//!
//! let file = SourceFile::from_text("heron.toml", "name = \"Heron\"\nstak = 610\nteeth = \"32\"\n");
//! let mut problems = Problems::new();
//! let mut root = toml_table::parse(&file, &mut problems);
//! let name: Option<String> = root.need("name", &mut problems);
//! let stack: Option<f64> = root.get("stack", &mut problems);
//! let teeth: Option<u32> = root.get("teeth", &mut problems);
//! root.finish(&mut problems);
//!
//! assert_eq!(name.as_deref(), Some("Heron"));
//! assert_eq!((stack, teeth), (None, None));
//! let messages: Vec<&str> = problems.iter().map(|problem| problem.message.as_str()).collect();
//! assert_eq!(messages, ["`teeth` is given as a text", "nothing is called `stak` here"]);
//! ```
//!
//! A reader goes on after a mistake; [`Table::get`] and [`Table::need`] then give nothing. Each mistake is reported once:
//! where the writing itself is garbled, what follows from it (a missing key, a wrong type) is not reported on top.

use std::borrow::Cow;
use std::fmt;
use std::ops::Range;
use std::rc::Rc;

use toml::de::{DeArray, DeTable, DeValue};

pub use serde_spanned::Spanned;

use crate::spelling::{closest, quoted};
use crate::toml_syntax;
use crate::{Place, Problem, Problems, SourceFile, Text};

/// Above this many bytes, a file with mistakes in its writing is only told the first of them: the parser keeps every
/// one, and a few megabytes of something that is not TOML at all hold millions.
const MOST_RECOVERED_BYTES: usize = 512 * 1024;

/// The whole of a file as a table. Mistakes in the writing of TOML are added to the problems; what could be understood
/// in spite of them is in the table.
pub fn parse<'f>(file: &'f SourceFile, problems: &mut Problems) -> Table<'f> {
    let (root, errors) = match DeTable::parse(file.text()) {
        Ok(root) => (root, Vec::new()),
        Err(error) if file.text().len() > MOST_RECOVERED_BYTES => (Spanned::new(0..0, DeTable::new()), vec![error]),
        Err(_) => DeTable::parse_recoverable(file.text()),
    };
    problems.extend(toml_syntax::mistakes(file, root.get_ref(), &errors));
    let garbled = errors.iter().filter(|error| !toml_syntax::is_duplicate(error)).filter_map(toml::de::Error::span).collect();
    let garbled = disjoint(garbled);
    let source = Rc::new(Source { file, garbled });
    let head = 0..file.text().lines().next().map_or(0, str::len);
    Table { source, called: Called::File, head, entries: root.into_inner(), asked: Vec::new() }
}

/// What all tables and values of one file share.
#[derive(Debug)]
struct Source<'f> {
    file: &'f SourceFile,
    /// Where the parser stumbled: in order, none touching the next.
    garbled: Vec<Range<usize>>,
}

impl Source<'_> {
    /// True if the parser stumbled over this stretch, or made it up (then it is empty).
    fn is_garbled(&self, span: &Range<usize>) -> bool {
        // Of those that begin before the end of it, only the last can reach it: searched by halves, since a file of half a
        // million bytes can have as many mistakes as values.
        let before = self.garbled.partition_point(|garbled| garbled.start <= span.end);
        span.is_empty() || self.garbled[..before].last().is_some_and(|garbled| span.start <= garbled.end)
    }
}

/// Stretches in order, those that touch made one.
fn disjoint(mut spans: Vec<Range<usize>>) -> Vec<Range<usize>> {
    spans.sort_by_key(|span| span.start);
    let mut apart: Vec<Range<usize>> = Vec::with_capacity(spans.len());
    for span in spans {
        match apart.last_mut() {
            Some(last) if span.start <= last.end => last.end = last.end.max(span.end),
            _ => apart.push(span),
        }
    }
    apart
}

/// A table of a file, from which values are taken by key. Call [`Table::finish`] when all known keys are asked for.
#[derive(Debug)]
#[must_use = "call `finish`, so that keys nobody asked for are reported"]
pub struct Table<'f> {
    source: Rc<Source<'f>>,
    called: Called<'f>,
    /// Its heading, its opening brace or its key: where a missing key is reported.
    head: Range<usize>,
    entries: DeTable<'f>,
    /// Keys that were asked for, for "did you mean".
    asked: Vec<Cow<'static, str>>,
}

impl<'f> Table<'f> {
    /// The file it stands in.
    pub fn file(&self) -> &'f SourceFile {
        self.source.file
    }

    /// Bytes of its heading, or of the whole if it is written in braces.
    pub fn span(&self) -> Range<usize> {
        self.head.clone()
    }

    /// Where its heading stands.
    pub fn place(&self) -> Place {
        self.file().place(self.span())
    }

    /// A problem with the table as a whole, shown at its heading.
    pub fn problem(&self, message: impl Into<String>) -> Problem {
        Problem::at(self.file(), self.span(), message)
    }

    /// True if nothing is left in it.
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// True if the key is there and was not taken yet.
    pub fn has(&self, key: &str) -> bool {
        self.entries.contains_key(key)
    }

    /// Bytes of a key that was not taken yet.
    pub fn key_span(&self, key: &str) -> Option<Range<usize>> {
        self.entries.get_key_value(key).map(|(key, _)| key.span())
    }

    /// True if the file's writing is so garbled that a missing key may be there after all.
    pub fn is_unreliable(&self) -> bool {
        !self.source.garbled.is_empty()
    }

    /// Takes the value of a key that may be missing. Nothing if it is missing, or if it has the wrong type (which is
    /// then among the problems).
    pub fn get<T: FromValue<'f>>(&mut self, key: impl Into<Cow<'static, str>>, problems: &mut Problems) -> Option<T> {
        let key = key.into();
        let taken = self.entries.remove_entry(key.as_ref());
        self.asked.push(key);
        let (key, value) = taken?;
        T::from_value(Value::new(&self.source, Called::Key(key.into_inner()), value), problems)
    }

    /// Takes the value of a key that must be there. If it is not, that is among the problems.
    pub fn need<T: FromValue<'f>>(&mut self, key: impl Into<Cow<'static, str>>, problems: &mut Problems) -> Option<T> {
        let key = key.into();
        if !self.has(&key) && !self.is_unreliable() {
            problems.push(self.missing(&key, T::EXPECTED));
        }
        self.get(key, problems)
    }

    /// The problem of a key that should be there; `expected` says what it holds ("a text"). It points at a left-over key
    /// that may be a misspelling of it, if there is one.
    pub fn missing(&self, key: &str, expected: &str) -> Problem {
        let message = match &self.called {
            Called::File => format!("{} is missing", quoted(key)),
            owner => format!("{owner} has no {}", quoted(key)),
        };
        let problem = self.problem(message).label(format!("expected `{key} = ` and {expected}"));
        if self.file().text().trim().is_empty() { problem.note("the file is empty") } else { problem }
    }

    /// Says that these keys exist as well, so that "did you mean" can offer them.
    pub fn also_known(&mut self, keys: impl IntoIterator<Item = impl Into<Cow<'static, str>>>) {
        self.asked.extend(keys.into_iter().map(Into::into));
    }

    /// Takes all that is left, in the order of the file: for tables whose keys are not known beforehand.
    pub fn take_rest(&mut self) -> Vec<(Text<'f>, Value<'f>)> {
        let mut rest: Vec<_> = std::mem::take(&mut self.entries)
            .into_iter()
            .filter(|(key, _)| !self.source.is_garbled(&key.span()))
            .map(|(key, value)| {
                let value = Value::new(&self.source, Called::Key(key.get_ref().clone()), value);
                (Text::new(self.file(), key.span(), key.into_inner()), value)
            })
            .collect();
        rest.sort_by_key(|(key, _)| key.span().start);
        rest
    }

    /// Reports every key that nobody asked for, with the one that was probably meant.
    pub fn finish(mut self, problems: &mut Problems) {
        for (key, _) in self.take_rest() {
            problems.push(unknown_key(&key, self.asked.iter().map(AsRef::as_ref)));
        }
    }
}

/// The problem of a key that is none of the known ones.
pub fn unknown_key<'a>(key: &Text<'_>, known: impl Iterator<Item = &'a str> + Clone) -> Problem {
    let problem = key.problem(format!("nothing is called {} here", quoted(key)));
    if let Some(meant) = closest(key, known.clone()) {
        return problem.label(format!("did you mean `{meant}`?"));
    }
    let known: Vec<String> = known.map(|key| format!("`{key}`")).collect();
    let problem = problem.label("unknown");
    if known.is_empty() { problem } else { problem.help(format!("known here: {}", known.join(", "))) }
}

/// A value of a file, of whatever type.
#[derive(Debug)]
pub struct Value<'f> {
    source: Rc<Source<'f>>,
    called: Called<'f>,
    span: Range<usize>,
    content: DeValue<'f>,
}

/// What a value is.
#[derive(Debug)]
pub enum What<'f> {
    /// A text in quotes.
    Text(Text<'f>),
    /// A number, whole or not; always finite.
    Number(f64),
    /// `true` or `false`.
    Flag(bool),
    /// A list in brackets, or tables under headings in double brackets.
    List(Vec<Value<'f>>),
    /// A table, under a heading or in braces.
    Table(Table<'f>),
    /// A date or a time.
    Date(String),
}

impl<'f> Value<'f> {
    fn new(source: &Rc<Source<'f>>, called: Called<'f>, value: Spanned<DeValue<'f>>) -> Self {
        Self { source: Rc::clone(source), called, span: value.span(), content: value.into_inner() }
    }

    /// The file it stands in.
    pub fn file(&self) -> &'f SourceFile {
        self.source.file
    }

    /// Bytes it takes up; for a table under a heading, those of the heading.
    pub fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// Where it stands.
    pub fn place(&self) -> Place {
        self.file().place(self.span())
    }

    /// A problem with it.
    pub fn problem(&self, message: impl Into<String>) -> Problem {
        Problem::at(self.file(), self.span(), message)
    }

    /// What it is, in the words of messages: "a text".
    pub fn kind(&self) -> &'static str {
        match self.content {
            DeValue::String(_) => "a text",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "`true` or `false`",
            DeValue::Datetime(_) => "a date",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        }
    }

    /// The problem of a value that is something else than `expected` ("an angle").
    pub fn wrong_kind(&self, expected: &str) -> Problem {
        self.problem(format!("{} is given as {}", self.called, self.kind())).label(format!("expected {expected}"))
    }

    /// What it is. Nothing if it is garbled, or if it is a number that is not finite (which is then among the problems).
    pub fn what(self, problems: &mut Problems) -> Option<What<'f>> {
        if self.is_garbled() {
            return None;
        }
        match self.content {
            DeValue::Integer(_) | DeValue::Float(_) => self.number(problems).map(What::Number),
            DeValue::String(text) => Some(What::Text(Text::new(self.source.file, self.span, text))),
            DeValue::Boolean(flag) => Some(What::Flag(flag)),
            DeValue::Datetime(date) => Some(What::Date(date.to_string())),
            DeValue::Array(entries) => Some(What::List(list(&self.source, self.called, entries))),
            DeValue::Table(entries) => {
                Some(What::Table(Table { source: self.source, called: self.called, head: self.span, entries, asked: Vec::new() }))
            }
        }
    }

    /// Scalars the parser stumbled over; in lists and tables, each entry answers for itself.
    fn is_garbled(&self) -> bool {
        let holds_others = matches!(self.content, DeValue::Array(_) | DeValue::Table(_));
        if holds_others { self.span.is_empty() } else { self.source.is_garbled(&self.span) }
    }

    fn number(&self, problems: &mut Problems) -> Option<f64> {
        let number = match &self.content {
            DeValue::Integer(whole) if whole.radix() == 10 => whole.as_str().parse::<f64>().ok(),
            // Wide enough for any width or count; a longer hexadecimal number is a mistake anyway.
            DeValue::Integer(whole) => i64::from_str_radix(whole.as_str(), whole.radix()).ok().map(|whole| whole as f64),
            DeValue::Float(float) => float.as_str().parse::<f64>().ok(),
            _ => None,
        };
        let finite = number.filter(|number| number.is_finite());
        if finite.is_none() {
            problems
                .push(self.problem(format!("{} is not a number one can measure", self.called)).label("expected a finite number"));
        }
        finite
    }
}

fn list<'f>(source: &Rc<Source<'f>>, called: Called<'f>, entries: DeArray<'f>) -> Vec<Value<'f>> {
    let of = Rc::new(called);
    let entries = entries.into_iter().enumerate();
    entries.map(|(index, entry)| Value::new(source, Called::Entry(index, Rc::clone(&of)), entry)).collect()
}

/// How messages call a value or a table. Kept apart until a message is written: most never are.
#[derive(Clone, Debug)]
enum Called<'f> {
    /// The whole file.
    File,
    /// By its key.
    Key(Cow<'f, str>),
    /// By its place in a list, counted from 0.
    Entry(usize, Rc<Called<'f>>),
}

impl fmt::Display for Called<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::File => f.write_str("the file"),
            Self::Key(key) => f.write_str(&quoted(key)),
            Self::Entry(index, of) => write!(f, "entry {} of {of}", index + 1),
        }
    }
}

/// Types that can be taken out of a file.
pub trait FromValue<'f>: Sized {
    /// What is expected, in the words of messages: "a text".
    const EXPECTED: &'static str;

    /// The value, if it is of this type. Otherwise nothing, and one problem more (none more if the writing is garbled,
    /// since that is reported already).
    fn from_value(value: Value<'f>, problems: &mut Problems) -> Option<Self>;
}

/// True if the value is of the type that `T` is made from; if not, that is among the problems, unless it is garbled.
fn is_of_type<'f, T: FromValue<'f>>(value: &Value<'f>, fits: fn(&DeValue<'f>) -> bool, problems: &mut Problems) -> bool {
    let is = fits(&value.content);
    if !is && !value.is_garbled() {
        problems.push(value.wrong_kind(T::EXPECTED));
    }
    is && !value.is_garbled()
}

impl<'f> FromValue<'f> for Value<'f> {
    const EXPECTED: &'static str = "a value";

    fn from_value(value: Value<'f>, _: &mut Problems) -> Option<Self> {
        Some(value)
    }
}

impl<'f> FromValue<'f> for Text<'f> {
    const EXPECTED: &'static str = "a text in quotes";

    fn from_value(value: Value<'f>, problems: &mut Problems) -> Option<Self> {
        if !is_of_type::<Self>(&value, DeValue::is_str, problems) {
            return None;
        }
        let DeValue::String(text) = value.content else { return None };
        Some(Text::new(value.source.file, value.span, text))
    }
}

impl<'f> FromValue<'f> for String {
    const EXPECTED: &'static str = Text::EXPECTED;

    fn from_value(value: Value<'f>, problems: &mut Problems) -> Option<Self> {
        Text::from_value(value, problems).map(Text::into_string)
    }
}

impl<'f> FromValue<'f> for f64 {
    const EXPECTED: &'static str = "a number";

    fn from_value(value: Value<'f>, problems: &mut Problems) -> Option<Self> {
        let is_number = |content: &DeValue<'f>| content.is_integer() || content.is_float();
        is_of_type::<Self>(&value, is_number, problems).then(|| value.number(problems))?
    }
}

impl<'f> FromValue<'f> for u32 {
    const EXPECTED: &'static str = "a whole number";

    fn from_value(value: Value<'f>, problems: &mut Problems) -> Option<Self> {
        let is_number = |content: &DeValue<'f>| content.is_integer() || content.is_float();
        let number = is_of_type::<Self>(&value, is_number, problems).then(|| value.number(problems))??;
        if number.fract() == 0.0 && (0.0..=f64::from(u32::MAX)).contains(&number) {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked on the line above")]
            return Some(number as u32);
        }
        problems.push(value.problem(format!("{} is not a whole number", value.called)).label("expected 0, 1, 2, …"));
        None
    }
}

impl<'f> FromValue<'f> for bool {
    const EXPECTED: &'static str = "`true` or `false`";

    fn from_value(value: Value<'f>, problems: &mut Problems) -> Option<Self> {
        is_of_type::<Self>(&value, DeValue::is_bool, problems).then(|| value.content.as_bool())?
    }
}

impl<'f> FromValue<'f> for Table<'f> {
    const EXPECTED: &'static str = "a table";

    fn from_value(value: Value<'f>, problems: &mut Problems) -> Option<Self> {
        if !is_of_type::<Self>(&value, DeValue::is_table, problems) {
            return None;
        }
        let DeValue::Table(entries) = value.content else { return None };
        Some(Table { source: value.source, called: value.called, head: value.span, entries, asked: Vec::new() })
    }
}

/// A list whose entries are all of the type. If some are not, each is among the problems, and there is no list.
impl<'f, T: FromValue<'f>> FromValue<'f> for Vec<T> {
    const EXPECTED: &'static str = "a list in brackets";

    fn from_value(value: Value<'f>, problems: &mut Problems) -> Option<Self> {
        if !is_of_type::<Self>(&value, DeValue::is_array, problems) {
            return None;
        }
        let DeValue::Array(entries) = value.content else { return None };
        let count = entries.len();
        let entries = list(&value.source, value.called, entries).into_iter();
        let taken: Vec<T> = entries.filter_map(|entry| T::from_value(entry, problems)).collect();
        (taken.len() == count).then_some(taken)
    }
}

/// A value with the bytes it takes up in the file.
impl<'f, T: FromValue<'f>> FromValue<'f> for Spanned<T> {
    const EXPECTED: &'static str = T::EXPECTED;

    fn from_value(value: Value<'f>, problems: &mut Problems) -> Option<Self> {
        let span = value.span();
        T::from_value(value, problems).map(|value| Spanned::new(span, value))
    }
}

#[cfg(test)]
mod tests {

    use insta::assert_snapshot;

    use super::*;
    use crate::render;

    /// Reads `text` with `read` and shows what is wrong.
    fn shown(text: &str, read: impl Fn(&mut Table<'_>, &mut Problems)) -> String {
        let file = SourceFile::from_text("a.toml", text);
        let mut problems = Problems::new();
        let mut root = parse(&file, &mut problems);
        read(&mut root, &mut problems);
        root.finish(&mut problems);
        render(&problems, false)
    }

    #[test]
    fn values_of_every_type_are_taken_with_their_places() {
        let file = SourceFile::from_text(
            "a.toml",
            "name = \"Heron\"\nn = -1_000\nx = 0x1F\ny = 2.5e1\nteeth = 32\nflag = true\nlist = [1, 2.5]\n[chart]\nstack = 1\n[[part]]\nid = \"a\"\n[[part]]\nid = \"b\"\n",
        );
        let mut problems = Problems::new();
        let mut root = parse(&file, &mut problems);
        let name: Text<'_> = root.need("name", &mut problems).unwrap();
        assert_eq!((name.as_str(), name.span(), name.place().to_string().as_str()), ("Heron", 7..14, "a.toml:1:8"));
        assert_eq!(root.need::<f64>("n", &mut problems), Some(-1000.0));
        assert_eq!(root.need::<f64>("x", &mut problems), Some(31.0));
        assert_eq!(root.need::<f64>("y", &mut problems), Some(25.0));
        let teeth: Spanned<u32> = root.need("teeth", &mut problems).unwrap();
        assert_eq!((*teeth.get_ref(), &file.text()[teeth.span()]), (32, "32"));
        assert_eq!(root.need::<bool>("flag", &mut problems), Some(true));
        assert_eq!(root.need::<Vec<f64>>("list", &mut problems), Some(vec![1.0, 2.5]));
        assert_eq!(root.get::<f64>("nothing", &mut problems), None);
        let mut chart: Table<'_> = root.need("chart", &mut problems).unwrap();
        assert_eq!(&file.text()[chart.span()], "[chart]");
        assert!(chart.has("stack"));
        assert_eq!(&file.text()[chart.key_span("stack").unwrap()], "stack");
        assert_eq!(chart.need::<u32>("stack", &mut problems), Some(1));
        chart.finish(&mut problems);
        let parts: Vec<Table<'_>> = root.need("part", &mut problems).unwrap();
        let ids: Vec<String> = parts.into_iter().filter_map(|mut part| part.need("id", &mut problems)).collect();
        assert_eq!(ids, ["a", "b"]);
        root.finish(&mut problems);
        assert!(problems.is_empty(), "{problems}");
    }

    #[test]
    fn the_rest_comes_in_the_order_of_the_file() {
        let file = SourceFile::from_text("a.toml", "stem = 1\nfork = 2\n\"bar x\" = 3\n");
        let mut problems = Problems::new();
        let mut root = parse(&file, &mut problems);
        let keys: Vec<String> = root.take_rest().into_iter().map(|(key, _)| key.into_string()).collect();
        assert_eq!(keys, ["stem", "fork", "bar x"]);
        assert!(root.is_empty());
    }

    #[test]
    fn every_mistake_of_a_file_is_reported_at_once() {
        let text = "\
name = 5
teeth = 32.5
speeds = -1
travel = inf
mass = nan
width = 1e999
sprockets = [10, \"12\", true]
stak = 610
quite_another = 1
date = 2024-02-30
day = 2024-02-28

[frame]
chart = \"long\"
";
        let read = |root: &mut Table<'_>, problems: &mut Problems| {
            root.need::<String>("name", problems);
            for key in ["teeth", "speeds"] {
                root.need::<u32>(key, problems);
            }
            for key in ["travel", "mass", "width", "stack", "date", "day"] {
                root.get::<f64>(key, problems);
            }
            root.need::<Vec<f64>>("sprockets", problems);
            let mut frame: Table<'_> = root.need("frame", problems).unwrap();
            frame.need::<Table<'_>>("chart", problems);
            frame.finish(problems);
        };
        assert_snapshot!(shown(text, read), @r#"
        error: `name` is given as a number
         --> a.toml:1:8
          |
        1 | name = 5
          |        ^ expected a text in quotes

        error: `teeth` is not a whole number
         --> a.toml:2:9
          |
        2 | teeth = 32.5
          |         ^^^^ expected 0, 1, 2, …

        error: `speeds` is not a whole number
         --> a.toml:3:10
          |
        3 | speeds = -1
          |          ^^ expected 0, 1, 2, …

        error: `travel` is not a number one can measure
         --> a.toml:4:10
          |
        4 | travel = inf
          |          ^^^ expected a finite number

        error: `mass` is not a number one can measure
         --> a.toml:5:8
          |
        5 | mass = nan
          |        ^^^ expected a finite number

        error: `width` is not a number one can measure
         --> a.toml:6:9
          |
        6 | width = 1e999
          |         ^^^^^ expected a finite number

        error: entry 2 of `sprockets` is given as a text
         --> a.toml:7:18
          |
        7 | sprockets = [10, "12", true]
          |                  ^^^^ expected a number

        error: entry 3 of `sprockets` is given as `true` or `false`
         --> a.toml:7:24
          |
        7 | sprockets = [10, "12", true]
          |                        ^^^^ expected a number

        error: nothing is called `stak` here
         --> a.toml:8:1
          |
        8 | stak = 610
          | ^^^^ did you mean `stack`?

        error: nothing is called `quite_another` here
         --> a.toml:9:1
          |
        9 | quite_another = 1
          | ^^^^^^^^^^^^^ unknown
          |
          = help: known here: `name`, `teeth`, `speeds`, `travel`, `mass`, `width`, `stack`, `date`, `day`, `sprockets`, `frame`

        error: invalid date
          --> a.toml:10:8
           |
        10 | date = 2024-02-30
           |        ^^^^^^^^^^ expected day between 01 and 29

        error: `day` is given as a date
          --> a.toml:11:7
           |
        11 | day = 2024-02-28
           |       ^^^^^^^^^^ expected a number

        error: `chart` is given as a text
          --> a.toml:14:9
           |
        14 | chart = "long"
           |         ^^^^^^ expected a table

        13 problems in a.toml
        "#);
    }

    #[test]
    fn what_is_missing_is_reported_at_the_heading() {
        let read = |root: &mut Table<'_>, problems: &mut Problems| {
            for mut part in root.need::<Vec<Table<'_>>>("part", problems).unwrap_or_default() {
                part.need::<String>("id", problems);
                part.finish(problems);
            }
        };
        assert_snapshot!(shown("[[part]]\nid = \"a\"\n\n[[part]]\ncolour = \"red\"\n", read), @r#"
        error: entry 2 of `part` has no `id`
         --> a.toml:4:1
          |
        4 | [[part]]
          | ^^^^^^^^ expected `id = ` and a text in quotes

        error: nothing is called `colour` here
         --> a.toml:5:1
          |
        5 | colour = "red"
          | ^^^^^^ unknown
          |
          = help: known here: `id`

        2 problems in a.toml
        "#);
        assert_snapshot!(shown("part = [{}, 1]\n", read), @r#"
        error: entry 2 of `part` is given as a number
         --> a.toml:1:13
          |
        1 | part = [{}, 1]
          |             ^ expected a table
        "#);
        assert_snapshot!(shown("", read), @r#"
        error: `part` is missing
         --> a.toml:1:1
          |
        1 |
          | ^ expected `part = ` and a list in brackets
          |
          = note: the file is empty
        "#);
        assert_snapshot!(shown("# nothing yet\n", read), @r#"
        error: `part` is missing
         --> a.toml:1:1
          |
        1 | # nothing yet
          | ^^^^^^^^^^^^^ expected `part = ` and a list in brackets
        "#);
    }

    #[test]
    fn what_follows_from_a_garbled_line_is_not_reported_on_top() {
        let read = |root: &mut Table<'_>, problems: &mut Problems| {
            for key in ["mass", "stack", "reach"] {
                root.need::<f64>(key, problems);
            }
        };
        assert_snapshot!(shown("mass = 84 kg\nstack == 5\nreach 4\n", read), @r#"
        error: `84 kg` is not in quotes
         --> a.toml:1:8
          |
        1 | mass = 84 kg
          |        ^^^^^ expected a number, or a text in quotes
          |
          = help: write `mass = "84 kg"`

        error: extra `=`
         --> a.toml:2:8
          |
        2 | stack == 5
          |        ^

        error: a line without `=`
         --> a.toml:3:1
          |
        3 | reach 4
          | ^^^^^^^ expected `key = value`

        3 problems in a.toml
        "#);
    }

    #[test]
    fn a_file_with_a_key_given_twice_is_still_checked_for_missing_ones() {
        let read = |root: &mut Table<'_>, problems: &mut Problems| {
            root.need::<f64>("mass", problems);
            root.need::<f64>("stack", problems);
        };
        assert_snapshot!(shown("mass = 84\nmass = 85\n", read), @r#"
        error: `stack` is missing
         --> a.toml:1:1
          |
        1 | mass = 84
          | ^^^^^^^^^ expected `stack = ` and a number

        error: `mass` is given twice
         --> a.toml:2:1
          |
        1 | mass = 84
          | ---- first given here
        2 | mass = 85
          | ^^^^ given again

        2 problems in a.toml
        "#);
    }

    #[test]
    fn deep_nesting_is_refused_not_followed() {
        let text = format!("a = {}{}", "[".repeat(100_000), "]".repeat(100_000));
        let text = shown(&text, |root, problems| {
            root.get::<Value<'_>>("a", problems);
        });
        assert!(text.starts_with("error: cannot recurse further"), "{}", &text[..200.min(text.len())]);
    }

    #[test]
    fn megabytes_of_something_else_end_quickly_in_one_problem() {
        let file = SourceFile::from_text("photo.toml", "=\n".repeat(4 << 20));
        let mut problems = Problems::new();
        parse(&file, &mut problems).finish(&mut problems);
        assert_eq!(problems.len(), 1);
        let text = render(&problems, false);
        assert!(text.contains("photo.toml:1:1"), "{text}");
        // It takes a tenth of this here, unoptimised and with another build beside it.
    }

    #[test]
    fn a_file_as_wrong_as_it_is_long_ends_quickly() {
        let keys: Vec<String> = (10_000..30_000).map(|number| format!("k{number}=1\n")).collect();
        let text = keys.concat().repeat(2);
        assert!(text.len() < MOST_RECOVERED_BYTES);
        let file = SourceFile::from_text("a.toml", text);
        let mut problems = Problems::new();
        let mut root = parse(&file, &mut problems);
        root.get::<f64>("k10000", &mut problems);
        root.finish(&mut problems);
        // Nobody asked for the keys of the first half but for one, and those of the second half are given twice.
        assert_eq!(problems.len(), 39_999);
        assert!(render(&problems, false).contains("39949 are not shown"));
        // It takes a twentieth of this here; looking for the first place of every key took nine seconds.
    }

    #[test]
    fn a_large_catalogue_is_read_to_the_end() {
        let text = "[[part]]\nid = \"tarn\"\nmass = \"2 kg\"\n".repeat(20_000);
        let file = SourceFile::from_text("parts.toml", text);
        let mut problems = Problems::new();
        let mut root = parse(&file, &mut problems);
        let parts: Vec<Table<'_>> = root.need("part", &mut problems).unwrap();
        assert_eq!(parts.len(), 20_000);
        for mut part in parts {
            assert!(part.need::<String>("id", &mut problems).is_some());
            part.finish(&mut problems);
        }
        assert_eq!(problems.len(), 20_000, "`mass` was asked for nowhere");
        assert!(render(&problems, false).contains("19950 are not shown"));
    }
}
