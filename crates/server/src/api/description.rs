//! The description of the API for programs: OpenAPI 3.1, made from the list of addresses and the types they take and give.

use schemars::{Schema, SchemaGenerator, generate::SchemaSettings, transform::RecursiveTransform};
use serde_json::{Map, Value, json};

use crate::{
    api::{
        addresses::{Address, Method, Takes, addresses},
        parameters::{Example, Parameter, parameters},
        question::Sent,
    },
    mistake::{PROBLEM, Problematic},
    workshop::Workshop,
};

const ABOUT: &str = "One bike on the stand, a proposed change, and what comes of it. Each request says all that is \
                     asked. Numbers are in base units (mm, deg, kg, N, bar, min, km/h, %, and as `unit` says) and their \
                     `plus_minus` is an expanded uncertainty, k = 2 (JCGM 100:2008, 6.2). A margin is clear at zero and above; a \
                     change is after minus before. The form of an answer is not promised to stay before version 1.";

/// A status with what it says, and when it comes.
struct Failure {
    status: u16,
    says: &'static str,
    when: When,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum When {
    /// Whatever is asked.
    Always,
    /// Before the request is read, so without a body.
    Unread,
    /// About a bench.
    OfBench,
    /// With a body.
    WithBody,
}

const FAILURES: [Failure; 11] = [
    fails(400, When::Always, "The request is no HTTP, or its body no JSON."),
    fails(404, When::OfBench, "There is no such bike."),
    fails(408, When::Always, "The body did not come in time."),
    fails(413, When::Always, "The body is too long."),
    fails(414, When::Unread, "The address is too long."),
    fails(415, When::WithBody, "The body is not said to be JSON."),
    fails(421, When::Always, "The request names another host than this machine, which is the only one that may ask."),
    fails(422, When::OfBench, "What was sent cannot be used: what is wrong, where, and what would be right."),
    fails(431, When::Unread, "The headers are too long."),
    fails(500, When::Always, "The program failed; its log says more."),
    fails(503, When::Always, "The program has more to do than it can; `Retry-After` says when to ask again."),
];

const fn fails(status: u16, when: When, says: &'static str) -> Failure {
    Failure { status, says, when }
}

impl Failure {
    fn comes_of(&self, address: &Address) -> bool {
        match self.when {
            When::Always | When::Unread => true,
            When::OfBench => address.takes != Takes::Nothing,
            When::WithBody => address.method == Method::Post,
        }
    }

    /// Name of its description: a program is told otherwise than a person.
    fn name(&self, is_for_programs: bool) -> String {
        let kind = if is_for_programs { "problem" } else { "page" };
        format!("{kind}-{}", self.status)
    }
}

/// The description, for a workshop: places and examples are those it knows.
pub fn description(workshop: &Workshop) -> Value {
    let mut given = generator(SchemaSettings::for_serialize);
    let mut taken = generator(SchemaSettings::for_deserialize);
    let problem = given.subschema_for::<Problematic>();
    let sent = taken.subschema_for::<Sent>();
    let example = Example::of(workshop);
    let described = Described { sent, example, parameters: parameters(workshop) };
    let mut paths: Map<String, Value> = Map::new();
    for address in addresses() {
        let operation = described.operation(&address, &mut given);
        let path = paths.entry(address.path).or_insert_with(|| json!({}));
        path[address.method.word()] = operation;
    }
    let mut schemas = given.take_definitions(true);
    schemas.extend(taken.take_definitions(true));
    let parameters: Map<String, Value> =
        described.parameters.iter().map(|parameter| (parameter.name.to_owned(), parameter.described())).collect();
    json!({
        "openapi": "3.1.1",
        "info": {
            "title": "Swapstand",
            "summary": "One bike, one proposed change: does it fit, what does it do, what else does it take.",
            "description": ABOUT,
            "version": env!("CARGO_PKG_VERSION"),
            "license": { "name": "MIT or Apache-2.0", "identifier": "MIT OR Apache-2.0" },
        },
        "jsonSchemaDialect": "https://json-schema.org/draft/2020-12/schema",
        "servers": [{ "url": "/", "description": "Where this description was read." }],
        "security": [],
        "paths": paths,
        "components": {
            "schemas": schemas,
            "parameters": parameters,
            "responses": responses(&problem),
        },
    })
}

/// Makes schemas whose definitions stand where OpenAPI has them.
fn generator(contract: fn(SchemaSettings) -> SchemaSettings) -> SchemaGenerator {
    let mut settings = contract(SchemaSettings::draft2020_12());
    settings.definitions_path = "/components/schemas".into();
    settings.meta_schema = None;
    settings.with_transform(RecursiveTransform(said_for_programs)).into_generator()
}

/// What the code calls `None`, JSON calls `null`; what is left out has no value that would stand for that.
fn said_for_programs(schema: &mut Schema) {
    if schema.get("default").is_some_and(Value::is_null) {
        schema.remove("default");
    }
    if let Some(Value::String(says)) = schema.get_mut("description") {
        *says = says.replace("`None`", "`null`").replace('\n', " ");
    }
}

impl Method {
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Get => "get",
            Self::Post => "post",
        }
    }
}

