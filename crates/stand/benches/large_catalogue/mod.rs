//! A large catalogue made from the demo's: each part crossed with others of its kind, so that it is varied but of this world.

use std::{path::Path, sync::Arc};

use bike::{Catalogue, Part, Value, read::read_catalogue};
use knowledge::{KindId, Knowledge};
use quantity::Quantity;
use rand::{Rng, SeedableRng, rngs::StdRng};

/// The demo's folder.
pub(crate) fn demo() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../../demo"))
}

/// `count` parts, all of one kind or of the demo's kinds in the demo's proportions.
pub(crate) fn large(knowledge: &Knowledge, kind: Option<KindId>, count: usize, seed: u64) -> Catalogue {
    let demo = read_catalogue(&[demo().join("parts")], knowledge).unwrap_or_else(|problems| panic!("{problems}"));
    let models: Vec<&Arc<Part>> = demo.iter().filter(|part| kind.is_none_or(|kind| part.kind == kind)).collect();
    let mut random = StdRng::seed_from_u64(seed);
    let mut catalogue = Catalogue::new();
    for number in 0..count {
        let part = crossed(&models, number, &mut random);
        assert!(catalogue.add(part).is_ok(), "ids are numbers");
    }
    catalogue
}

fn crossed(models: &[&Arc<Part>], number: usize, random: &mut StdRng) -> Part {
    let model = models[random.random_range(0..models.len())];
    let mut part = Part::clone(model);
    part.id = Some(format!("part-{number}"));
    part.name = format!("{} no. {number}", model.name);
    part.price = Some((model.price.unwrap_or(20.0) * random.random_range(0.5..2.0) * 100.0_f64).round() / 100.0);
    let kin: Vec<&&Arc<Part>> = models.iter().filter(|other| other.kind == model.kind).collect();
    let stated: Vec<_> = model.values.iter().map(|(attribute, _)| attribute).collect();
    for attribute in stated {
        if random.random_bool(0.3) {
            let other = kin[random.random_range(0..kin.len())];
            if let Some(value) = other.values.get(attribute) {
                part.values.set(attribute, value.clone());
            }
        }
        if let (true, Some(Value::Quantity(old))) = (random.random_bool(0.2), part.values.get(attribute)) {
            let value = (old.value() * random.random_range(0.97..1.03) * 10.0).round() / 10.0;
            let new = Quantity::new(value, old.dimension(), old.spread(), old.origin());
            part.values.set(attribute, Value::Quantity(new));
        }
    }
    part
}
