//! TypeScript from the schemas of an OpenAPI 3.1 document: one exported type a schema, documentation kept.
//!
//! It knows the shapes that our own types make and refuses any other, so that nothing is guessed.

use serde_json::{Map, Value};
use std::fmt::Write;

const HEAD: &str =
    "// Made by `cargo xtask types` from the program's own types; not to be changed by hand.\n";

/// The whole module.
pub fn module(document: &Value) -> Result<String, String> {
    let schemas = document.pointer("/components/schemas").and_then(Value::as_object);
    let schemas = schemas.ok_or("the document has no schemas")?;
    let mut names: Vec<&String> = schemas.keys().collect();
    names.sort();
    let mut out = String::from(HEAD);
    for name in names {
        let schema = &schemas[name];
        let shape = shape(schema, 0).map_err(|what| format!("{name}: {what}"))?;
        let _ = write!(out, "\n{}export type {name} = {shape};\n", comment(schema, 0));
    }
    Ok(out)
}

/// A schema as a TypeScript type.
fn shape(schema: &Value, depth: usize) -> Result<String, String> {
    let Some(all) = schema.as_object() else {
        return match schema {
            Value::Bool(true) => Ok("unknown".into()),
            other => Err(format!("{other} is no schema")),
        };
    };
    if let Some(reference) = all.get("$ref").and_then(Value::as_str) {
        let name = reference.rsplit('/').next().unwrap_or(reference).to_string();
        // A reference may stand beside fields: the tag of an enum that holds a type.
        return match all.contains_key("properties") {
            true => Ok(format!("{name} & {}", object(all, depth)?)),
            false => Ok(name),
        };
    }
    if let Some(value) = all.get("const") {
        return Ok(value.to_string());
    }
    if let Some(Value::Array(values)) = all.get("enum") {
        return Ok(values.iter().map(Value::to_string).collect::<Vec<_>>().join(" | "));
    }
    for key in ["oneOf", "anyOf", "allOf"] {
        if let Some(Value::Array(parts)) = all.get(key) {
            let shapes: Vec<String> =
                parts.iter().map(|part| shape(part, depth)).collect::<Result<_, _>>()?;
            let joined = shapes.join(if key == "allOf" { " & " } else { " | " });
            return match all.contains_key("properties") {
                true => Ok(format!("({joined}) & {}", object(all, depth)?)),
                false => Ok(joined),
            };
        }
    }
    match all.get("type") {
        Some(Value::String(kind)) => plain(kind, all, depth),
        Some(Value::Array(kinds)) => {
            let shapes: Vec<String> = kinds
                .iter()
                .filter_map(Value::as_str)
                .map(|kind| plain(kind, all, depth))
                .collect::<Result<_, _>>()?;
            Ok(shapes.join(" | "))
        }
        None if all.is_empty() || all.keys().all(|key| key == "description" || key == "default") => {
            Ok("unknown".into())
        }
        other => Err(format!("type {other:?} is not known")),
    }
}

fn plain(kind: &str, all: &Map<String, Value>, depth: usize) -> Result<String, String> {
    match kind {
        "string" => Ok("string".into()),
        "number" | "integer" => Ok("number".into()),
        "boolean" => Ok("boolean".into()),
        "null" => Ok("null".into()),
        "array" => array(all, depth),
        "object" => object(all, depth),
        other => Err(format!("type {other:?} is not known")),
    }
}

fn array(all: &Map<String, Value>, depth: usize) -> Result<String, String> {
    if let Some(Value::Array(items)) = all.get("prefixItems") {
        let shapes: Vec<String> = items.iter().map(|item| shape(item, depth)).collect::<Result<_, _>>()?;
        return Ok(format!("[{}]", shapes.join(", ")));
    }
    let item = shape(all.get("items").unwrap_or(&Value::Bool(true)), depth)?;
    let bound = |key: &str| all.get(key).and_then(Value::as_u64);
    match (bound("minItems"), bound("maxItems")) {
        (Some(least), Some(most)) if least == most && most <= 8 => {
            Ok(format!("[{}]", vec![item; most as usize].join(", ")))
        }
        _ if item.contains([' ', '{']) => Ok(format!("({item})[]")),
        _ => Ok(format!("{item}[]")),
    }
}