impl Parameter {
    fn described(&self) -> Value {
        let mut described = json!({
            "name": self.name, "in": "query", "description": self.says, "required": self.name == "slot", "schema": self.schema,
        });
        // The keys of an object and the items of a list stand in an address one by one: `set.fork=…&off=…&off=…`.
        if matches!(self.schema["type"].as_str(), Some("object" | "array")) {
            described["style"] = json!("form");
            described["explode"] = json!(true);
        }
        described
    }
}

/// What every operation is described with.
struct Described {
    sent: Schema,
    example: Example,
    parameters: Vec<Parameter>,
}

impl Described {
    fn operation(&self, address: &Address, generator: &mut SchemaGenerator) -> Value {
        let mut operation = json!({ "operationId": address.name, "summary": address.says });
        let needs_slot = address.takes == Takes::BenchAndSlot;
        match address.method {
            Method::Get if address.takes != Takes::Nothing => {
                operation["parameters"] = parameters_of(address, &self.parameters);
            }
            Method::Get => {}
            Method::Post => {
                let schema =
                    if needs_slot { json!({ "allOf": [self.sent, { "required": ["slot"] }] }) } else { self.sent.clone().into() };
                let content = json!({ "schema": schema, "example": self.example.body(needs_slot) });
                operation["requestBody"] = json!({ "required": true, "content": { "application/json": content } });
            }
        }
        let mut content = json!({});
        content[address.media_type.split(';').next().unwrap_or_default()] = match address.gives {
            Some(gives) => json!({ "schema": gives(generator) }),
            None => json!({}),
        };
        let mut responses = Map::from_iter([("200".to_owned(), json!({ "description": address.says, "content": content }))]);
        for failure in FAILURES.iter().filter(|failure| failure.comes_of(address)) {
            let name = failure.name(address.is_for_programs());
            responses.insert(failure.status.to_string(), json!({ "$ref": format!("#/components/responses/{name}") }));
        }
        operation["responses"] = Value::Object(responses);
        operation
    }
}

fn parameters_of(address: &Address, all: &[Parameter]) -> Value {
    let wanted = all.iter().filter(|parameter| parameter.is_wanted_at(address));
    wanted.map(|parameter| json!({ "$ref": format!("#/components/parameters/{}", parameter.name) })).collect()
}

/// How failures are told, to programs and to people.
fn responses(problem: &Schema) -> Map<String, Value> {
    let mut responses = Map::new();
    for (is_for_programs, content) in
        [(true, json!({ PROBLEM: { "schema": problem } })), (false, json!({ "text/html": { "schema": { "type": "string" } } }))]
    {
        for failure in &FAILURES {
            let mut response = json!({ "description": failure.says });
            if failure.when != When::Unread {
                response["content"] = content.clone();
            }
            if failure.status == 503 {
                response["headers"] =
                    json!({ "Retry-After": { "description": "Seconds to wait.", "schema": { "type": "integer" } } });
            }
            responses.insert(failure.name(is_for_programs), response);
        }
    }
    responses
}
