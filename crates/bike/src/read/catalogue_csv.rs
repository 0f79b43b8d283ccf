//! A catalogue as a table: a row for each part, a column for each thing that is known of it.
//!
//! ```text
//! id,kind,name,maker,mass (g),price,bead_seat_diameter,width (mm)
//! sedge-622-40,tyre,Sedge 622 x 40,Teasel,460,42,622,40 ± 1
//! ```
//!
//! A column is called as the attribute is; its unit may stand behind it in brackets, and holds for cells that are bare numbers.
//! Columns of several kinds may stand side by side: a blank cell says nothing. A frame's chart has columns like `chart.stack`.

use knowledge::{About, AttributeType, KindId};
use quantity::{Dimension, Origin, Unit};
use source_file::{Problem, SourceFile, Text, closest, csv_rows, quoted};

use super::catalogue_file::Shelf;
use super::part_table::PART_KEYS;
use super::values::{AGE, MASS, Names, PRICE, YEAR};
use super::{Known, Reader, list};
use crate::kinds;
use crate::part::Part;
use crate::value::{Stated, Values};

/// What a column's name begins with if it is of the chart.
const CHART: &str = "chart.";

/// A column, by its header.
struct Column<'f> {
    header: &'f Text<'f>,
    name: &'f str,
    /// The unit its header states.
    unit: Option<Unit>,
}

/// What the cells of a column are.
#[derive(Clone, Copy)]
enum Content {
    /// Numbers with a unit.
    Quantities(Dimension),
    /// Something else.
    Words,
}

