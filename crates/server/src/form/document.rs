//! A build file as a tree of keys and values, taken in and written out; each stretch of what is written knows its keys.

use std::{fmt, ops::Range};

use source_file::{
    Problems, SourceFile,
    toml_table::{self, Table as TomlTable, Value, What},
};
use toml_writer::{TomlKeyBuilder, TomlStringBuilder, TomlWrite, WriteTomlValue};

/// Keys from the top of a file to a value.
pub(crate) type Path = Vec<String>;

/// A value of a file.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Node {
    Text(String),
    Number(f64),
    Flag(bool),
    List(Vec<Node>),
    Table(Table),
}

/// Keys with their values, in order.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Table(Vec<(String, Node)>);

impl Table {
    /// Takes a file in.
    ///
    /// # Errors
    /// What is wrong with it as TOML; whether it is a build is not asked here.
    pub(crate) fn of_file(file: &SourceFile) -> Result<Self, Problems> {
        let mut problems = Problems::new();
        let root = toml_table::parse(file, &mut problems);
        let table = Self::of_toml(root, &mut problems);
        problems.unless_any(table)
    }

    fn of_toml(mut table: TomlTable<'_>, problems: &mut Problems) -> Self {
        let rest = table.take_rest().into_iter();
        Self(rest.filter_map(|(key, value)| Some((key.into_string(), node(value, problems)?))).collect())
    }

    /// The value of a key.
    pub(crate) fn get(&self, key: &str) -> Option<&Node> {
        self.0.iter().find(|entry| entry.0 == key).map(|entry| &entry.1)
    }

    /// The keys with their values.
    pub(crate) fn iter(&self) -> impl Iterator<Item = (&str, &Node)> {
        self.0.iter().map(|(key, node)| (key.as_str(), node))
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Sets a value, in place of the one that was there.
    pub(crate) fn set(&mut self, key: impl Into<String>, node: Node) {
        let key = key.into();
        match self.0.iter_mut().find(|entry| entry.0 == key) {
            Some(entry) => entry.1 = node,
            None => self.0.push((key, node)),
        }
    }

    /// Sets a value further in; what is no table on the way becomes one.
    pub(crate) fn set_at(&mut self, path: &[String], node: Node) {
        match path {
            [] => {}
            [key] => self.set(key, node),
            [key, rest @ ..] => {
                if !matches!(self.get(key), Some(Node::Table(_))) {
                    self.set(key, Node::Table(Self::default()));
                }
                if let Some((_, Node::Table(inner))) = self.0.iter_mut().find(|entry| entry.0 == *key) {
                    inner.set_at(rest, node);
                }
            }
        }
    }

    /// Takes the value at these keys away; whether there was one.
    pub(crate) fn remove_at(&mut self, path: &[String]) -> bool {
        match path {
            [] => false,
            [key] => {
                let before = self.0.len();
                self.0.retain(|entry| entry.0 != *key);
                self.0.len() < before
            }
            [key, rest @ ..] => match self.0.iter_mut().find(|entry| entry.0 == *key) {
                Some((_, Node::Table(inner))) => inner.remove_at(rest),
                _ => false,
            },
        }
    }
}

fn node(value: Value<'_>, problems: &mut Problems) -> Option<Node> {
    Some(match value.what(problems)? {
        What::Text(text) => Node::Text(text.into_string()),
        What::Number(number) => Node::Number(number),
        What::Flag(flag) => Node::Flag(flag),
        What::List(entries) => Node::List(entries.into_iter().filter_map(|entry| node(entry, problems)).collect()),
        What::Table(table) => Node::Table(Table::of_toml(table, problems)),
        // No value of a build is a date; as a text it is refused with the same words.
        What::Date(date) => Node::Text(date),
    })
}

/// A literal of TOML, as somebody typed it into one line.
///
/// # Errors
/// What is wrong with it.
pub(crate) fn literal(text: &str) -> Result<Node, Problems> {
    let file = SourceFile::from_text("this value", format!("value = {text}\n"));
    let table = Table::of_file(&file)?;
    match (table.0.len(), table.get("value")) {
        (1, Some(node)) => Ok(node.clone()),
        _ => Err(source_file::Problem::new("this is more than one value").into()),
    }
}

/// As it is written within a line.
impl fmt::Display for Node {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut writer = Writer::default();
        writer.node(self, &[])?;
        f.write_str(&writer.text)
    }
}

/// A file that was written, with the keys that each stretch of it belongs to.
#[derive(Clone, Debug)]
pub(crate) struct Written {
    pub(crate) file: SourceFile,
    places: Vec<(Range<usize>, Path)>,
}

