//! TypeScript types from the wire's JSON Schema, so that the page is compiled against what the desk sends.

use serde_json::{Map, Value};
use std::fmt::Write;

/// How wide a line may be before its fields get one each, as in the page's own source.
const WIDE: usize = 140;

/// The page's types: one for each type of the wire, and which path is asked with which and answers which.
pub fn of(schema: &str) -> String {
    let whole: Value = serde_json::from_str(schema).unwrap_or_default();
    let mut text = String::from("// Generated from crates/desk/src/wire by `cargo xtask gen`. Do not edit.\n\n");
    for (name, schema) in whole["$defs"].as_object().into_iter().flatten() {
        text += &declared(name, schema);
    }
    text += "// Paths and what they carry.\n\n";
    text += &paths("Gets", &whole["desk"], "GET");
    text += &paths("Posts", &whole["desk"], "POST");
    text += &paths("DeviceGets", &whole["device"], "GET");
    text += &paths("DevicePosts", &whole["device"], "POST");
    text.truncate(text.trim_end().len());
    text + "\n"
}

/// One type with its comment.
fn declared(name: &str, schema: &Value) -> String {
    let comment = comment("", schema);
    match schema["properties"].as_object() {
        Some(fields) if !fields.is_empty() => {
            let required = required(schema);
            let lines: String = fields
                .iter()
                .map(|(field, of)| format!("{}  {};\n", self::comment("  ", of), line(field, of, &required)))
                .collect();
            format!("{comment}export interface {name} {{\n{lines}}}\n\n")
        }
        _ => {
            let of = kind(schema);
            let space = if of.starts_with('\n') { "" } else { " " };
            format!("{comment}export type {name} ={space}{of};\n\n")
        }
    }
}

fn comment(indent: &str, schema: &Value) -> String {
    let says = schema["description"].as_str().unwrap_or_default().replace('\n', " ");
    if says.is_empty() { String::new() } else { format!("{indent}/** {says} */\n") }
}

fn required(schema: &Value) -> Vec<&str> {
    schema["required"].as_array().into_iter().flatten().filter_map(Value::as_str).collect()
}

/// `name: type` or, where it may be left out, `name?: type`.
fn line(field: &str, schema: &Value, required: &[&str]) -> String {
    let open = if required.contains(&field) { "" } else { "?" };
    format!("{field}{open}: {}", kind(schema))
}

/// A schema as a type.
fn kind(schema: &Value) -> String {
    let Value::Object(map) = schema else { return "unknown".into() };
    if let Some(name) = map.get("$ref").and_then(Value::as_str) {
        return name.rsplit('/').next().unwrap_or_default().to_owned();
    }
    if let Some(constant) = map.get("const") {
        return constant.to_string();
    }
    if let Some(words) = map.get("enum").and_then(Value::as_array) {
        return either(words.iter().map(Value::to_string));
    }
    if let Some(choices) = ["oneOf", "anyOf"].iter().find_map(|key| map.get(*key)).and_then(Value::as_array) {
        return either(choices.iter().map(kind));
    }
    match &map.get("type") {
        Some(Value::Array(types)) => {
            let each = types.iter().map(|t| {
                let mut one = map.clone();
                one.insert("type".into(), t.clone());
                kind(&Value::Object(one))
            });
            either(each)
        }
        Some(Value::String(word)) => named(word, map),
        _ => "unknown".into(),
    }
}

/// Choices without the same one twice.
fn either(choices: impl Iterator<Item = String>) -> String {
    let mut all: Vec<String> = vec![];
    choices.for_each(|c| {
        if !all.contains(&c) {
            all.push(c)
        }
    });
    let one = all.join(" | ");
    if one.len() > WIDE { format!("\n  | {}", all.join("\n  | ")) } else { one }
}

fn named(word: &str, map: &Map<String, Value>) -> String {
    match word {
        "integer" | "number" => "number".into(),
        "array" => array(map),
        "object" => object(map),
        other => other.to_owned(),
    }
}