/// What a column is to a part of one kind.
#[derive(Clone, Copy)]
enum Meaning<'k> {
    /// One of [`PART_KEYS`].
    Key(&'static str),
    /// An attribute of the kind.
    Attribute(Known<'k>),
    /// An attribute of the chart.
    Chart(Known<'k>),
    /// Nothing: the kind has no such attribute.
    Nothing,
}

impl<'k> Reader<'k> {
    pub(super) fn catalogue_csv(&mut self, file: &SourceFile, shelf: &mut Shelf) {
        let before = self.problems.len();
        let mut rows = csv_rows::parse(file, &mut self.problems);
        let header = rows.header().to_vec();
        let columns: Vec<Column<'_>> = header.iter().map(|name| self.column(name)).collect();
        let missing = ["id", "kind", "name"].into_iter().filter(|key| !columns.iter().any(|column| column.name == *key));
        let missing: Vec<&str> = missing.collect();
        if let (Some(first), Some(last), false) = (header.first(), header.last(), missing.is_empty()) {
            let problem = Problem::at(
                file,
                first.span().start..last.span().end,
                format!("there is no column {}", list(missing.into_iter())),
            );
            self.push(
                problem.help("the first line names the columns: `id`, `kind`, `name` and attributes, for example `width (mm)`"),
            );
        }
        // With a wrong header, every row would be wrong as well.
        if self.problems.len() > before {
            self.catalogue_is_missing = true;
            return;
        }
        let names = Names::new(file);
        let mut meanings: Vec<Option<Vec<Meaning<'k>>>> = vec![None; self.knowledge.kinds.len()];
        while let Some(row) = rows.next_row(&mut self.problems) {
            if let Some((part, id)) = self.csv_part(&row, &columns, &mut meanings, &names) {
                self.shelve(part, file.place(id), shelf);
            }
        }
    }

    /// Reads a header cell: a name, and perhaps a unit in brackets.
    fn column<'f>(&mut self, header: &'f Text<'f>) -> Column<'f> {
        let text = header.as_str();
        let (name, unit) = match text.split_once('(') {
            Some((name, rest)) => (name.trim(), Some(rest.strip_suffix(')').unwrap_or(rest).trim())),
            None => (text, None),
        };
        let Some(content) = self.column_content(name) else {
            // A column without a name is reported by the one who cut the cells.
            if !name.is_empty() {
                let problem = self.unknown_column(header, name);
                self.push(problem);
            }
            return Column { header, name, unit: None };
        };
        let unit = unit.and_then(|unit| self.column_unit(header, name, unit, content));
        Column { header, name, unit }
    }

    /// What a column holds; `None` if there is nothing of that name.
    fn column_content(&self, name: &str) -> Option<Content> {
        match name {
            "mass" => return Some(Content::Quantities(Dimension::Mass)),
            "price" => return Some(Content::Quantities(Dimension::Price)),
            "age" => return Some(Content::Quantities(Dimension::Duration)),
            key if PART_KEYS.contains(&key) => return Some(Content::Words),
            _ => {}
        }
        let found = match name.strip_prefix(CHART) {
            Some(name) => self.knowledge.table(About::Chart).and_then(|chart| self.known_named(chart, name)),
            None => kinds::parts(self.knowledge).find_map(|(kind, _)| self.known_named(kind, name)),
        }?;
        Some(match found.attribute.what {
            AttributeType::Quantity { dimension, .. } => Content::Quantities(dimension),
            _ => Content::Words,
        })
    }

    fn column_unit(&mut self, header: &Text<'_>, name: &str, unit: &str, content: Content) -> Option<Unit> {
        let start = header.find('(').map_or(0, |bracket| bracket + 1);
        let start = start + header[start..].len() - header[start..].trim_start().len();
        let span = start..start + unit.len();
        let Content::Quantities(dimension) = content else {
            let problem = header.problem_within(span, format!("the column `{name}` holds no numbers with a unit"));
            return self.refuse(problem.label("leave the unit out"));
        };
        match Unit::named(unit) {
            Some(unit) if unit.dimension() == dimension => Some(unit),
            Some(found) => {
                let problem =
                    header.problem_within(span, format!("the column `{name}` is given as {}", found.dimension().with_article()));
                let problem = problem.label(format!("expected the unit of {}", dimension.with_article()));
                self.refuse(problem.help(format!("write it like `{name} ({})`", dimension.base_symbol())))
            }
            None => {
                let problem = header.problem_within(span, format!("unknown unit {}", quoted(unit))).label("no such unit");
                // What a text with this unit would be told.
                let help = quantity::parse(&format!("1 {unit}"), dimension).err().and_then(|error| error.help());
                self.refuse(problem.help_if(help))
            }
        }
    }

    fn unknown_column(&self, header: &Text<'_>, name: &str) -> Problem {
        let problem = header.problem(format!("there is no attribute called {}", quoted(name)));
        if let Some(name) = name.strip_prefix(CHART) {
            let chart = self.knowledge.table(About::Chart).map_or(&[][..], |chart| self.known(chart));
            return match closest(name, chart.iter().map(|known| known.attribute.id.as_str())) {
                Some(meant) => problem.label(format!("did you mean `{CHART}{meant}`?")),
                None => problem.label("a chart has no such number"),
            };
        }
        let attributes = kinds::parts(self.knowledge).flat_map(|(kind, _)| self.known(kind));
        match closest(name, PART_KEYS.into_iter().chain(attributes.map(|known| known.attribute.id.as_str()))) {
            Some(meant) => problem.label(format!("did you mean `{meant}`?")),
            None => problem.label("no kind of part has it"),
        }
    }

    fn known_named(&self, kind: KindId, name: &str) -> Option<Known<'k>> {
        self.known(kind).iter().find(|known| known.attribute.id == name).copied()
    }

    /// What the columns are to parts of a kind.
    fn meanings(&self, columns: &[Column<'_>], kind: KindId) -> Vec<Meaning<'k>> {
        let chart = self.knowledge.table(About::Chart).filter(|_| kinds::frame_kind(self.knowledge) == Some(kind));
        let meaning = |column: &Column<'_>| {
            if let Some(key) = PART_KEYS.into_iter().find(|key| *key == column.name) {
                return Meaning::Key(key);
            }
            if let Some(known) = self.known_named(kind, column.name) {
                return Meaning::Attribute(known);
            }
            let of_chart = column.name.strip_prefix(CHART).zip(chart).and_then(|(name, chart)| self.known_named(chart, name));
            of_chart.map_or(Meaning::Nothing, Meaning::Chart)
        };
        columns.iter().map(meaning).collect()
    }

    /// One row as a part, with the place of its id.
    fn csv_part(
        &mut self,
        row: &csv_rows::Row<'_>,
        columns: &[Column<'_>],
        meanings: &mut [Option<Vec<Meaning<'k>>>],
        names: &Names<'_>,
    ) -> Option<(Part, std::ops::Range<usize>)> {
        let before = self.problems.len();
        let cell_of = |key: &str| columns.iter().position(|column| column.name == key).and_then(|column| row.cell(column));
        let blank: Vec<&str> = ["id", "kind", "name"].into_iter().filter(|key| cell_of(key).is_none()).collect();
        let id_span = cell_of("id").map_or(row.place().span, Text::span);
        let id = cell_of("id").and_then(|cell| self.id(cell));
        let kind = cell_of("kind").and_then(|cell| self.kind_named(cell));
        let called = id.as_deref().map_or_else(|| "a part".to_owned(), quoted);
        if !blank.is_empty() {
            let place = row.place();
            let problem = Problem::at(&place.file, place.span, format!("{called} has no {}", list(blank.into_iter())));
            self.push(problem.label("missing in this row").help("every part has an `id`, a `kind` and a `name`"));
        }
        let place = names.written_at(id_span.start);
        let part = kind.map(|kind| {
            let mut part = Part { id: id.clone(), place: Some(place.clone()), ..Part::new(kind, "") };
            let mut chart = Values::new();
            let mut seen = Vec::new();
            let of_kind = match &mut meanings[kind.index()] {
                Some(of_kind) => of_kind,
                none => none.insert(self.meanings(columns, kind)),
            };
            for (column, (about, meaning)) in columns.iter().zip(of_kind.iter()).enumerate() {
                let Some(cell) = row.cell(column) else { continue };
                match *meaning {
                    Meaning::Key("name") => part.name = self.line_of_text("name", cell).unwrap_or_default(),
                    Meaning::Key("maker") => part.maker = self.line_of_text("maker", cell),
                    Meaning::Key("mass") => {
                        let mass = MASS.cell(cell, about.unit, Origin::MakersSheet, &mut self.problems);
                        part.mass = mass.map(|mass| self.with_usual_mass_spread(mass));
                    }
                    Meaning::Key("price") => {
                        let price = PRICE.cell(cell, None, Origin::MakersSheet, &mut self.problems);
                        part.price = price.and_then(|price| self.bare_price(price, || cell.problem("")));
                    }
                    Meaning::Key("condition") => part.condition = self.condition(cell).unwrap_or_default(),
                    Meaning::Key("age") => {
                        let age = AGE.cell(cell, about.unit, Origin::MakersSheet, &mut self.problems);
                        part.age_years = age.map(|age| age.quantity.value() / YEAR);
                    }
                    Meaning::Key(_) => {}
                    Meaning::Attribute(known) | Meaning::Chart(known) => {
                        seen.push(known.attribute.id.clone());
                        if let Some(value) = self.cell_value(known.id, known.attribute, cell, about.unit, Origin::MakersSheet) {
                            let stated = Stated { value, place: Some(place.clone()) };
                            let values = if matches!(meaning, Meaning::Chart(_)) { &mut chart } else { &mut part.values };
                            values.set_stated(known.id, stated);
                        }
                    }
                    Meaning::Nothing => {
                        let owner = &self.knowledge.kind_of(kind).name;
                        let problem =
                            cell.problem(format!("the kind {owner} has no {}", quoted(about.name))).label("leave the cell blank");
                        self.push(problem.also(about.header.place().label("the column")));
                    }
                }
            }
            part.chart = (kinds::frame_kind(self.knowledge) == Some(kind)).then_some(chart);
            self.fill(kind, &mut part.values);
            self.require(&part.values, &seen, kind, &called, || {
                let place = row.place();
                Problem::at(&place.file, place.span, "")
            });
            part
        });
        match part {
            Some(part) if self.problems.len() == before && part.id.is_some() => Some((part, id_span)),
            _ => {
                self.broken.extend(id);
                None
            }
        }
    }
}