/// A whole number below this is written as one.
const WHOLE_BELOW: f64 = 9e15;

/// A table with more entries than this gets a heading of its own; a shorter one stands within a line.
const MOST_IN_A_LINE: usize = 3;

impl Written {
    /// Writes a table as a file.
    pub(crate) fn of(table: &Table, name: &str) -> Self {
        let mut writer = Writer::default();
        // Writing into memory cannot fail.
        let _ = writer.table(table, &[]);
        let text = writer.text.trim_start().to_owned();
        let cut = writer.text.len() - text.len();
        let places =
            writer.places.into_iter().map(|(span, path)| (span.start.saturating_sub(cut)..span.end.saturating_sub(cut), path));
        Self { file: SourceFile::from_text(name, text), places: places.collect() }
    }

    /// The keys of the innermost stretch that a byte belongs to; none before the first heading.
    pub(crate) fn path_at(&self, byte: usize) -> &[String] {
        let around = self.places.iter().filter(|(span, _)| span.contains(&byte));
        around.min_by_key(|(span, path)| (span.len(), usize::MAX - path.len())).map_or(&[], |(_, path)| path)
    }

    /// The keys of the first value on a line, counted from 1.
    pub(crate) fn path_on_line(&self, line: usize) -> &[String] {
        let start = self.file.text().split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
        self.path_at(start)
    }
}

#[derive(Default)]
struct Writer {
    text: String,
    places: Vec<(Range<usize>, Path)>,
}

impl Writer {
    /// What stands in lines first, then what has headings.
    fn table(&mut self, table: &Table, path: &[String]) -> fmt::Result {
        let has_heading = |node: &Node| match node {
            Node::Table(inner) => {
                path.is_empty()
                    || path.len() == 1
                        && (inner.0.len() > MOST_IN_A_LINE || inner.iter().any(|entry| matches!(entry.1, Node::Table(_))))
            }
            _ => false,
        };
        let (headed, lines): (Vec<_>, Vec<_>) = table.iter().partition(|entry| has_heading(entry.1));
        if !path.is_empty() && (!lines.is_empty() || headed.is_empty()) {
            let start = self.text.len() + 1;
            self.text.newline()?;
            self.text.open_table_header()?;
            for (place, key) in path.iter().enumerate() {
                if place > 0 {
                    self.text.key_sep()?;
                }
                self.text.key(TomlKeyBuilder::new(key).as_default())?;
            }
            self.text.close_table_header()?;
            self.places.push((start..self.text.len(), path.to_vec()));
            self.text.newline()?;
        }
        for (key, node) in lines {
            self.pair(key, node, path)?;
            self.text.newline()?;
        }
        for (key, node) in headed {
            if let Node::Table(inner) = node {
                self.table(inner, &joined(path, key))?;
            }
        }
        Ok(())
    }

    fn pair(&mut self, key: &str, node: &Node, path: &[String]) -> fmt::Result {
        let start = self.text.len();
        let inner = joined(path, key);
        self.text.key(TomlKeyBuilder::new(key).as_default())?;
        self.text.space()?;
        self.text.keyval_sep()?;
        self.text.space()?;
        self.node(node, &inner)?;
        self.places.push((start..self.text.len(), inner));
        Ok(())
    }

    /// A value within a line.
    fn node(&mut self, node: &Node, path: &[String]) -> fmt::Result {
        match node {
            Node::Text(text) => TomlStringBuilder::new(text).as_basic().write_toml_value(&mut self.text),
            #[expect(clippy::cast_possible_truncation, reason = "whole and far below 2^63")]
            Node::Number(number) if number.fract() == 0.0 && number.abs() < WHOLE_BELOW => self.text.value(*number as i64),
            Node::Number(number) => self.text.value(*number),
            Node::Flag(flag) => self.text.value(*flag),
            Node::List(entries) => {
                self.text.open_array()?;
                for (place, entry) in entries.iter().enumerate() {
                    if place > 0 {
                        self.text.val_sep()?;
                        self.text.space()?;
                    }
                    self.node(entry, path)?;
                }
                self.text.close_array()
            }
            Node::Table(table) => {
                self.text.open_inline_table()?;
                for (place, (key, entry)) in table.iter().enumerate() {
                    if place > 0 {
                        self.text.val_sep()?;
                    }
                    self.text.space()?;
                    self.pair(key, entry, path)?;
                }
                if !table.is_empty() {
                    self.text.space()?;
                }
                self.text.close_inline_table()
            }
        }
    }
}

