//! The desk's answers against its written schema, `docs/reference/desk.schema.json`: the part of JSON Schema (draft 2020-12) that it uses.

use serde_json::Value;
use std::sync::OnceLock;

/// The whole wire.
pub fn schema() -> &'static Value {
    static SCHEMA: OnceLock<Value> = OnceLock::new();
    SCHEMA.get_or_init(|| {
        let place = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/reference/desk.schema.json");
        serde_json::from_str(&std::fs::read_to_string(place).unwrap()).unwrap()
    })
}

/// What is wrong with an answer of the desk (`at` is `desk`) or to the paired device (`device`); empty where nothing is, or where the
/// path carries no JSON.
pub fn faults(at: &str, method: &str, path: &str, status: u16, answer: &Value) -> Vec<String> {
    let path = path.split('?').next().unwrap();
    let part = if status >= 400 {
        &schema()["refusal"]
    } else {
        let calls = schema()[at].as_array().unwrap();
        match calls.iter().find(|c| c["method"] == method && matches(c["path"].as_str().unwrap(), path)) {
            Some(call) => &call["answer"],
            None => return vec![format!("{method} {path}: the wire has no such call")],
        }
    };
    let mut found = vec![];
    check(part, answer, &format!("{method} {path}"), &mut found);
    found
}

/// What is wrong with an event.
pub fn event_faults(kind: &str, event: &Value) -> Vec<String> {
    let mut found = vec![];
    check(&schema()[kind], event, kind, &mut found);
    found
}

fn matches(pattern: &str, path: &str) -> bool {
    let (wanted, given): (Vec<&str>, Vec<&str>) = (pattern.split('/').collect(), path.split('/').collect());
    wanted.len() == given.len() && wanted.iter().zip(&given).all(|(w, g)| w.starts_with('{') || w == g)
}

fn check(schema: &Value, value: &Value, at: &str, found: &mut Vec<String>) {
    let Value::Object(rules) = schema else { return };
    for (rule, of) in rules {
        match rule.as_str() {
            "$ref" => {
                let name = of.as_str().unwrap().strip_prefix("#/$defs/").unwrap();
                check(&self::schema()["$defs"][name], value, at, found);
            }
            "type" => {
                let types = of.as_array().cloned().unwrap_or_else(|| vec![of.clone()]);
                if !types.iter().any(|t| is(value, t.as_str().unwrap())) {
                    found.push(format!("{at}: {value} is not {of}"));
                }
            }
            "const" if value != of => found.push(format!("{at}: {value} is not {of}")),
            "enum" if !of.as_array().unwrap().contains(value) => found.push(format!("{at}: {value} is none of {of}")),
            "minimum" if value.as_f64().is_some_and(|v| v < of.as_f64().unwrap()) => {
                found.push(format!("{at}: {value} < {of}"))
            }
            "maximum" if value.as_f64().is_some_and(|v| v > of.as_f64().unwrap()) => {
                found.push(format!("{at}: {value} > {of}"))
            }
            "minItems" if value.as_array().is_some_and(|v| (v.len() as u64) < of.as_u64().unwrap()) => {
                found.push(format!("{at}: too short"))
            }
            "maxItems" if value.as_array().is_some_and(|v| v.len() as u64 > of.as_u64().unwrap()) => {
                found.push(format!("{at}: too long"))
            }
            "items" => value
                .as_array()
                .into_iter()
                .flatten()
                .enumerate()
                .for_each(|(i, v)| check(of, v, &format!("{at}/{i}"), found)),
            "required" => {
                for name in of
                    .as_array()
                    .unwrap()
                    .iter()
                    .filter_map(Value::as_str)
                    .filter(|n| value.is_object() && value.get(n).is_none())
                {
                    found.push(format!("{at}: {name} is missing"));
                }
            }
            "properties" => {
                for (name, field) in of.as_object().unwrap() {
                    value.get(name).into_iter().for_each(|v| check(field, v, &format!("{at}/{name}"), found));
                }
            }
            "additionalProperties" => {
                let named = |name: &str| rules.get("properties").is_some_and(|p| p.get(name).is_some());
                for (name, v) in value.as_object().into_iter().flatten().filter(|(name, _)| !named(name)) {
                    match of {
                        Value::Bool(false) => found.push(format!("{at}: {name} is not in the schema")),
                        schema => check(schema, v, &format!("{at}/{name}"), found),
                    }
                }
            }
            "anyOf" | "oneOf" => one_of(of.as_array().unwrap(), rule == "oneOf", value, at, found),
            "const" | "enum" | "minimum" | "maximum" | "minItems" | "maxItems" | "description" | "title"
            | "default" | "format" => {}
            other => panic!("the schema uses {other}, which this check does not know"),
        }
    }
}

/// `oneOf`: exactly one fits; `anyOf`: at least one. The faults told are those of the choice that fits best.
fn one_of(choices: &[Value], exactly: bool, value: &Value, at: &str, found: &mut Vec<String>) {
    let tried: Vec<Vec<String>> = choices
        .iter()
        .map(|choice| {
            let mut faults = vec![];
            check(choice, value, at, &mut faults);
            faults
        })
        .collect();
    match tried.iter().filter(|f| f.is_empty()).count() {
        0 => found.extend(tried.into_iter().min_by_key(Vec::len).unwrap_or_default()),
        1 => {}
        n if exactly => found.push(format!("{at}: {n} choices fit")),
        _ => {}
    }
}

fn is(value: &Value, kind: &str) -> bool {
    match kind {
        "null" => value.is_null(),
        "boolean" => value.is_boolean(),
        "string" => value.is_string(),
        "integer" => value.is_i64() || value.is_u64(),
        "number" => value.is_number(),
        "array" => value.is_array(),
        "object" => value.is_object(),
        other => panic!("no such type: {other}"),
    }
}
