//! Mistakes in the writing of TOML itself, in words for somebody who never read its specification.
//!
//! The parser's own messages name its grammar ("string values must be quoted, expected literal string"). Those a
//! technician is likely to meet (a unit without quotes, a decimal comma, a colon, curly quotes from a word processor)
//! are said in plain words with the corrected line; the others are passed on.

use std::collections::BTreeSet;
use std::ops::Range;

use toml::de::DeTable;

use crate::spelling::quoted;
use crate::{Problem, SourceFile};

/// The mistakes of a file, at most one to a line: a second one there is nearly always the first one's echo.
pub(crate) fn mistakes(file: &SourceFile, root: &DeTable<'_>, errors: &[toml::de::Error]) -> Vec<Problem> {
    let mut lines = BTreeSet::new();
    let mut mistakes = Vec::new();
    for error in errors {
        let span = error.span().unwrap_or(0..0);
        if lines.insert(file.line_index(span.start)) {
            let searched = (mistakes.len() < MOST_SEARCHED).then_some(root);
            mistakes.push(explain(file, searched, error.message(), &span));
        }
    }
    mistakes
}

/// True for a key given twice: the rest of such a file can be trusted, that of a garbled one cannot.
pub(crate) fn is_duplicate(error: &toml::de::Error) -> bool {
    error.message() == DUPLICATE
}

const DUPLICATE: &str = "duplicate key";

/// Keys given twice whose first place is looked for. Each search goes through the whole tree, and of many mistakes only
/// the first are shown.
const MOST_SEARCHED: usize = 100;

fn explain(file: &SourceFile, root: Option<&DeTable<'_>>, message: &str, span: &Range<usize>) -> Problem {
    let line_span = file.line_span(file.line_index(span.start));
    let line = &file.text()[line_span.clone()];
    let written = file.text().get(span.clone()).unwrap_or_default();
    let before = file.text().get(line_span.start..span.start).unwrap_or_default().trim_end();
    let after = file.text().get(span.start..line_span.end).unwrap_or_default();
    let at = |message: String| Problem::at(file, span.clone(), message);
    match message {
        DUPLICATE => duplicate(file, root, span),
        _ if message.starts_with("string values must be quoted") && written.trim().is_empty() => {
            at("there is no value after `=`".to_owned()).label("expected a value")
        }
        _ if message.starts_with("string values must be quoted") => {
            let problem = at(format!("{} is not in quotes", quoted(written))).label("expected a number, or a text in quotes");
            let plain = written.trim_matches(['“', '”', '„', '«', '»', '‘', '’', '‚', '`', '´', '"', '\'']);
            match written {
                "yes" | "Yes" | "on" | "True" | "TRUE" => problem.help("write `true`"),
                "no" | "No" | "off" | "False" | "FALSE" => problem.help("write `false`"),
                _ if plain.contains(['"', '\\']) => problem,
                _ if plain != written => problem.help(format!("TOML takes straight quotes only: `{before} \"{plain}\"`")),
                _ => problem.help(format!("write `{before} \"{plain}\"`")),
            }
        }
        _ if message.starts_with("invalid basic string, expected `\"`")
            || message.starts_with("invalid literal string, expected `'`") =>
        {
            at("a text is not closed".to_owned()).label("expected the closing quote")
        }
        _ if message.starts_with("invalid multi-line") => at("a text over several lines is not closed".to_owned())
            .label("expected the closing quotes")
            .note("it begins with three quotes, and ends with three"),
        _ if message.starts_with("key with no value") => {
            let problem = Problem::at(file, line_span.clone(), "a line without `=`").label("expected `key = value`");
            match line.split_once(':') {
                Some((key, value)) if !key.contains(' ') => problem.help(format!("write `{} = {}`", key.trim(), value.trim())),
                _ => problem,
            }
        }
        _ if message.starts_with("unexpected key or value") => {
            let problem = at("more stands on the line after the value".to_owned()).label("expected the end of the line");
            let fraction = after.strip_prefix(',').filter(|rest| rest.starts_with(|next: char| next.is_ascii_digit()));
            match fraction {
                Some(fraction) if before.ends_with(|last: char| last.is_ascii_digit()) => {
                    problem.help(format!("decimals are written with a point: `{before}.{}`", fraction.trim_end()))
                }
                _ => problem.help("write one `key = value` to a line"),
            }
        }
        _ if message.starts_with("unclosed table") => at("a heading is not closed".to_owned()).label("expected `]`"),
        _ if message.starts_with("unclosed array table") => at("a heading is not closed".to_owned()).label("expected `]]`"),
        _ if message.starts_with("invalid unquoted key") => at("a key may hold letters a–z, digits, `_` and `-`".to_owned())
            .label("expected none of this")
            .help("put a key with anything else in it in quotes"),
        _ => {
            let (what, expected) = message.split_once(", expected ").unwrap_or((message, ""));
            let problem = at(what.to_owned());
            if expected.is_empty() || expected == "nothing" { problem } else { problem.label(format!("expected {expected}")) }
        }
    }
}

