//! The wire as one JSON Schema (draft 2020-12): what `cargo xtask gen` writes, and the tests check answers against.
//!
//! Answers and requests follow different rules. In an answer every field is there, unless it is left out when empty; then it is
//! never null. In a request a field that may be null may also be left out. Neither has a field that the schema does not name.

use super::calls::{Call, DESK, DEVICE, Shape};
use super::{DeviceEvent, Event, Refusal};
use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, SchemaGenerator};
use serde_json::{Map, Value, json};

/// The wire's JSON Schema: every type under `$defs`, every call under `desk` and `device`.
pub fn json_schema() -> String {
    let mut requests = SchemaSettings::draft2020_12().into_generator();
    let mut answers = SchemaSettings::draft2020_12().for_serialize().into_generator();
    let desk = calls(DESK, &mut requests, &mut answers);
    let device = calls(DEVICE, &mut requests, &mut answers);
    let event = reference::<Event>(&mut answers);
    let device_event = reference::<DeviceEvent>(&mut answers);
    let refusal = reference::<Refusal>(&mut answers);
    let mut types = Map::new();
    types.extend(defined(&requests, false));
    types.extend(defined(&answers, true));
    let whole = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "The desk's wire",
        "description": "Every JSON that the desk's pages send and receive. A refused request is answered with a status of 400 or \
                        more and `refusal`; `/events` sends `event`, to the paired device `device_event`.",
        "desk": desk,
        "device": device,
        "event": event,
        "device_event": device_event,
        "refusal": refusal,
        "$defs": types,
    });
    serde_json::to_string_pretty(&whole).unwrap_or_default() + "\n"
}

fn reference<T: JsonSchema>(generator: &mut SchemaGenerator) -> Value {
    generator.subschema_for::<T>().to_value()
}

fn calls(calls: &[Call], requests: &mut SchemaGenerator, answers: &mut SchemaGenerator) -> Vec<Value> {
    let of = |shape: Shape, generator: &mut SchemaGenerator| shape(generator).to_value();
    let line = |call: &Call| {
        json!({
            "method": call.method,
            "path": call.path,
            "description": call.says,
            "request": of(call.request, requests),
            "answer": call.answer.map(|a| of(a, answers)),
        })
    };
    let mut line = line;
    calls.iter().map(&mut line).collect()
}

/// A generator's types, each closed.
fn defined(generator: &SchemaGenerator, answers: bool) -> Map<String, Value> {
    let all = generator.definitions();
    all.iter().map(|(name, schema)| (name.clone(), closed(schema, all, answers))).collect()
}

/// A schema whose objects have the fields that it names and no others. An object that is put together from several is written as
/// one, since each of its parts alone would refuse the fields of the others.
fn closed(schema: &Value, all: &Map<String, Value>, answers: bool) -> Value {
    let Value::Object(map) = schema else { return schema.clone() };
    if map.contains_key("properties") {
        if let Some(name) = map.get("$ref").and_then(Value::as_str).and_then(|r| r.strip_prefix("#/$defs/")) {
            let rest: Map<_, _> =
                map.iter().filter(|(key, _)| *key != "$ref").map(|(k, v)| (k.clone(), v.clone())).collect();
            let target = all.get(name).and_then(Value::as_object).cloned().unwrap_or_default();
            return closed(&Value::Object(merged(target, &rest)), all, answers);
        }
        if let Some(Value::Array(choices)) = map.get("oneOf") {
            let rest: Map<_, _> =
                map.iter().filter(|(key, _)| *key != "oneOf").map(|(k, v)| (k.clone(), v.clone())).collect();
            let each = |choice: &Value| {
                closed(&Value::Object(merged(rest.clone(), choice.as_object().unwrap_or(&Map::new()))), all, answers)
            };
            let mut one_of = json!({ "oneOf": choices.iter().map(each).collect::<Vec<_>>() });
            if let Some(says) = map.get("description") {
                one_of["description"] = says.clone();
            }
            return one_of;
        }
    }
    let mut out: Map<String, Value> =
        map.iter().map(|(key, value)| (key.clone(), inside(key, value, all, answers))).collect();
    if let Some(Value::Object(fields)) = out.get_mut("properties") {
        let required: Vec<&str> =
            map.get("required").and_then(Value::as_array).into_iter().flatten().filter_map(Value::as_str).collect();
        if answers {
            fields.iter_mut().filter(|(name, _)| !required.contains(&name.as_str())).for_each(|(_, f)| never_null(f));
        }
    }
    if out.contains_key("properties")
        || out.get("type").is_some_and(|t| t == "object") && !out.contains_key("additionalProperties")
    {
        out.entry("additionalProperties").or_insert(Value::Bool(false));
    }
    Value::Object(out)
}

