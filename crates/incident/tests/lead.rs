//! Whoever took the lead by name leads; a plan that works ahead changes nothing.

mod desk;

use desk::{Desk, ago, place};
use incident::report::{Person, Report, Role};
use incident::screen::Screen;
use measure::Spot;

fn person_of(desk: &Desk, name: &str) -> Person {
    desk.names.number_of(name).unwrap_or_else(|| panic!("{name} is one of the crew"))
}

/// What a person does, as the screen's list of people has it.
fn does(screen: &Screen, name: &str) -> String {
    screen.people.iter().find(|one| one.name == name).map(|one| one.words.clone()).unwrap_or_default()
}

#[test]
fn nobody_is_in_charge_and_in_the_water() {
    // Two may lead on this day: each of them takes the lead in turn, and is then sent nowhere else.
    for name in ["Ines", "Marta"] {
        let mut desk = Desk::new(11);
        let person = Some(person_of(&desk, name));
        desk.send("a", Report::RoleTaken { role: Role::Lead, person });
        desk.three_touches("a");
        let screen = desk.screen("a");
        assert_eq!(does(&screen, name), "in charge", "{:?}", screen.people);
        for order in desk.state.incident.as_ref().unwrap().orders.values() {
            let goes_in = order.shown.method.is_some() && order.shown.people.contains(&person.unwrap());
            assert!(!goes_in, "{name} leads and is sent: {}", order.shown.words);
        }
    }
}

#[test]
fn without_a_name_the_plan_says_who_leads() {
    let mut desk = Desk::new(11);
    desk.role("a", Role::Lead);
    desk.three_touches("a");
    let leads = desk.screen("a").people.iter().filter(|one| one.words == "in charge").count();
    assert_eq!(leads, 1);
}

#[test]
fn working_ahead_changes_no_thought() {
    let run = |ahead: bool, moved: bool| {
        let mut desk = Desk::new(11);
        let (now_ms, squares) =
            (desk.now_ms, search::zero::squares(&desk.thinker.water().ground).len() as u32);
        let cards = incident::MorningCards { squares, at_s: 52_000.0, height_m: 1.4 };
        desk.append("desk", "cards", (now_ms, incident::Event::CardsMade(cards)));
        let mut prepare = |desk: &mut Desk| {
            if ahead {
                desk.thinker.prepare();
                desk.thinker.prepare();
            }
        };
        desk.send("a", Report::SwimmerMissing { practice: false });
        prepare(&mut desk);
        desk.send("a", place(1, Spot::new(-24.0, 24.0)));
        prepare(&mut desk);
        if moved {
            // The place is put right before the time is told: the card is that of the place that counts.
            desk.send("a", place(1, Spot::new(10.0, 30.0)));
        }
        desk.send("a", ago(1, 60.0, 120.0));
        prepare(&mut desk);
        assert!(!desk.screen("a").say.is_empty());
        format!("{:?}", desk.thought)
    };
    for moved in [false, true] {
        assert_eq!(run(true, moved), run(false, moved), "moved: {moved}");
    }
}
