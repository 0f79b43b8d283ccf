//! The demo bikes with something tried on them, for tests of what is written of it.

use std::path::PathBuf;

use bike::read::{adjust, parse_set, parse_unset, read_build, read_swap};
use knowledge::Knowledge;
use quantity::print::Units;
use stand::{Limits, Stand, Telling, answer::Answer};

pub(crate) struct Bench {
    stand: Stand,
}

impl Bench {
    pub(crate) fn new() -> Self {
        Self { stand: Stand::new(Knowledge::embedded().unwrap_or_else(|problems| panic!("{problems}"))).unwrap() }
    }

    /// Tries `set SLOT=PART`, `unset SLOT`, `adjust NAME=VALUE` and `swap FILE` on a bike.
    pub(crate) fn answer(&self, bike: &str, asked: &[&str], units: Units) -> Answer {
        let demo = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../demo");
        let knowledge = self.stand.knowledge();
        let (build, catalogue) = read_build(&demo.join(format!("{bike}.toml")), knowledge).unwrap_or_else(|p| panic!("{p}"));
        let mut swap = bike::Swap::default();
        for what in asked {
            match what.split_once(' ').unwrap() {
                ("set", text) => swap.set.push(parse_set(text, knowledge, &catalogue).unwrap_or_else(|p| panic!("{p}"))),
                ("unset", text) => swap.unset.push(parse_unset(text, knowledge).unwrap()),
                ("adjust", text) => adjust(text, &build, &mut swap, knowledge).unwrap(),
                ("swap", name) => {
                    swap = read_swap(&demo.join(format!("swaps/{name}.toml")), knowledge, &catalogue)
                        .unwrap_or_else(|p| panic!("{p}"));
                }
                _ => panic!("{what}"),
            }
        }
        let telling = Telling { units, currency: catalogue.currency() };
        let mounted = self.stand.mount(build).unwrap();
        mounted.answer_from(&swap, telling, &catalogue, &Limits::default()).unwrap()
    }
}
