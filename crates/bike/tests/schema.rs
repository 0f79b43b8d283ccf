//! The JSON Schemas: up to date, schemas indeed, and in agreement with the reader.
//!
//! After a change of the part kinds, rewrite them with `UPDATE=1 cargo test -p bike --test schema`.

use std::fs;
use std::path::{Path, PathBuf};

use bike::read::{build_from, catalogue_from, read_build, read_catalogue, read_swap, swap_from};
use bike::{Catalogue, schema, write_build};
use knowledge::Knowledge;
use serde_json::Value;
use source_file::SourceFile;

type Result<T> = std::result::Result<T, Box<dyn std::error::Error>>;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn schemas(knowledge: &Knowledge) -> [(&'static str, Value); 3] {
    [("build", schema::build(knowledge)), ("catalogue", schema::catalogue(knowledge)), ("swap", schema::swap(knowledge))]
}

/// What a TOML file says, as JSON; `None` if it is no TOML.
fn as_json(text: &str) -> Option<Value> {
    toml::from_str(text).ok()
}

fn toml_files(folder: &Path) -> Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.extension().is_some_and(|extension| extension == "toml") {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

#[test]
fn the_schema_files_are_up_to_date() -> Result<()> {
    let knowledge = Knowledge::embedded()?;
    for (name, schema) in schemas(&knowledge) {
        let path = root().join("schema").join(name).with_extension("schema.json");
        let wanted = schema::text(&schema);
        if std::env::var_os("UPDATE").is_some() {
            fs::create_dir_all(root().join("schema"))?;
            fs::write(&path, &wanted)?;
        }
        let found = fs::read_to_string(&path).unwrap_or_default();
        assert!(found == wanted, "schema/{name}.schema.json is out of date: run `UPDATE=1 cargo test -p bike --test schema`");
    }
    Ok(())
}

#[test]
fn they_are_schemas() -> Result<()> {
    let knowledge = Knowledge::embedded()?;
    for (name, schema) in schemas(&knowledge) {
        assert!(jsonschema::meta::is_valid(&schema), "{name}");
        jsonschema::validator_for(&schema)?;
    }
    Ok(())
}

/// Every attribute that can be written is described, with what forms it may take.
#[test]
fn every_attribute_has_a_description() -> Result<()> {
    let knowledge = Knowledge::embedded()?;
    for (name, schema) in schemas(&knowledge) {
        assert_eq!(undescribed(&schema, name), Vec::<String>::new());
    }
    Ok(())
}

/// Properties of a schema that say nothing about themselves.
fn undescribed(schema: &Value, place: &str) -> Vec<String> {
    let mut found = Vec::new();
    match schema {
        Value::Object(map) => {
            for (key, value) in map {
                let place = format!("{place}.{key}");
                if key == "properties" {
                    for (name, property) in value.as_object().into_iter().flatten() {
                        // A condition on a kind describes nothing.
                        let is_condition = property.get("const").is_some() && map.len() <= 2;
                        let names_a_table = property.get("properties").is_some();
                        if property.get("description").is_none() && !is_condition && !names_a_table {
                            found.push(format!("{place}.{name}"));
                        }
                    }
                }
                found.extend(undescribed(value, &place));
            }
        }
        Value::Array(items) => found.extend(items.iter().flat_map(|item| undescribed(item, place))),
        _ => {}
    }
    found
}

#[test]
fn what_the_reader_accepts_the_schemas_accept() -> Result<()> {
    let knowledge = Knowledge::embedded()?;
    let [build, catalogue, swap] = schemas(&knowledge).map(|(_, schema)| schema);
    let (build, catalogue, swap) =
        (jsonschema::validator_for(&build)?, jsonschema::validator_for(&catalogue)?, jsonschema::validator_for(&swap)?);
    let demo = root().join("demo");
    let check = |validator: &jsonschema::Validator, text: &str, name: &str| {
        let json = as_json(text).unwrap_or_else(|| panic!("{name} is no TOML"));
        let errors: Vec<String> =
            validator.iter_errors(&json).map(|error| format!("{name} {}: {error}", error.instance_path())).collect();
        assert_eq!(errors, Vec::<String>::new());
    };
    let mut checked = 0;
    for path in toml_files(&demo.join("parts"))? {
        check(&catalogue, &fs::read_to_string(&path)?, &path.display().to_string());
        read_catalogue(&[&path], &knowledge)?;
        checked += 1;
    }
    for path in toml_files(&demo)? {
        let (read, parts) = read_build(&path, &knowledge)?;
        check(&build, &fs::read_to_string(&path)?, &path.display().to_string());
        check(&build, &write_build(&read, &knowledge), "a written build");
        for path in toml_files(&demo.join("swaps"))? {
            read_swap(&path, &knowledge, &parts)?;
            check(&swap, &fs::read_to_string(&path)?, &path.display().to_string());
        }
        checked += 1;
    }
    assert!(checked >= 10, "only {checked} files were there to check");
    Ok(())
}

/// The cases of `bad_input/`: what a schema refuses, the reader refuses (that is tested there for every case), and each schema
/// refuses a good share of them by itself.
#[test]
fn the_schemas_refuse_much_of_what_the_reader_refuses() -> Result<()> {
    let knowledge = Knowledge::embedded()?;
    let nothing = Catalogue::new();
    let [build, catalogue, swap] = schemas(&knowledge).map(|(_, schema)| schema);
    let refused = |schema: &Value, cases: &str, reads: &dyn Fn(&SourceFile) -> bool| -> Result<(usize, usize)> {
        let validator = jsonschema::validator_for(schema)?;
        let texts = cases.split("=== ").skip(1).map(|case| case.split_once('\n').map_or("", |(_, text)| text));
        let cases: Vec<(Value, bool)> =
            texts.filter_map(|text| Some((as_json(text)?, reads(&SourceFile::from_text("a.toml", text))))).collect();
        assert!(cases.iter().all(|(json, is_read)| !is_read || validator.is_valid(json)));
        Ok((cases.iter().filter(|(json, _)| !validator.is_valid(json)).count(), cases.len()))
    };
    let of_builds = refused(&build, include_str!("bad_input/build.txt"), &|file| build_from(file, &nothing, &knowledge).is_ok())?;
    let of_catalogues =
        refused(&catalogue, include_str!("bad_input/catalogue.txt"), &|file| catalogue_from(file, &knowledge).is_ok())?;
    let of_swaps = refused(&swap, include_str!("bad_input/swap.txt"), &|file| swap_from(file, &knowledge, &nothing).is_ok())?;
    for (refused, all) in [of_builds, of_catalogues, of_swaps] {
        assert!(refused * 10 >= all * 6, "only {refused} of {all} cases are refused");
    }
    Ok(())
}
