//! Who is missing, in words: `height=1.4 non-swimmer`.

use super::Fields;
use crate::Missing;
use measure::parameters::value;
use water::{Place, Problem};

/// Keys of the row.
pub const KEYS: [&str; 1] = ["height"];
/// Words without a value.
pub const FLAGS: [&str; 2] = ["swimmer", "non-swimmer"];

/// Reads who is missing; what nobody says falls to the register.
///
/// # Gives
/// The person, or every problem at once.
pub fn missing(text: &str, place: Place) -> Result<Missing, Vec<Problem>> {
    let mut fields = Fields::words(text, &KEYS, &FLAGS, place);
    let height_m = fields.number("height", "m", 0.5, 2.3).unwrap_or(value("height_missing_m"));
    if fields.flag("swimmer") && fields.flag("non-swimmer") {
        fields.refuse("A110", "swimmer and non-swimmer are both said".into(), "say one of them, or neither");
    }
    let swimmer = match (fields.flag("swimmer"), fields.flag("non-swimmer")) {
        (true, _) => Some(true),
        (_, true) => Some(false),
        _ => None,
    };
    if fields.problems.is_empty() { Ok(Missing { height_m, swimmer }) } else { Err(fields.problems) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn people_are_read_and_nonsense_is_refused() {
        let read = |text| missing(text, Place::default());
        assert_eq!(read("height=1.4 non-swimmer").unwrap(), Missing { height_m: 1.4, swimmer: Some(false) });
        assert_eq!(read("").unwrap().swimmer, None);
        assert_eq!(read("height=17 swimmer non-swimmer").unwrap_err().len(), 2);
    }
}
