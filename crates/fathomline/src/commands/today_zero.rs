//! `fathomline today zero`: first orders for every bathing zone, and for the ten-metre cells in it, on cards.

use super::loaded::write;
use super::simulated::{Loaded, Scene, option_problem, print};
use measure::{Seed, Spot};
use readiness::bathers::zones;
use search::Setting;
use search::orders::near;
use search::zero::{Morning, Place, Zero, cells, order_zero};
use serde_json::{Value, json};
use std::fmt::Write;
use std::path::PathBuf;
use std::process::ExitCode;
use water::{Kind, Problem, Shape};

/// First orders for every bathing zone of the site, with today's crew at their posts.
#[derive(clap::Args)]
pub struct Cards {
    #[command(flatten)]
    scene: Scene,
    /// Height of the person who would be missing \[m\].
    #[arg(long, value_name = "M", default_value_t = 1.4)]
    height: f64,
    /// Cards for every ten-metre cell too.
    #[arg(long)]
    every_cell: bool,
    /// Write the cards to be printed, one a page.
    #[arg(long, value_name = "FILE.html")]
    print: Option<PathBuf>,
    /// Print JSON.
    #[arg(long)]
    json: bool,
}

/// Most cells that get a card of their own.
const CELLS_MOST: usize = 2_000;

/// A zone with its card, and those of its cells.
struct Card {
    name: String,
    zero: Zero,
    cells: Vec<Zero>,
}

impl Cards {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        print(self.text())
    }

    fn text(&self) -> Result<String, Vec<Problem>> {
        if !(0.3..=2.5).contains(&self.height) {
            let what = format!("{} m is no height of a person", self.height);
            return Err(vec![option_problem("--height", what, "give 0.3 to 2.5")]);
        }
        let loaded = self.scene.load()?;
        let (cards, dry) = self.cards(&loaded)?;
        if let Some(file) = &self.print {
            write("--print", file, page(&loaded, &cards, &self.scene.at).as_bytes())?;
        }
        let setting = setting_of(&loaded);
        if self.json {
            let zones: Vec<Value> = cards.iter().map(|card| card.json(&setting)).collect();
            let all = json!({
                "site": loaded.water.site.name, "date": loaded.day.date, "at": self.scene.at,
                "seed": self.scene.seed, "zones": zones, "no_water": dry,
            });
            return Ok(format!("{all:#}\n"));
        }
        let none =
            dry.iter().map(|name| format!("\n{name}\n  (no card: it holds no water at today's stage)\n"));
        Ok(words(&loaded, &cards, &self.scene.at) + &none.collect::<String>())
    }

    /// The cards, and the names of areas that hold no water today.
    fn cards(&self, loaded: &Loaded) -> Result<(Vec<Card>, Vec<String>), Vec<Problem>> {
        let setting = setting_of(loaded);
        let morning =
            Morning { alarm_at_s: loaded.at_s, missing_height_m: self.height, seed: Seed(self.scene.seed) };
        let (mut all, mut dry) = (Vec::new(), Vec::new());
        let areas = setting.site.of_kind(Kind::BathingArea).filter_map(|zone| match &zone.shape {
            Shape::Area(rings) => Some((zone, rings)),
            Shape::Point(_) | Shape::Line(_) => None,
        });
        for ((zone, rings), bathers) in areas.zip(zones(&setting, None)) {
            let wet = cells(&setting, rings);
            let middle = zone.shape.middle();
            // The middle of a bent zone may be land: the wet cell nearest to it stands for it; in a zone narrower than
            // such a cell, or of unknown depth, the nearest place where anybody bathes.
            let near = |all: &[Spot]| {
                all.iter().copied().min_by(|a, b| a.distance(middle).total_cmp(&b.distance(middle)))
            };
            let grid = &setting.ground.grid;
            let bathed = || bathers.cells.iter().map(|&cell| grid.centre(cell as usize)).collect::<Vec<_>>();
            let Some(marker) = near(&wet).or_else(|| near(&bathed())) else {
                dry.push(bathers.name);
                continue;
            };
            if self.every_cell && wet.len() > CELLS_MOST {
                let what = format!("{} cells of ten metres are too many for cards", wet.len());
                let remedy = "leave it out, or draw smaller zones";
                return Err(vec![option_problem("--every-cell", what, remedy)]);
            }
            let zero = order_zero(&setting, &Place::zone(&bathers.name, marker, rings.clone()), morning);
            let wet: &[Spot] = if self.every_cell { &wet } else { &[] };
            let cells = wet.iter().map(|&cell| order_zero(&setting, &Place::cell(cell), morning)).collect();
            all.push(Card { name: bathers.name, zero, cells });
        }
        if all.is_empty() {
            let what = match dry.is_empty() {
                true => "the site draws no bathing area".to_string(),
                false => format!("{} holds no water at today's stage", dry.join(", ")),
            };
            let remedy = "draw one over water of today's stage: bathing areas are what cards are for";
            return Err(vec![option_problem("--site", what, remedy)]);
        }
        Ok((all, dry))
    }
}

