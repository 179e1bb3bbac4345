//! The morning's card at the alarm: it stands and its orders are the orders, or the live plan departs and says so.

mod desk;

use desk::{Desk, ago, place, tarn_with};
use incident::report::{Report, Where, WhyLeft};
use incident::screen::Words;
use incident::{Effort, Event, MorningCards, State, Thinker, Water, card_words, chain};
use measure::Spot;
use search::Setting;
use search::zero::{Place, squares, zones};
use water::Flow;

/// Plans as the desk makes them, on a smaller cloud.
const EFFORT: Effort = Effort { particles: 6_000, plans: 2_000 };

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

/// A sighting that says where.
fn sighting(number: u32, told: Where) -> Report {
    let mut sighting = place(number, Spot::default());
    if let Report::Sighting { place, .. } = &mut sighting {
        *place = Some(told);
    }
    sighting
}

fn touches(desk: &mut Desk, told: Where) {
    desk.send("a", Report::SwimmerMissing { practice: false });
    desk.wait(3);
    desk.send("a", sighting(1, told));
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
            say.words.over == order.over
                && say.words.lines.len() == order.lines.len()
                && lines.into_iter().all(alike)
        };
        if !say.iter().any(|say| same(&say)) {
            return Err(format!(
                "{order:?}\nis not among\n{:#?}",
                say.iter().map(|s| &s.words).collect::<Vec<_>>()
            ));
        }
    }
    Ok(())
}

fn is_as_on_card(desk: &Desk) -> bool {
    let words = desk.screen("b").order_zero.expect("every screen says how the card stands");
    let stands = words.starts_with("The first orders are those of the morning's card");
    assert!(
        stands || words.starts_with("Differs from the morning's card") && words.contains("Call back"),
        "{words}"
    );
    stands
}

// shows: PL-19
#[test]
fn a_card_that_stands_is_what_is_ordered_word_for_word() {
    let morning = Morning::new(9);
    let flow = Flow::from_floats(&morning.day.floats).value;
    let setting =
        Setting { site: &morning.water.site, day: &morning.day, ground: &morning.water.ground, flow: &flow };
    let points = [(-12.0, 24.0), (4.0, 30.0)];
    let squares = points.map(|(east, north)| {
        let spot = morning.square(Spot::new(east, north));
        (Where::Point { spot, error_m: None }, Place::cell(spot))
    });
    let (name, zone) = zones(&setting).remove(0);
    let mut stood = 0;
    for (told, of) in squares.into_iter().chain([(Where::Area { name }, zone)]) {
        let mut desk = morning.desk(EFFORT);
        touches(&mut desk, told);
        if is_as_on_card(&desk) {
            agree(&morning.pushed(&of), &desk).unwrap();
            stood += 1;
            let log = chain::verify(desk.lines.iter().map(String::as_str)).unwrap();
            let mut state = State::default();
            desk.lines.iter().for_each(|line| state.apply(&chain::entry(line).unwrap()));
            let again = Thinker::new(morning.water.clone(), EFFORT).follow(&state, 0);
            assert_eq!(format!("{again:?}"), format!("{:?}", desk.thought), "log of {}", log.seq);
        }
        // Kind and height come seconds later, when people are on their way: what is begun stays.
        let before: Vec<_> = lanes(&desk);
        desk.wait(5);
        desk.send("a", Report::KindTold { kind: search::AlarmKind::SeenGoingUnder });
        assert!(
            before.iter().filter(|lane| lane.1).all(|lane| lanes(&desk).iter().any(|now| now.0 == lane.0))
        );
    }
    assert!(stood >= 1, "no card stands where nothing but the place is known");
}

/// Lanes by number, and whether people leave for them at once.
fn lanes(desk: &Desk) -> Vec<((usize, [u64; 4]), bool)> {
    let now_s = (desk.now_ms - desk::ALARM_MS) as f64 / 1000.0;
    let runs = desk.thought.cards.values().filter(|card| card.stand != incident::think::Stand::Replaced);
    runs.filter_map(|card| {
        let (run, _) = card.run.as_ref()?;
        let ends = [run.from.east, run.from.north, run.to.east, run.to.north].map(f64::to_bits);
        Some(((card.number, ends), run.leaves_s <= now_s))
    })
    .collect()
}

// shows: PL-19
#[test]
fn what_is_known_by_then_departs_from_the_card_and_says_so_on_every_screen() {
    let morning = Morning::new(9);
    let spot = morning.square(Spot::new(-12.0, 24.0));
    let told = || Where::Point { spot, error_m: None };
    // A guard saw them go under elsewhere, before anybody could say when the first was.
    let mut desk = morning.desk(EFFORT);
    desk.send("a", Report::SwimmerMissing { practice: false });
    desk.send("a", sighting(1, told()));
    let mut elsewhere = sighting(2, Where::Point { spot: Spot::new(8.0, 62.0), error_m: Some(2.0) });
    if let Report::Sighting { class, went_under, ago, .. } = &mut elsewhere {
        *class = Some(search::WitnessClass::Guard);
        *went_under = Some(true);
        *ago = Some(incident::report::Ago { from_s: 60.0, to_s: 70.0 });
    }
    desk.send("a", elsewhere);
    desk.send("a", ago(1, 100.0, 140.0));
    assert!(!is_as_on_card(&desk));
    let words = desk.screen("b").order_zero.unwrap();
    assert!(words.contains(" % more"), "{words}");
    // Somebody of the card is gone: it cannot be carried out, and nobody is named who is not there.
    let card = morning.cards.card(&morning.water, &morning.day, &Place::cell(spot));
    let gone = card.plan.teams.iter().find(|team| team.members.len() > 1).unwrap().members[0];
    let mut desk = morning.desk(EFFORT);
    desk.send("a", Report::SwimmerMissing { practice: false });
    let people = vec![gone as u32 + 1];
    desk.send("a", Report::PeopleLeft { people, why: WhyLeft::Left });
    desk.send("a", sighting(1, told()));
    desk.send("a", ago(1, 100.0, 140.0));
    assert!(!is_as_on_card(&desk));
    let words = desk.screen("b").order_zero.unwrap();
    let name = &morning.day.crew[gone].name;
    assert!(words.contains(&format!("{name} has a part on it and is not here")), "{words}");
    assert!(desk.screen("a").say.iter().all(|say| !say.words.over.contains(name.as_str())));
}

#[test]
fn without_cards_nothing_is_held_and_a_log_without_them_reads_as_before() {
    let morning = Morning::new(6);
    let mut desk = Desk::on(morning.water.clone(), &morning.day, desk::SMALL);
    touches(&mut desk, Where::Point { spot: Spot::new(-12.0, 24.0), error_m: None });
    assert!(desk.screen("a").order_zero.is_none() && !desk.screen("a").say.is_empty());
    // Cards of squares that are not those of this water are nobody's.
    let mut other = morning.desk(desk::SMALL);
    let now_ms = other.now_ms;
    let cards = MorningCards { squares: morning.cards.squares + 1, ..morning.cards };
    other.append("desk", "cards-2", (now_ms, Event::CardsMade(cards)));
    touches(&mut other, Where::Point { spot: Spot::new(-12.0, 24.0), error_m: None });
    let words = other.screen("a").order_zero.expect("the zone's card is read, as on the phones");
    assert!(words.contains("Swim area"), "{words}");
}
