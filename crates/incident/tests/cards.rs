//! The morning's card at the alarm: it stands and its orders are the orders, or the live plan departs and says so.

mod desk;

use desk::{Desk, SMALL, ago, place, sighting, tarn_with};
use incident::report::{Report, WhyLeft, Where};
use incident::screen::Words;
use incident::{Effort, Event, MorningCards, State, Thinker, Water, card_words, chain};
use measure::Spot;
use search::zero::{Place, squares, zones};
use search::Setting;
use water::Flow;

/// Plans as the desk makes them, on a smaller cloud.
const EFFORT: Effort = Effort { particles: 12_000, plans: 6_000 };

struct Morning {
    water: Water,
    day: water::Day,
    cards: MorningCards,
}

impl Morning {
    fn new(crew: usize) -> Morning {
        let (site, day) = tarn_with(crew);
        let water = Water::new(site, day.stage_m);
        let squares = squares(&water.ground).len() as u32;
        Morning { water, day, cards: MorningCards { squares, at_s: 52_000.0, height_m: 1.4 } }
    }

    fn desk(&self, effort: Effort) -> Desk {
        let mut desk = Desk::on(self.water.clone(), &self.day, effort);
        let now_ms = desk.now_ms;
        desk.append("desk", "cards", (now_ms, Event::CardsMade(self.cards)));
        desk
    }

    /// What every phone holds for a place.
    fn pushed(&self, place: &Place) -> Vec<Words> {
        self.cards.card(&self.water, &self.day, place).orders.iter().map(card_words).collect()
    }

    fn square(&self, spot: Spot) -> Spot {
        let far = |a: &Spot, b: &Spot| a.distance(spot).total_cmp(&b.distance(spot));
        squares(&self.water.ground).into_iter().min_by(far).unwrap()
    }
}

fn touches(desk: &mut Desk, told: Report) {
    desk.send("a", Report::SwimmerMissing { practice: false });
    desk.wait(3);
    desk.send("a", told);
    desk.wait(4);
    desk.send("a", ago(1, 100.0, 140.0));
}

/// The card as it is read: an order's times of day stand as seconds on it.
fn agree(card: &[Words], desk: &Desk) -> Result<(), String> {
    let say = desk.screen("a").say;
    for order in card {
        let same = |say: &&incident::screen::Say| {
            let lines = say.words.lines.iter().zip(&order.lines);
            let alike = |(a, b): (&String, &String)| a == b || b.contains(" seconds after the alarm ");
            say.words.over == order.over && say.words.lines.len() == order.lines.len() && lines.into_iter().all(alike)
        };
        if !say.iter().any(|say| same(&say)) {
            return Err(format!("{order:?}\nis not among\n{:#?}", say.iter().map(|s| &s.words).collect::<Vec<_>>()));
        }
    }
    Ok(())
}

// shows: PL-19
#[test]
fn a_card_that_stands_is_what_is_ordered_word_for_word() {
    let morning = Morning::new(9);
    let setting = Setting {
        site: &morning.water.site,
        day: &morning.day,
        ground: &morning.water.ground,
        flow: &Flow::from_floats(&morning.day.floats).value,
    };
    let mut stood = 0;
    let points = [(-12.0, 24.0), (-20.0, 40.0), (4.0, 30.0), (-30.0, 20.0), (10.0, 50.0), (-5.0, 15.0)];
    let squares = points.map(|(east, north)| {
        let spot = morning.square(Spot::new(east, north));
        (place(1, spot), Place::cell(spot))
    });
    let (name, zone) = zones(&setting).remove(0);
    let Report::Sighting { .. } = sighting(1) else { unreachable!() };
    let mut area = place(1, Spot::default());
    if let Report::Sighting { place, .. } = &mut area {
        *place = Some(Where::Area { name });
    }
    for (told, of) in squares.into_iter().chain([(area, zone)]) {
        let mut desk = morning.desk(EFFORT);
        touches(&mut desk, told);
        let words = desk.screen("b").order_zero.expect("every screen says how the card stands");
        let agrees = agree(&morning.pushed(&of), &desk);
        eprintln!("{:?} {words}", of.last_seen);
        if words.starts_with("The first orders are those of the morning's card") {
            agrees.unwrap();
            stood += 1;
        } else {
            assert!(words.starts_with("Differs from the morning's card") && words.contains(" % more"), "{words}");
        }
    }
    assert!(stood >= 2, "{stood} of 7 cards stand where nothing but the place is known");
}
