//! What is asked of the bench, in the words of its address: not yet looked up.
//!
//! | key | says |
//! |---|---|
//! | `bike` | which of the workshop's bikes |
//! | `own` | a bike of one's own, packed |
//! | `set.SLOT` | the part on trial in a slot, by its catalogue id |
//! | `off` | a slot left empty; may come several times |
//! | `adjust.NAME` | a number of set-up, rider or chart; empty: as it is |
//! | `pose` | `aboard`: drawn with the rider on it |
//! | `units` | `imperial` |
//! | `rate`, `budget` | money an hour; the most that may be spent |
//! | `keep` | a slot whose part stays; may come several times |
//! | `new` | `yes`: new parts only |
//! | `text` | what the technician made of the draft, packed |
//!
//! Other keys belong to a page (`slot`, `find`) or to nobody, and are passed over.

use form_urlencoded::Serializer;

/// Which bike.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) enum Which {
    /// None is named.
    #[default]
    None,
    /// One of the workshop's.
    Offered(String),
    /// One's own, packed.
    Own(String),
}

/// The state of a bench.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Asked {
    pub(crate) bike: Which,
    pub(crate) set: Vec<(String, String)>,
    pub(crate) off: Vec<String>,
    pub(crate) adjust: Vec<(String, String)>,
    pub(crate) aboard: bool,
    pub(crate) imperial: bool,
    pub(crate) rate: Option<String>,
    pub(crate) budget: Option<String>,
    pub(crate) keep: Vec<String>,
    pub(crate) new_only: bool,
    pub(crate) text: Option<String>,
}

impl Asked {
    /// Reads the query of an address. Of a key that may come once, the last one counts.
    pub(crate) fn from_query(query: &str) -> Self {
        Self::from_pairs(form_urlencoded::parse(query.as_bytes()))
    }

    /// The same from its pairs.
    pub(crate) fn from_pairs<K: AsRef<str>, V: AsRef<str>>(pairs: impl IntoIterator<Item = (K, V)>) -> Self {
        let mut asked = Self::default();
        for (key, value) in pairs {
            let value = value.as_ref().trim();
            if value.is_empty() {
                continue;
            }
            let value = value.to_owned();
            match key.as_ref() {
                "bike" => asked.bike = Which::Offered(value),
                "own" => asked.bike = Which::Own(value),
                "off" => asked.off.push(value),
                "pose" => asked.aboard = value == "aboard",
                "units" => asked.imperial = value == "imperial",
                "rate" => asked.rate = Some(value),
                "budget" => asked.budget = Some(value),
                "keep" => asked.keep.push(value),
                "new" => asked.new_only = value == "yes",
                "text" => asked.text = Some(value),
                key => {
                    if let Some(slot) = key.strip_prefix("set.") {
                        put(&mut asked.set, slot, value);
                    } else if let Some(name) = key.strip_prefix("adjust.") {
                        put(&mut asked.adjust, name, value);
                    }
                }
            }
        }
        asked.off.retain(|slot| asked.set.iter().all(|set| set.0 != *slot));
        asked
    }

    /// Pairs of the address, in the order of the table above.
    pub(crate) fn pairs(&self) -> Vec<(String, String)> {
        let mut pairs = Vec::new();
        let mut pair = |key: &str, value: &str| pairs.push((key.to_owned(), value.to_owned()));
        match &self.bike {
            Which::None => {}
            Which::Offered(id) => pair("bike", id),
            Which::Own(packed) => pair("own", packed),
        }
        for (slot, part) in &self.set {
            pair(&format!("set.{slot}"), part);
        }
        for slot in &self.off {
            pair("off", slot);
        }
        for (name, value) in &self.adjust {
            pair(&format!("adjust.{name}"), value);
        }
        if self.aboard {
            pair("pose", "aboard");
        }
        if self.imperial {
            pair("units", "imperial");
        }
        for (key, value) in [("rate", &self.rate), ("budget", &self.budget)] {
            if let Some(value) = value {
                pair(key, value);
            }
        }
        for slot in &self.keep {
            pair("keep", slot);
        }
        if self.new_only {
            pair("new", "yes");
        }
        if let Some(text) = &self.text {
            pair("text", text);
        }
        pairs
    }

    /// An address with this state: `path?…`.
    pub(crate) fn address(&self, path: &str) -> String {
        self.address_with(path, &[])
    }

    /// The same with pairs of a page's own.
    pub(crate) fn address_with(&self, path: &str, more: &[(&str, &str)]) -> String {
        let mut query = Serializer::new(String::new());
        query.extend_pairs(self.pairs());
        query.extend_pairs(more);
        let query = query.finish();
        if query.is_empty() { path.to_owned() } else { format!("{path}?{query}") }
    }

    /// The same bench with another part on trial in a slot.
    pub(crate) fn with_set(&self, slot: &str, part: &str) -> Self {
        let mut asked = self.without(slot);
        asked.set.push((slot.to_owned(), part.to_owned()));
        asked
    }

    /// The same bench with a slot left empty.
    pub(crate) fn with_off(&self, slot: &str) -> Self {
        let mut asked = self.without(slot);
        asked.off.push(slot.to_owned());
        asked
    }

    /// The same bench with what is on the bike in a slot.
    pub(crate) fn without(&self, slot: &str) -> Self {
        let mut asked = self.clone();
        asked.set.retain(|set| set.0 != slot);
        asked.off.retain(|off| off != slot);
        asked
    }
}

fn put(list: &mut Vec<(String, String)>, key: &str, value: String) {
    list.retain(|pair| pair.0 != key);
    list.push((key.to_owned(), value));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_says_what_it_was_made_of() {
        let query = "bike=heron&set.fork=tarn-150&off=front_rotor&off=chain&adjust.stem_spacers=10+mm&pose=aboard&units=imperial\
                     &rate=60&budget=300&keep=crank&new=yes&text=abc";
        let asked = Asked::from_query(query);
        assert_eq!(asked.address("/bench"), format!("/bench?{query}"));
        assert_eq!(Asked::from_query(asked.address("").trim_start_matches('?')), asked);
    }

    #[test]
    fn empty_fields_of_a_form_say_nothing_and_the_last_of_two_counts() {
        let asked = Asked::from_query("bike=heron&adjust.front_sag=&set.fork=a&set.fork=b&off=fork&nonsense=1");
        assert_eq!(asked.address(""), "?bike=heron&set.fork=b");
        assert_eq!(asked.with_off("fork").address(""), "?bike=heron&off=fork");
        assert_eq!(asked.without("fork").address(""), "?bike=heron");
    }
}