fn joined(path: &[String], key: &str) -> Path {
    path.iter().cloned().chain([key.to_owned()]).collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn read(text: &str) -> Table {
        Table::of_file(&SourceFile::from_text("a.toml", text)).unwrap_or_else(|problems| panic!("{problems}\n{text}"))
    }

    fn any_node() -> impl Strategy<Value = Node> {
        let leaf = prop_oneof![
            any::<String>().prop_map(Node::Text),
            prop::num::f64::NORMAL.prop_map(Node::Number),
            (-99_i32..99).prop_map(|whole| Node::Number(f64::from(whole))),
            any::<bool>().prop_map(Node::Flag),
        ];
        leaf.prop_recursive(4, 24, 5, |inner| {
            prop_oneof![prop::collection::vec(inner.clone(), 0..4).prop_map(Node::List), any_table(inner).prop_map(Node::Table)]
        })
    }

    fn any_table(inner: impl Strategy<Value = Node>) -> impl Strategy<Value = Table> {
        let key = prop_oneof!["[a-z_]{1,6}", any::<String>()];
        prop::collection::btree_map(key, inner, 0..6).prop_map(|entries| Table(entries.into_iter().collect()))
    }

    fn sorted(table: Table) -> Table {
        let mut entries: Vec<_> = table.0.into_iter().map(|(key, node)| (key, in_order(node))).collect();
        entries.sort_by(|a, b| a.0.cmp(&b.0));
        Table(entries)
    }

    fn in_order(node: Node) -> Node {
        match node {
            Node::Table(table) => Node::Table(sorted(table)),
            Node::List(entries) => Node::List(entries.into_iter().map(in_order).collect()),
            other => other,
        }
    }

    /// Every key that there is, outermost first; tables in a list have the keys of the list before their own.
    fn paths(node: &Node, path: &[String], to: &mut Vec<Path>) {
        match node {
            Node::Table(table) => {
                for (key, node) in table.iter() {
                    to.push(joined(path, key));
                    paths(node, &joined(path, key), to);
                }
            }
            Node::List(entries) => entries.iter().for_each(|entry| paths(entry, path, to)),
            _ => {}
        }
    }

    #[test]
    fn any_table_reads_back_and_its_places_are_its_keys() {
        let config = ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) };
        proptest!(config, |(table in any_table(any_node()))| {
            let written = Written::of(&table, "a.toml");
            prop_assert_eq!(sorted(read(written.file.text())), sorted(table.clone()), "{}", written.file.text());
            let mut there = Vec::new();
            paths(&Node::Table(table), &[], &mut there);
            for (span, path) in &written.places {
                prop_assert!(there.contains(path), "{path:?}");
                prop_assert!(written.file.text().get(span.clone()).is_some());
            }
        });
    }

    #[test]
    fn a_byte_belongs_to_the_innermost_value() {
        let text = "name = \"Heron\"\n\n[rider]\nmass = \"84 kg\"\n\n[frame.chart]\nstack = 610\nreach = 440\n\
                    head_angle = { value = \"69 deg\", from = \"measured\" }\ndrawn_with = { fork_offset = \"44 mm\" }\n\n\
                    [slots]\nfork = { part = \"tarn-130\" }\n";
        let written = Written::of(&read(text), "a.toml");
        assert_eq!(written.file.text(), text);
        for (word, path) in [
            ("Heron", "name"),
            ("[rider]", "rider"),
            ("84 kg", "rider.mass"),
            ("610", "frame.chart.stack"),
            ("69 deg", "frame.chart.head_angle.value"),
            ("measured", "frame.chart.head_angle.from"),
            ("44 mm", "frame.chart.drawn_with.fork_offset"),
            ("fork = {", "slots.fork"),
            ("tarn", "slots.fork.part"),
        ] {
            assert_eq!(written.path_at(text.find(word).unwrap()).join("."), path, "{word}");
        }
        assert_eq!(written.path_on_line(7).join("."), "frame.chart.stack");
    }

    #[test]
    fn a_literal_is_one_value() {
        assert_eq!(literal("[1, \"a\"]").unwrap(), Node::List(vec![Node::Number(1.0), Node::Text("a".to_owned())]));
        assert!(literal("1\nother = 2").is_err());
        assert!(literal("").is_err());
        assert_eq!(literal(&Node::Text("a\n\"b\"".to_owned()).to_string()).unwrap(), Node::Text("a\n\"b\"".to_owned()));
    }
}
