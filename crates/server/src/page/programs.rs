//! What programs can ask, told to the person who writes one.

use maud::{Markup, html};

use crate::{
    api::{Address, Example, Method, Takes, addresses, parameters},
    page::document,
    workshop::Workshop,
};

/// The page.
pub(crate) fn programs(workshop: &Workshop) -> Markup {
    let example = Example::of(workshop);
    let addresses = addresses();
    let (posted, read): (Vec<&Address>, Vec<&Address>) = addresses.iter().partition(|address| address.method == Method::Post);
    let body = html! {
        main #main.sheet.plain {
            section {
                p { a href="/" { "← To the first page" } }
                h1 { "For programs" }
                p {
                    "Whatever a page shows can be asked as JSON, with the words of the bench’s address; the link “JSON” on a bench is that "
                    "address. Each request says all that is asked. Numbers are in base units (mm, deg, kg, … as " code { "unit" } " says), "
                    "their " code { "plus_minus" } " is an expanded uncertainty, k = 2."
                }
                p { "A program reads all of this, with every field described, at " a href="/api/openapi.json" { "/api/openapi.json" } " (OpenAPI 3.1)." }
            }
            section {
                h2 { "What can be asked" }
                p.small { "Each link asks with an example." }
                table.addresses {
                    thead { tr { th scope="col" { "Address" } th scope="col" { "What it gives" } } }
                    tbody {
                        @for address in read {
                            tr { th scope="row" { a href=[address.example(&example)] { code { (address.path) } } } td { (address.says) } }
                        }
                    }
                }
            }
            section {
                h2 { "Words of an address" }
                table.addresses {
                    thead { tr { th scope="col" { "Key" } th scope="col" { "What it says" } th scope="col" { "For example" } } }
                    tbody {
                        @for parameter in parameters(workshop) {
                            tr { th scope="row" { code { (parameter.key) } } td { (parameter.says) } td { code { (parameter.example) } } }
                        }
                    }
                }
                p.small { "Of a key that may come once, the last one counts; other keys are passed over." }
            }
            section {
                h2 { "The same as JSON" }
                p {
                    @for (place, address) in posted.iter().enumerate() { @if place > 0 { ", " } code { "POST " (address.path) } }
                    " take a JSON body in place of the address, so that a bike of one’s own need not be packed: its file goes into "
                    code { "build" } "."
                }
                pre tabindex="0" { (format!("POST /api/answer\nContent-Type: application/json\n\n{:#}", example.body(false))) }
            }
            section {
                h2 { "If something is wrong" }
                p {
                    "A mistake under " code { "/api/" } " is an object of the type " code { "application/problem+json" } " (RFC 9457). Its "
                    code { "problems" } " say what is wrong, where, and what would be right; " code { "shown" } " is the same as a terminal shows it."
                }
            }
        }
    };
    document("For programs", &body)
}

impl Address {
    /// A link that can be followed, if the workshop has a bike to follow it with.
    fn example(&self, example: &Example) -> Option<String> {
        match self.takes {
            Takes::Nothing => Some(self.path.to_owned()),
            _ => example.address(self.path, self.takes == Takes::BenchAndSlot),
        }
    }
}