/// A key given twice. The parser does not say where it stood first, so the tree is searched for it.
fn duplicate(file: &SourceFile, root: Option<&DeTable<'_>>, span: &Range<usize>) -> Problem {
    let written = file.text().get(span.clone()).unwrap_or_default();
    let problem = Problem::at(file, span.clone(), format!("{} is given twice", quoted(written.trim_matches(['"', '\'']))))
        .label("given again");
    let Some(root) = root else { return problem };
    let mut earlier = Vec::new();
    keys_written(root, file.text(), written, span.start, &mut earlier);
    earlier.sort_by_key(|span| span.start);
    // After a dot, the nearest key of that name may belong to another table: then say nothing rather than a wrong thing.
    let is_dotted = file.text()[..span.start].ends_with('.');
    match earlier.as_slice() {
        [.., last] if earlier.len() == 1 || !is_dotted => problem.also(file.place(last.clone()).label("first given here")),
        _ => problem,
    }
}

/// Every key of the tree that is written like `written` and stands before `before`.
fn keys_written(table: &DeTable<'_>, text: &str, written: &str, before: usize, found: &mut Vec<Range<usize>>) {
    for (key, value) in table {
        let span = key.span();
        if span.start < before && text.get(span.clone()) == Some(written) {
            found.push(span);
        }
        let tables = value.get_ref().as_array().into_iter().flatten().filter_map(|entry| entry.get_ref().as_table());
        for inner in value.get_ref().as_table().into_iter().chain(tables) {
            keys_written(inner, text, written, before, found);
        }
    }
}

#[cfg(test)]
mod tests {
    use insta::assert_snapshot;

    use crate::{Problems, SourceFile, render, toml_table};

    fn shown(text: &str) -> String {
        let file = SourceFile::from_text("a.toml", text);
        let mut problems = Problems::new();
        toml_table::parse(&file, &mut problems).take_rest();
        render(&problems, false)
    }

