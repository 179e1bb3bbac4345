//! Whatever bytes come, every parser gives values or problems: no panic, no silence.

mod shared;

use proptest::prelude::*;
use shared::{file, files, site, with};
use water::door::{named_files, read_day, read_site};
use water::formats::soundings::{Columns, csv, geojson, xyz};

/// A good file with spans cut, doubled, overwritten and words put in.
fn spoilt(good: Vec<u8>) -> impl Strategy<Value = Vec<u8>> {
    let word = prop::sample::select(vec![
        "NaN", "1e999", "null", "\"", "[", "}", ",", "-", "\u{feff}", "\r", "=", "[[",
    ]);
    let step = (any::<prop::sample::Index>(), 0usize..40, 0u8..4, any::<u8>(), word);
    prop::collection::vec(step, 1..6).prop_map(move |steps| {
        let mut bytes = good.clone();
        for (at, length, what, byte, word) in steps {
            if bytes.is_empty() {
                break;
            }
            let from = at.index(bytes.len());
            let to = (from + length).min(bytes.len());
            match what {
                0 => drop(bytes.drain(from..to)),
                1 => bytes[from] = byte,
                2 => drop(bytes.splice(from..from, word.bytes())),
                _ => {
                    let copy = bytes[from..to].to_vec();
                    bytes.splice(from..from, copy);
                }
            }
        }
        bytes
    })
}

fn any_or_spoilt(good: Vec<u8>) -> impl Strategy<Value = Vec<u8>> {
    prop_oneof![1 => prop::collection::vec(any::<u8>(), 0..400), 3 => spoilt(good)]
}

fn sound(name: &str, bytes: Vec<u8>) -> Result<(), TestCaseError> {
    let checked = read_site(&with(&files("alder-pond"), name, bytes));
    match checked.value {
        None => prop_assert!(checked.problems.iter().any(|p| p.fatal)),
        Some(site) => {
            prop_assert!(checked.problems.iter().all(|p| !p.fatal));
            prop_assert!(site.soundings.iter().all(|s| s.spot.is_finite() && s.depth_m.abs() <= 1000.0));
            prop_assert!(site.features.iter().all(|f| f.shape.middle().is_finite()));
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn site_toml(bytes in any_or_spoilt(file("alder-pond", "site.toml"))) {
        prop_assert!(named_files(&bytes).iter().all(|name| !name.contains(['/', '\\'])));
        sound("site.toml", bytes)?;
    }

    #[test]
    fn map_geojson(bytes in any_or_spoilt(file("alder-pond", "map.geojson"))) {
        sound("map.geojson", bytes)?;
    }

    #[test]
    fn soundings_csv(bytes in any_or_spoilt(file("alder-pond", "soundings.csv"))) {
        sound("soundings.csv", bytes)?;
    }

    #[test]
    fn rows_are_finite_and_none_is_lost_unsaid(bytes in any_or_spoilt(file("twin-basins", "levels.xyz"))) {
        let text = String::from_utf8_lossy(&bytes);
        for rows in [csv(&text, &Columns::default()), xyz(&text), geojson(&text)] {
            prop_assert!(rows.rows.iter().all(|r| r.x.is_finite() && r.y.is_finite() && r.value.is_finite()));
            prop_assert!(rows.faults.len() == rows.fault_count.min(20));
        }
        let written = text.lines().filter(|l| !l.split('#').next().unwrap_or("").trim().is_empty()).count();
        let read = xyz(&text);
        prop_assert!(read.rows.len() + read.fault_count + 1 >= written);
    }

    #[test]
    fn day_toml(bytes in any_or_spoilt(file("alder-pond", "day.toml"))) {
        let checked = read_day("day.toml", &bytes, &site(&files("alder-pond")));
        match checked.value {
            None => prop_assert!(checked.problems.iter().any(|p| p.fatal)),
            Some(day) => {
                prop_assert!(day.wind_mps.is_finite() && day.secchi_m > 0.0 && day.stage_m.is_finite());
                prop_assert!(day.floats.iter().all(|f| f.seconds > 0.0 && f.to.is_finite()));
                prop_assert!(day.crew.iter().all(|m| (1.2..=2.3).contains(&m.height_m) && !m.name.is_empty()));
            }
        }
    }

    #[test]
    fn rows_may_come_in_any_order(seed in any::<u64>()) {
        let good = String::from_utf8(file("alder-pond", "soundings.csv")).expect("UTF-8");
        let mut rows: Vec<&str> = good.lines().skip(1).collect();
        let turn = seed as usize % rows.len();
        rows.rotate_left(turn);
        let turned = format!("lon,lat,depth_m,date\n{}\n", rows.join("\n"));
        let key = |s: &water::Sounding| (s.spot.east.to_bits(), s.spot.north.to_bits(), s.depth_m.to_bits());
        let sorted = |csv: &str| {
            let mut all: Vec<_> =
                site(&with(&files("alder-pond"), "soundings.csv", csv)).soundings.iter().map(key).collect();
            all.sort_unstable();
            all
        };
        prop_assert_eq!(sorted(&good), sorted(&turned));
    }
}