/// `T[]`, or a tuple where the length is fixed.
fn array(map: &Map<String, Value>) -> String {
    let item = map.get("items").map_or("unknown".into(), kind);
    let length = |key: &str| map.get(key).and_then(Value::as_u64);
    match (length("minItems"), length("maxItems")) {
        (Some(least), Some(most)) if least == most => format!("[{}]", vec![item; most as usize].join(", ")),
        _ if item.contains(" | ") && !item.starts_with('[') => format!("({item})[]"),
        _ => format!("{item}[]"),
    }
}

fn object(map: &Map<String, Value>) -> String {
    let schema = Value::Object(map.clone());
    match (map.get("properties").and_then(Value::as_object), map.get("additionalProperties")) {
        (Some(fields), _) if !fields.is_empty() => {
            let required = required(&schema);
            format!("{{ {} }}", fields.iter().map(|(f, s)| line(f, s, &required)).collect::<Vec<_>>().join("; "))
        }
        (_, Some(of @ Value::Object(_))) => format!("Record<string, {}>", kind(of)),
        _ => "Record<string, never>".into(),
    }
}

/// The paths of one method: what each sends and what it answers. A part in braces is any text.
fn paths(name: &str, calls: &Value, method: &str) -> String {
    let mut lines = String::new();
    for call in calls.as_array().into_iter().flatten().filter(|c| c["method"] == method && !c["answer"].is_null()) {
        let (path, request, answer) =
            (call["path"].as_str().unwrap_or_default(), kind(&call["request"]), kind(&call["answer"]));
        let asked = if method == "GET" && request != "Nothing" { format!("{path}?{{}}") } else { path.to_owned() };
        let carries = if method == "GET" { answer } else { format!("{{ asks: {request}; answers: {answer} }}") };
        let says = call["description"].as_str().unwrap_or_default();
        // Writing to a String cannot fail.
        let _ = match asked.contains('{') {
            true => writeln!(lines, "  /** {says} */\n  [path: `{}`]: {carries};", any(&asked)),
            false => writeln!(lines, "  /** {says} */\n  {asked:?}: {carries};"),
        };
    }
    if lines.is_empty() { String::new() } else { format!("export interface {name} {{\n{lines}}}\n\n") }
}

/// A path with `${string}` for each part in braces; a number for what has one.
fn any(path: &str) -> String {
    let mut out = String::new();
    for (i, piece) in path.split('{').enumerate() {
        match piece.split_once('}') {
            Some((part, rest)) if i > 0 => {
                out += if part == "id" { "${number}" } else { "${string}" };
                out += rest;
            }
            _ => out += piece,
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn schemas_become_types() {
        for (schema, typed) in [
            (json!({ "type": ["integer", "null"] }), "number | null"),
            (json!({ "anyOf": [{ "$ref": "#/$defs/Last" }, { "type": "null" }] }), "Last | null"),
            (json!({ "enum": ["keep", "look"] }), "\"keep\" | \"look\""),
            (
                json!({ "oneOf": [{ "const": "seen", "description": "." }, { "const": "again" }] }),
                "\"seen\" | \"again\"",
            ),
            (json!({ "type": "array", "items": { "type": "string" } }), "string[]"),
            (json!({ "type": "array", "items": { "type": ["number", "null"] } }), "(number | null)[]"),
            (
                json!({ "type": "array", "items": { "type": "number" }, "minItems": 2, "maxItems": 2 }),
                "[number, number]",
            ),
            (json!({ "type": "object", "additionalProperties": { "type": "string" } }), "Record<string, string>"),
            (json!({ "type": "object", "properties": {}, "additionalProperties": false }), "Record<string, never>"),
        ] {
            assert_eq!(kind(&schema), typed, "{schema}");
        }
        let fields = json!({ "type": "object", "properties": { "a": { "type": "string" }, "b": { "type": "boolean" } }, "required": ["a"] });
        assert_eq!(kind(&fields), "{ a: string; b?: boolean }");
    }

    #[test]
    fn paths_take_any_part() {
        assert_eq!(any("/api/print/{id}"), "/api/print/${number}");
        assert_eq!(any("/api/hand/{name}/again"), "/api/hand/${string}/again");
        assert_eq!(any("/api/prints?{}"), "/api/prints?${string}");
    }
}