impl Card {
    fn json(&self, setting: &Setting) -> Value {
        let one = |zero: &Zero| {
            let spot = zero.place.last_seen;
            let at = setting.site.frame.to_lonlat(spot);
            json!({
                "marker": { "east_m": spot.east, "north_m": spot.north, "lonlat": [at.lon, at.lat] },
                "orders": zero.orders.iter().map(|order| json!({
                    "at": order.clock, "to": order.to, "words": order.words, "lines": order.lines, "post": order.post,
                })).collect::<Vec<_>>(),
                "found_by": zero.plan.found_by.iter().map(|(s, chance)| json!({ "after_s": s, "chance": chance })).collect::<Vec<_>>(),
                "notes": zero.plan.notes,
            })
        };
        json!({ "zone": self.name, "card": one(&self.zero), "cells": self.cells.iter().map(one).collect::<Vec<_>>() })
    }

    /// The zone's card, then those of its cells: a heading and its orders.
    fn sheets(&self, setting: &Setting) -> Vec<(String, &Zero)> {
        let cell = |zero| (format!("{}: {}", self.name, near(setting.site, Zero::marker(zero))), zero);
        std::iter::once((self.name.clone(), &self.zero)).chain(self.cells.iter().map(cell)).collect()
    }
}

fn setting_of(loaded: &Loaded) -> Setting<'_> {
    let water = &loaded.water;
    Setting { site: &water.site, day: &loaded.day, ground: &water.ground, flow: &water.flow }
}

fn words(loaded: &Loaded, cards: &[Card], at: &str) -> String {
    let (site, day) = (&loaded.water.site, &loaded.day);
    let mut out =
        format!("{}, {}, {at}: first orders, if nothing but the place is known\n", site.name, day.date);
    for (name, zero) in cards.iter().flat_map(|card| card.sheets(&setting_of(loaded))) {
        let _ = writeln!(out, "\n{name}");
        for order in &zero.orders {
            let _ = writeln!(out, "  {}", order.words);
        }
        for note in &zero.plan.notes {
            let _ = writeln!(out, "  ({note})");
        }
    }
    out
}

/// Cards for a printer, one a page, in large type.
fn page(loaded: &Loaded, cards: &[Card], at: &str) -> String {
    let (site, day) = (&loaded.water.site, &loaded.day);
    let mut out = format!(
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>{} {}</title>\n<style>\
         body{{font:15pt/1.35 sans-serif;margin:0}}section{{page-break-after:always;padding:12mm}}\
         h1{{font-size:24pt;margin:0 0 2mm}}p{{margin:0 0 4mm}}li{{margin:0 0 4mm}}small{{font-size:10pt}}\
         </style></head><body>\n",
        escaped(&site.name),
        escaped(&day.date)
    );
    for (name, zero) in cards.iter().flat_map(|card| card.sheets(&setting_of(loaded))) {
        let number =
            if site.emergency_number.is_empty() { "the local number" } else { &site.emergency_number };
        let _ = writeln!(
            out,
            "<section><h1>{}</h1><p>Call {}. {}</p><ol>",
            escaped(&name),
            escaped(number),
            escaped(&site.plan_text)
        );
        for order in &zero.orders {
            let _ = writeln!(out, "<li>{}</li>", escaped(&order.words));
        }
        let _ = writeln!(
            out,
            "</ol><p><small>{}, {}, crew of {}. First orders only: they hold until the plan of the alarm is read out. \
             The local emergency action plan and the officer in charge come first.</small></p></section>",
            escaped(&site.name),
            escaped(&day.date),
            escaped(at)
        );
    }
    out + "</body></html>\n"
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cards() -> Cards {
        let dir = concat!(env!("CARGO_MANIFEST_DIR"), "/../../data/sites/kestrel-tarn");
        let scene = Scene { site: dir.into(), day: None, at: "14:30:00".into(), seed: 1 };
        Cards { scene, height: 1.4, every_cell: false, print: None, json: false }
    }

    #[test]
    fn every_zone_of_the_demo_has_a_card_that_names_people() {
        let text = cards().text().unwrap();
        assert!(text.contains("Drop the marker") && text.contains("call 112"), "{text}");
        let json: Value = serde_json::from_str(&Cards { json: true, ..cards() }.text().unwrap()).unwrap();
        let zones = json["zones"].as_array().unwrap();
        assert!(!zones.is_empty());
        assert!(zones.iter().all(|zone| zone["card"]["orders"].as_array().unwrap().len() > 3), "{json}");
    }

    #[test]
    fn nonsense_heights_are_refused_and_names_are_escaped() {
        assert!(Cards { height: f64::NAN, ..cards() }.text().is_err());
        assert_eq!(escaped("<Slab & Co>"), "&lt;Slab &amp; Co&gt;");
    }
}