fn object(all: &Map<String, Value>, depth: usize) -> Result<String, String> {
    let Some(Value::Object(fields)) = all.get("properties") else {
        return match all.get("additionalProperties") {
            Some(values @ Value::Object(_)) => Ok(format!("Record<string, {}>", shape(values, depth)?)),
            _ => Ok("Record<string, never>".into()),
        };
    };
    let required: Vec<&str> = all
        .get("required")
        .and_then(Value::as_array)
        .into_iter()
        .flatten()
        .filter_map(Value::as_str)
        .collect();
    let indent = "  ".repeat(depth + 1);
    let mut out = String::from("{\n");
    for (name, field) in fields {
        let optional = if required.contains(&name.as_str()) { "" } else { "?" };
        let shape = shape(field, depth + 1)?;
        let _ = writeln!(out, "{}{indent}{name}{optional}: {shape};", comment(field, depth + 1));
    }
    let _ = write!(out, "{}}}", "  ".repeat(depth));
    Ok(out)
}

/// The documentation of a schema as a comment, or nothing.
fn comment(schema: &Value, depth: usize) -> String {
    let Some(text) = schema.get("description").and_then(Value::as_str) else { return String::new() };
    let text = text
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .replace("*/", "* /")
        .replace("\\[", "[")
        .replace("\\]", "]");
    format!("{}/** {text} */\n", "  ".repeat(depth))
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn of(schema: Value) -> String {
        shape(&schema, 0).unwrap()
    }

    #[test]
    fn shapes_that_our_types_make() {
        assert_eq!(of(json!({ "type": ["string", "null"] })), "string | null");
        assert_eq!(
            of(json!({ "anyOf": [{ "$ref": "#/components/schemas/Spot" }, { "type": "null" }] })),
            "Spot | null"
        );
        assert_eq!(
            of(
                json!({ "type": "array", "items": { "type": "array", "items": { "type": "number" }, "minItems": 2, "maxItems": 2 } })
            ),
            "([number, number])[]"
        );
        assert_eq!(of(json!({ "enum": ["a", "b"], "type": "string" })), "\"a\" | \"b\"");
        assert_eq!(
            of(json!({ "type": "array", "prefixItems": [{ "type": "string" }, { "type": "number" }] })),
            "[string, number]"
        );
        let tagged = json!({ "oneOf": [
            { "type": "object", "properties": { "what": { "const": "widen" } }, "required": ["what"] },
            { "type": "object", "properties": { "what": { "const": "note" }, "words": { "type": "string", "description": "Words." } }, "required": ["what"] },
        ] });
        assert_eq!(
            of(tagged),
            "{\n  what: \"widen\";\n} | {\n  what: \"note\";\n  /** Words. */\n  words?: string;\n}"
        );
        assert_eq!(
            of(json!({ "type": "object", "additionalProperties": { "type": "number" } })),
            "Record<string, number>"
        );
        assert!(shape(&json!({ "type": "date" }), 0).is_err() && shape(&json!({ "not": {} }), 0).is_err());
    }

    #[test]
    fn a_module_exports_each_schema_with_its_words() {
        let document = json!({ "components": { "schemas": { "B": { "type": "string" }, "A": { "description": "An A.\nTwo lines.", "$ref": "#/x/B" } } } });
        let text = module(&document).unwrap();
        assert!(
            text.contains("/** An A. Two lines. */\nexport type A = B;\n\nexport type B = string;\n"),
            "{text}"
        );
        assert!(module(&json!({})).is_err());
    }
}