/// The part of a schema under a key, with the schemas in it closed.
fn inside(key: &str, value: &Value, all: &Map<String, Value>, answers: bool) -> Value {
    match (key, value) {
        ("properties", Value::Object(fields)) => {
            fields.iter().map(|(name, field)| (name.clone(), closed(field, all, answers))).collect()
        }
        ("oneOf" | "anyOf" | "prefixItems", Value::Array(each)) => {
            each.iter().map(|s| closed(s, all, answers)).collect()
        }
        ("items" | "additionalProperties", schema) => closed(schema, all, answers),
        (_, other) => other.clone(),
    }
}

/// Two schemas of objects as one; the second's description and fields win.
fn merged(mut first: Map<String, Value>, second: &Map<String, Value>) -> Map<String, Value> {
    for (key, value) in second {
        match (first.get_mut(key), value) {
            (Some(Value::Object(have)), Value::Object(more)) => have.extend(more.clone()),
            (Some(Value::Array(have)), Value::Array(more)) => {
                let new: Vec<Value> = more.iter().filter(|m| !have.contains(m)).cloned().collect();
                have.extend(new);
            }
            _ => drop(first.insert(key.clone(), value.clone())),
        }
    }
    first
}

/// Takes null out of what a field may be: it is left out instead.
fn never_null(field: &mut Value) {
    if let Some(Value::Array(types)) = field.get_mut("type") {
        types.retain(|t| t != "null");
        if let [one] = types.as_slice() {
            field["type"] = one.clone();
        }
    }
    let Some(Value::Array(choices)) = field.get_mut("anyOf") else { return };
    choices.retain(|c| c.get("type").is_none_or(|t| t != "null"));
    if let ([one], Some(map)) = (choices.clone().as_slice(), field.as_object_mut()) {
        map.remove("anyOf");
        map.extend(one.as_object().cloned().unwrap_or_default());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn schema() -> Value {
        serde_json::from_str(&json_schema()).unwrap()
    }

    #[test]
    fn no_type_means_two_things() {
        let mut requests = SchemaSettings::draft2020_12().into_generator();
        let mut answers = SchemaSettings::draft2020_12().for_serialize().into_generator();
        calls(DESK, &mut requests, &mut answers);
        calls(DEVICE, &mut requests, &mut answers);
        let (asked, told) = (defined(&requests, false), defined(&answers, true));
        let both: Vec<&String> = asked.keys().filter(|name| told.contains_key(*name)).collect();
        assert!(!both.is_empty(), "roles are sent and received");
        for name in both {
            assert_eq!(asked[name], told[name], "{name}");
        }
        // Two types of one name would get a number.
        let numbered: Vec<&String> =
            asked.keys().chain(told.keys()).filter(|n| n.ends_with(char::is_numeric)).collect();
        assert!(numbered.is_empty(), "{numbered:?}");
    }

    #[test]
    fn objects_are_closed_also_where_they_are_put_together() {
        fn open(at: &str, schema: &Value, found: &mut Vec<String>) {
            match schema {
                Value::Object(map) => {
                    if map.contains_key("properties") && map.get("additionalProperties") != Some(&Value::Bool(false)) {
                        found.push(at.to_owned());
                    }
                    map.iter().for_each(|(key, value)| open(&format!("{at}/{key}"), value, found));
                }
                Value::Array(each) => each.iter().for_each(|value| open(at, value, found)),
                _ => {}
            }
        }
        let whole = schema();
        let mut found = vec![];
        open("", &whole["$defs"], &mut found);
        assert!(found.is_empty(), "{found:?}");
        let verdict = whole["$defs"]["Event"]["oneOf"].as_array().unwrap().iter();
        let verdict = verdict.filter(|e| e["properties"]["kind"]["const"] == "verdict").collect::<Vec<_>>();
        assert!(verdict.len() == 1 && verdict[0]["properties"]["reshoot"].is_object(), "{verdict:#?}");
    }

    #[test]
    fn an_absent_field_of_an_answer_is_never_null() {
        let whole = schema();
        let lean = &whole["$defs"]["Measured"]["properties"]["lean_deg"];
        assert_eq!(lean["type"], "number");
        // A field that is always there may be null.
        assert_eq!(whole["$defs"]["Did"]["properties"]["undo"]["type"], json!(["string", "null"]));
    }
}