    #[test]
    fn usual_slips_are_said_in_plain_words_with_the_line_put_right() {
        let text = "\
mass = 84 kg
stack = “610 mm”
reach = \"440 mm
head_angle = 68,5
seat_angle =
foot_retention = yes
größe = 1
bb_drop = 40 wheelbase = 1141
";
        assert_snapshot!(shown(text), @r#"
        error: `84 kg` is not in quotes
         --> a.toml:1:8
          |
        1 | mass = 84 kg
          |        ^^^^^ expected a number, or a text in quotes
          |
          = help: write `mass = "84 kg"`

        error: `“610 mm”` is not in quotes
         --> a.toml:2:9
          |
        2 | stack = “610 mm”
          |         ^^^^^^^^ expected a number, or a text in quotes
          |
          = help: TOML takes straight quotes only: `stack = "610 mm"`

        error: a text is not closed
         --> a.toml:3:16
          |
        3 | reach = "440 mm
          |                ^ expected the closing quote

        error: more stands on the line after the value
         --> a.toml:4:16
          |
        4 | head_angle = 68,5
          |                ^ expected the end of the line
          |
          = help: decimals are written with a point: `head_angle = 68.5`

        error: there is no value after `=`
         --> a.toml:5:13
          |
        5 | seat_angle =
          |             ^ expected a value

        error: `yes` is not in quotes
         --> a.toml:6:18
          |
        6 | foot_retention = yes
          |                  ^^^ expected a number, or a text in quotes
          |
          = help: write `true`

        error: a key may hold letters a–z, digits, `_` and `-`
         --> a.toml:7:3
          |
        7 | größe = 1
          |   ^^ expected none of this
          |
          = help: put a key with anything else in it in quotes

        error: more stands on the line after the value
         --> a.toml:8:24
          |
        8 | bb_drop = 40 wheelbase = 1141
          |                        ^ expected the end of the line
          |
          = help: write one `key = value` to a line

        8 problems in a.toml
        "#);
    }

    #[test]
    fn a_missing_equals_sign_and_an_open_heading() {
        assert_snapshot!(shown("mass: 84\n"), @r#"
        error: a line without `=`
         --> a.toml:1:1
          |
        1 | mass: 84
          | ^^^^^^^^ expected `key = value`
          |
          = help: write `mass = 84`
        "#);
        assert_snapshot!(shown("just words\n"), @r#"
        error: a line without `=`
         --> a.toml:1:1
          |
        1 | just words
          | ^^^^^^^^^^ expected `key = value`
        "#);
        assert_snapshot!(shown("[frame\na = 1\n[[part]\nid = 1\n"), @r#"
        error: a heading is not closed
         --> a.toml:1:7
          |
        1 | [frame
          |       ^ expected `]`

        error: a heading is not closed
         --> a.toml:3:8
          |
        3 | [[part]
          |        ^ expected `]]`

        2 problems in a.toml
        "#);
        assert_snapshot!(shown("a = [1 2 3]\nb = { c = 1\n"), @r#"
        error: `1 2 3` is not in quotes
         --> a.toml:1:6
          |
        1 | a = [1 2 3]
          |      ^^^^^ expected a number, or a text in quotes
          |
          = help: write `a = [ "1 2 3"`

        error: unclosed inline table
         --> a.toml:2:12
          |
        2 | b = { c = 1
          |            ^ expected `}`

        2 problems in a.toml
        "#);
        assert_snapshot!(shown("a = \"\"\"abc\nfoo = 1\n"), @r#"
        error: a text over several lines is not closed
         --> a.toml:3:1
          |
        3 |
          | ^ expected the closing quotes
          |
          = note: it begins with three quotes, and ends with three
        "#);
    }

    #[test]
    fn a_key_given_twice_points_at_both() {
        assert_snapshot!(shown("a = 1\nb = 2\na = 3\n"), @r#"
        error: `a` is given twice
         --> a.toml:3:1
          |
        1 | a = 1
          | - first given here
        2 | b = 2
        3 | a = 3
          | ^ given again
        "#);
        assert_snapshot!(shown("[[part]]\nid = 1\n[[part]]\nid = 2\nid = 3\n"), @r#"
        error: `id` is given twice
         --> a.toml:5:1
          |
        4 | id = 2
          | -- first given here
        5 | id = 3
          | ^^ given again
        "#);
        assert_snapshot!(shown("[frame]\n[fork]\n[frame]\n"), @r#"
        error: `frame` is given twice
         --> a.toml:3:2
          |
        3 | [frame]
          |  ^^^^^ given again
        "#);
        assert_snapshot!(shown("x = { a.b = 1, c.b = 2, a.b = 3 }\n"), @r#"
        error: `b` is given twice
         --> a.toml:1:27
          |
        1 | x = { a.b = 1, c.b = 2, a.b = 3 }
          |                           ^ given again
        "#);
    }
}
