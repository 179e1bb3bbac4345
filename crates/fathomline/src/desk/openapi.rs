//! The desk's interface as an OpenAPI document, made from the types themselves; the browser's types are made from it.

use super::wire;
use incident::Chart;
use incident::report::Sent;
use incident::screen::Screen;
use schemars::generate::{SchemaGenerator, SchemaSettings};
use schemars::{JsonSchema, Schema};
use serde_json::{Map, Value, json};

/// The document.
///
/// # Panics
/// When two types of the wire have one name and two shapes: a mistake of ours that a test finds.
pub fn document() -> Value {
    let mut taken = generator(false);
    let mut given = generator(true);
    let paths = paths(&mut taken, &mut given);
    let mut schemas = definitions(&mut given);
    for (name, schema) in definitions(&mut taken) {
        let other = schemas.entry(name.clone()).or_insert_with(|| schema.clone());
        assert_eq!(*other, schema, "{name} has two shapes");
    }
    // Numbers by name: a page that holds one should say which it is.
    for (name, words) in [
        ("Person", "Number of a person of the incident; names are kept apart."),
        ("OrderNumber", "Number of an order; stays with it for the whole incident."),
    ] {
        schemas.insert(name.into(), json!({ "type": "integer", "minimum": 0, "description": words }));
    }
    json!({
        "openapi": "3.1.0",
        "info": {
            "title": "fathomline desk",
            "version": env!("CARGO_PKG_VERSION"),
            "description": "One search, many hands, every screen. Same origin only; a cookie is given by /api/join, and every POST after it \
                            carries x-fathomline-csrf. Places are metres east and north of the site's origin, times milliseconds since 1970 (UTC).",
            "license": { "name": "MIT OR Apache-2.0" }
        },
        "paths": paths,
        "components": {
            "schemas": schemas,
            "securitySchemes": { "cookie": { "type": "apiKey", "in": "cookie", "name": super::sessions::COOKIE } }
        }
    })
}

fn generator(given: bool) -> SchemaGenerator {
    let mut settings = SchemaSettings::draft2020_12();
    settings.definitions_path = "/components/schemas".into();
    settings.meta_schema = None;
    let settings = if given { settings.for_serialize() } else { settings.for_deserialize() };
    settings.into_generator()
}

fn definitions(generator: &mut SchemaGenerator) -> Map<String, Value> {
    generator.take_definitions(true)
}

/// Reports as the browser sends them.
#[derive(JsonSchema)]
#[allow(dead_code)] // read by the generator alone: the desk reads each report by itself
struct Reports {
    /// At most 50, in the device's order.
    reports: Vec<Sent>,
}

