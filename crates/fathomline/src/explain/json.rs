//! Strict reading of one JSON object: what is written twice is refused, not silently dropped.

use serde::de::{DeserializeSeed, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Number, Value};
use std::cell::RefCell;
use std::fmt;

/// The object written in `text`, or every problem with it.
pub fn object(text: &str) -> Result<Map<String, Value>, Vec<String>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if text.trim().is_empty() {
        return Err(vec!["nothing is written; give one JSON object such as {\"depth_m\": 2.5}".into()]);
    }
    let twice = RefCell::new(Vec::new());
    let mut reader = serde_json::Deserializer::from_str(text);
    let value = Strict { twice: &twice }
        .deserialize(&mut reader)
        .and_then(|value| reader.end().map(|()| value))
        .map_err(|e| vec![format!("this is not JSON: {e}; give one object in braces, names in double quotes, plain numbers (no NaN, no infinity)")])?;
    let twice = twice.into_inner();
    if !twice.is_empty() {
        return Err(twice.iter().map(|key| format!("{key:?} is given twice; keep one of them")).collect());
    }
    match value {
        Value::Object(object) => Ok(object),
        other => {
            Err(vec![format!("{} is not an object; give one object in braces", super::form::short(&other))])
        }
    }
}

#[derive(Clone, Copy)]
struct Strict<'a> {
    twice: &'a RefCell<Vec<String>>,
}

impl<'de> DeserializeSeed<'de> for Strict<'_> {
    type Value = Value;
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Value, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Strict<'_> {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("JSON")
    }

    fn visit_bool<E: Error>(self, x: bool) -> Result<Value, E> {
        Ok(x.into())
    }

    fn visit_i64<E: Error>(self, x: i64) -> Result<Value, E> {
        Ok(x.into())
    }

    fn visit_u64<E: Error>(self, x: u64) -> Result<Value, E> {
        Ok(x.into())
    }

    fn visit_f64<E: Error>(self, x: f64) -> Result<Value, E> {
        Number::from_f64(x).map(Value::Number).ok_or_else(|| E::custom("a number that is not finite"))
    }

    fn visit_str<E: Error>(self, x: &str) -> Result<Value, E> {
        Ok(x.into())
    }

    fn visit_unit<E: Error>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut row: A) -> Result<Value, A::Error> {
        let mut list = Vec::new();
        while let Some(value) = row.next_element_seed(self)? {
            list.push(value);
        }
        Ok(Value::Array(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut row: A) -> Result<Value, A::Error> {
        let mut object = Map::new();
        while let Some(key) = row.next_key::<String>()? {
            let value = row.next_value_seed(self)?;
            if object.insert(key.clone(), value).is_some() {
                self.twice.borrow_mut().push(key);
            }
        }
        Ok(Value::Object(object))
    }
}

#[cfg(test)]
mod tests {
    use super::object;

    #[test]
    fn only_one_object_without_repeats_is_read() {
        assert_eq!(object("\u{feff} {\"a\": [1, {\"b\": null}], \"c\": \"x\"}\n").unwrap().len(), 2);
        for (text, says) in [
            ("", "nothing"),
            ("  ", "nothing"),
            ("[1]", "not an object"),
            ("3", "not an object"),
            ("{\"a\": NaN}", "not JSON"),
            ("{\"a\": 1e999}", "not JSON"),
            ("{\"a\": 1} {}", "not JSON"),
            ("{'a': 1}", "not JSON"),
            ("{\"a\": 1, \"a\": 2}", "twice"),
            ("{\"r\": [{\"s\": 1, \"s\": 1}]}", "twice"),
        ] {
            let problems = object(text).unwrap_err();
            assert!(problems[0].contains(says), "{text}: {problems:?}");
        }
        let deep = "[".repeat(100_000);
        assert!(object(&deep).is_err());
    }
}
