//! JSON as it has to be: one value, no member twice; and small liberties of writing settled before
//! anything looks at it.

use std::fmt;

use plugwell_domain::attribute::Attr;
use plugwell_domain::thread::Thread;
use serde::de::{Deserialize, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use serde_json::error::Category;
use serde_json::{Map, Number, Value};

/// Reads a body.
///
/// # Errors
/// A sentence that says where it stops being JSON.
pub fn read(raw: &[u8]) -> Result<Value, String> {
    if raw.iter().all(u8::is_ascii_whitespace) {
        return Err("the body is empty".into());
    }
    match serde_json::from_slice::<Strict>(raw) {
        Ok(Strict(mut value)) => {
            settle(&mut value);
            Ok(value)
        }
        Err(e) => Err(match e.classify() {
            Category::Eof => format!(
                "the body ends too early, at line {}, column {}",
                e.line(),
                e.column()
            ),
            // Raised below, in our own words.
            Category::Data => e.to_string(),
            Category::Syntax | Category::Io => {
                format!(
                    "the body stops being JSON at line {}, column {}",
                    e.line(),
                    e.column()
                )
            }
        }),
    }
}

/// Writes whole numbers as such (`8.0` is 8) and threads as the list does (`M14 x 1,25`).
fn settle(value: &mut Value) {
    match value {
        Value::Array(items) => items.iter_mut().for_each(settle),
        Value::Object(map) => {
            for (name, member) in map.iter_mut() {
                if name == Attr::Thread.word()
                    && let Some(thread) = member.as_str().and_then(Thread::read)
                {
                    *member = thread.word().into();
                } else {
                    settle(member);
                }
            }
        }
        Value::Number(number) => {
            if let Some(whole) = whole(number) {
                *number = whole.into();
            }
        }
        Value::Null | Value::Bool(_) | Value::String(_) => {}
    }
}

/// The whole number that a float means; every one below 2^53 has a float of its own.
fn whole(number: &Number) -> Option<i64> {
    let float = number
        .as_f64()
        .filter(|f| number.is_f64() && f.fract() == 0.0 && f.abs() < 9_007_199_254_740_992.0)?;
    Some(float as i64)
}

struct Strict(Value);

impl<'de> Deserialize<'de> for Strict {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(Reader).map(Self)
    }
}

struct Reader;

impl<'de> Visitor<'de> for Reader {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E>(self, flag: bool) -> Result<Value, E> {
        Ok(flag.into())
    }

    fn visit_i64<E>(self, number: i64) -> Result<Value, E> {
        Ok(number.into())
    }

    fn visit_u64<E>(self, number: u64) -> Result<Value, E> {
        Ok(number.into())
    }

    fn visit_f64<E: Error>(self, number: f64) -> Result<Value, E> {
        Number::from_f64(number)
            .map(Value::Number)
            .ok_or_else(|| E::custom("a number is not finite"))
    }

    fn visit_str<E>(self, text: &str) -> Result<Value, E> {
        Ok(text.into())
    }

    fn visit_string<E>(self, text: String) -> Result<Value, E> {
        Ok(text.into())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Value, A::Error> {
        let mut items = Vec::new();
        while let Some(Strict(item)) = list.next_element()? {
            items.push(item);
        }
        Ok(items.into())
    }

    fn visit_map<A: MapAccess<'de>>(self, mut members: A) -> Result<Value, A::Error> {
        let mut map = Map::new();
        while let Some((name, Strict(value))) = members.next_entry::<String, Strict>()? {
            if map.contains_key(&name) {
                return Err(A::Error::custom(format!(
                    "the member {name:?} stands twice"
                )));
            }
            map.insert(name, value);
        }
        Ok(map.into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn what_is_not_one_json_value_is_refused_in_a_sentence() {
        for (raw, said) in [
            ("", "the body is empty"),
            (" \n", "the body is empty"),
            ("{\"a\": 1", "the body ends too early, at line 1, column 7"),
            (
                "{\"a\": NaN}",
                "the body stops being JSON at line 1, column 7",
            ),
            (
                "{\"a\": Infinity}",
                "the body stops being JSON at line 1, column 7",
            ),
            (
                "{\"a\": 1e999}",
                "the body stops being JSON at line 1, column 11",
            ),
            ("{} {}", "the body stops being JSON at line 1, column 4"),
            (
                "{\"a\": 1, \"a\": 1}",
                "the member \"a\" stands twice at line 1 column 16",
            ),
        ] {
            let told = read(raw.as_bytes()).unwrap_err();
            assert_eq!(told, said, "{raw:?}");
        }
        assert!(read(b"{\"a\": \"\xff\"}").is_err(), "not UTF-8");
        assert!(
            read("[".repeat(200_000).as_bytes()).is_err(),
            "nested without end"
        );
    }

    #[test]
    fn numbers_and_threads_are_settled() {
        let raw = br#"{"head": {"thread": "m14 x 1,25"}, "cylinders": 8.0, "stroke_mm": 92.5, "name": "8.0", "big": 1e20}"#;
        let value = read(raw).unwrap();
        assert_eq!(value["head"]["thread"], "M14x1.25");
        assert_eq!(value["cylinders"], json!(8));
        assert!(value["cylinders"].is_i64());
        assert_eq!(value["stroke_mm"], json!(92.5));
        assert_eq!(value["name"], "8.0");
        assert_eq!(value["big"], json!(1e20));
    }

    #[test]
    fn an_unlisted_thread_stays_as_it_was_written() {
        assert_eq!(read(br#"{"thread": "M15x1"}"#).unwrap()["thread"], "M15x1");
    }
}