fn paths(taken: &mut SchemaGenerator, given: &mut SchemaGenerator) -> Value {
    let join = body(taken.subschema_for::<wire::Join>());
    let reports = body(taken.subschema_for::<Reports>());
    let refused = given.subschema_for::<wire::Refused>();
    let answer = |summary: &str, schema: Schema| operation(summary, answers(&json!(schema), &refused));
    let mut all = Map::new();
    let mut get = |path: &str, operation: Value| {
        all.insert(path.into(), json!({ "get": operation }));
    };
    get("/api/hello", open(answer("Who is there; open to all.", given.subschema_for::<wire::Hello>())));
    get("/api/screen", answer("This device's screen now.", given.subschema_for::<Screen>()));
    get("/api/site", answer("The still part of the map; served once.", given.subschema_for::<Chart>()));
    let still = given.subschema_for::<super::still::Still>();
    get("/api/still", answer("The photo under the map, and the doubt of what is pointed out.", still));
    get("/api/zero", answer("The morning's cards.", given.subschema_for::<wire::Zero>()));
    get("/api/explain/{model}", answer("The page of a model.", given.subschema_for::<wire::Page>()));
    get("/api/live", live(given));
    for (path, summary, kind) in [
        ("/api/photo/{digest}", "The photo under the map, at the address that /api/still gives.", "image/*"),
        ("/api/qr.svg", "The code to join by, for the lead.", "image/svg+xml"),
        ("/api/openapi.json", "This document.", "application/json"),
        ("/handover", "The handover sheet: one page.", "text/html"),
        ("/handover.pdf", "The handover sheet to be printed.", "application/pdf"),
        (
            "/files/log.jsonl",
            "The log, one line an entry, as the digests are made over it.",
            "application/jsonl",
        ),
        ("/files/log.csv", "The log in words.", "text/csv"),
        ("/files/lanes.geojson", "Lanes, outlines, last seen points.", "application/geo+json"),
        ("/files/lanes.gpx", "Lanes and last seen points.", "application/gpx+xml"),
        ("/files/belief.geojson", "Outlines of the belief.", "application/geo+json"),
    ] {
        get(path, operation(summary, json!({ "200": { "description": summary, "content": { kind: {} } } })));
    }
    let mut post = |path: &str, body: Option<&Value>, operation: Value| {
        let mut operation = operation;
        if let Some(body) = body {
            operation["requestBody"] = body.clone();
        }
        let entry = all.entry(path).or_insert_with(|| json!({}));
        entry["post"] = operation;
    };
    let joined = given.subschema_for::<wire::Joined>();
    post("/api/join", Some(&join), open(answer("Join with the crew word or the code's token.", joined)));
    let answers = given.subschema_for::<wire::Answers>();
    post("/api/report", Some(&reports), answer("Reports; answered once they are on disk.", answers));
    let zero = given.subschema_for::<wire::Zero>();
    post("/api/zero", None, answer("Makes the morning's cards anew; the lead's.", zero));
    Value::Object(all)
}

/// The stream of server-sent events; its kinds of message are named by their event.
fn live(given: &mut SchemaGenerator) -> Value {
    let change = json!({ "type": "object", "description": "Fields of Screen that are new; in `map` only those of its fields that are." });
    let schema =
        json!({ "oneOf": [given.subschema_for::<Screen>(), change, given.subschema_for::<wire::Beat>()] });
    operation(
        "Server-sent events from now on: first `screen` (id: last entry; data: Screen), then `change` (id: last entry; data: the fields that \
         are not as this stream brought them last, those of `map` each by itself), and `beat` (data: Beat).",
        json!({ "200": { "description": "events until either side ends them", "content": { "text/event-stream": { "schema": schema } } } }),
    )
}

fn body(schema: Schema) -> Value {
    json!({ "required": true, "content": { "application/json": { "schema": schema } } })
}

fn answers(schema: &Value, refused: &Schema) -> Value {
    json!({
        "200": { "description": "done", "content": { "application/json": { "schema": schema } } },
        "default": { "description": "not done", "content": { "application/json": { "schema": refused } } }
    })
}

fn operation(summary: &str, responses: Value) -> Value {
    json!({ "summary": summary, "responses": responses, "security": [{ "cookie": [] }] })
}

/// An operation that needs no cookie.
fn open(mut operation: Value) -> Value {
    operation["security"] = json!([]);
    operation
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every `$ref` of a document.
    fn references(value: &Value, found: &mut Vec<String>) {
        match value {
            Value::Object(all) => all.iter().for_each(|(key, value)| match value {
                Value::String(text) if key == "$ref" => found.push(text.clone()),
                other => references(other, found),
            }),
            Value::Array(all) => all.iter().for_each(|value| references(value, found)),
            _ => {}
        }
    }

    #[test]
    fn every_reference_leads_to_a_type_and_the_wire_is_all_there() {
        let document = document();
        let mut found = Vec::new();
        references(&document, &mut found);
        assert!(found.len() > 50, "{}", found.len());
        for reference in found {
            let path = reference.strip_prefix('#').unwrap_or_else(|| panic!("{reference}"));
            assert!(document.pointer(path).is_some(), "{reference} leads nowhere");
        }
        for name in ["Screen", "Sent", "Report", "Answer", "Beat", "Hello", "Chart", "Spot"] {
            assert!(document["components"]["schemas"][name].is_object(), "{name}");
        }
    }
}
