//! Random scripts of reports: nothing panics, nothing accepted is lost, orders under way never change, no number of
//! heads is shown to whoever types, no forbidden word is said, and a replay gives what was live.

mod desk;

use desk::{Desk, SMALL, tarn_with};
use incident::report::{Ago, CareStep, Comer, Report, Role, Where, WhyLeft, WhyOut};
use incident::screen::{LaneState, Screen, Stage};
use incident::{State, Thinker, Water, chain};
use measure::{Bearing, Spot};
use proptest::prelude::*;
use std::collections::BTreeMap;

const WORDS: [&str; 6] = ["", "Jetty", "Raft", "Nowhere land", "<b>x</b>", "⟦1⟧"];
const STEPS: [CareStep; 4] =
    [CareStep::Surfaced, CareStep::OutOfWater, CareStep::FirstBreath, CareStep::HandedOver];
const ROLES: [Role; 6] =
    [Role::Lead, Role::Deputy, Role::LineLeader, Role::Recorder, Role::Gate, Role::Viewer];

fn sighting(n: u64, x: f64, y: f64) -> Report {
    let name = WORDS[(n % 6) as usize].to_string();
    let place = match n % 7 {
        0 => None,
        1 => Some(Where::Mark { name }),
        2 => Some(Where::Bearing { from: name, bearing: Bearing::new(x * 10.0), range_m: Some(y.abs()) }),
        3 => Some(Where::Nowhere),
        4 => Some(Where::Area { name }),
        _ => Some(Where::Point { spot: Spot::new(x, y), error_m: None }),
    };
    let ago = (n % 3 > 0).then_some(Ago { from_s: x.abs(), to_s: x.abs() + y.abs() });
    Report::Sighting {
        number: (n % 4) as u32,
        place,
        ago,
        class: None,
        stood: None,
        went_under: None,
        talked_with: Some(vec![1, 2]),
        missing: (n % 5 == 0).then_some((n % 3) as u32),
    }
}

/// A report out of a few numbers; orders mostly of those that stand.
fn report(desk: &Desk, (kind, n, x, y): (u8, u64, f64, f64)) -> Report {
    let numbers: Vec<usize> = desk.thought.cards.keys().copied().collect();
    let order = numbers.get(n as usize % numbers.len().max(1)).copied().unwrap_or(n as usize % 9);
    let person = (n % 14) as u32;
    match kind % 34 {
        0..=2 => Report::SaidIt { order },
        3 => Report::NotNow { order },
        4 | 5 => Report::TheyAreDown { order },
        6..=8 => Report::Headcount { order, up: (n % 5 > 0).then_some((n % 4) as u32) },
        9 => Report::MetresWalked { order, metres: x.abs() },
        10 | 11 => Report::LaneWalked { order },
        12 => Report::StoppedHere { order, metres: (n % 2 == 0).then_some(y.abs()) },
        13 => Report::Contact { order: Some(order), note: WORDS[(n % 6) as usize].into() },
        14 => Report::ShoreChecked { place: (n % 2 == 0).then(|| WORDS[(n % 6) as usize].into()) },
        15 => Report::SurfaceLooked,
        16 => {
            let name = format!("New {n}");
            let tag = (n % 2 == 0).then_some(n as u32);
            let comer =
                Comer { name, height_m: None, wade: true, dive_m: Some(3.0), lookout: true, tag, at: None };
            Report::PeopleCame { people: vec![comer] }
        }
        17 => Report::PeopleLeft { people: vec![person], why: WhyLeft::Tired },
        18 => Report::CurrentMeasured { from: Spot::new(0.0, 20.0), to: Spot::new(x, y), seconds: 60.0 },
        19 => Report::AllOut { why: WhyOut::Thunder },
        20 | 21 => Report::BackIn,
        22 => Report::BreakOff { order },
        23 | 24 => Report::FaceSeen { person, seen: n % 5 > 0 },
        25 => Report::ShortLifted { order },
        26 => Report::Widen,
        27 => Report::Found { missing: (n % 3 > 0).then_some((n % 3) as u32) },
        28 => Report::NotThem,
        29 => Report::Care { step: STEPS[(n % 4) as usize], done: n % 3 > 0 },
        30 => Report::CountedOut { people: vec![] },
        31 => Report::MissingTold { missing: (n % 3) as u32, height_m: None, swimmer: None, words: None },
        32 => match n % 6 {
            0 => Report::ThisIsReal,
            1 => Report::StoodDown { reason: "x".into() },
            2 => Report::FoundAshore { missing: 1, place: None },
            3 => Report::CommandPassed { to: "them".into() },
            4 => Report::SwimmerMissing { practice: n % 4 == 0 },
            _ => Report::RoleTaken { role: ROLES[(n % 6) as usize], person: Some(person) },
        },
        _ => sighting(n, x, y),
    }
}

/// What a screen may never hold, whoever reads it.
fn check_words(screen: &Screen) {
    let text = serde_json::to_string(screen).unwrap();
    assert!(!text.contains('\u{27e6}') && !text.contains('\u{27e7}'), "a mark stands where a name belongs");
    let low = text.to_lowercase();
    for word in [
        "not in the water",
        "survival",
        "stop the search",
        "stop searching",
        "safe to",
        "is clear",
        "all clear",
    ] {
        let at = low.find(word).unwrap_or(0);
        assert!(at == 0, "{word}: {}", low.chars().skip(at.saturating_sub(80)).take(160).collect::<String>());
    }
    let typist = !matches!(screen.you.role, Role::Viewer | Role::Gate);
    if typist && screen.short.is_none() && screen.lines.iter().any(|line| line.down_since_ms.is_some()) {
        assert!(screen.lines.iter().all(|line| line.people.is_empty()));
        assert!(screen.people.iter().all(|p| !p.in_water));
        assert!(!low.contains("all 2 are up") && !low.contains("count 2 ") && !low.contains("count 3 "));
    }
    assert!(screen.first_words.lines.len() <= 3);
    if screen.stage == Stage::Searching || screen.stage == Stage::Asking {
        assert!(!screen.first_words.lines.is_empty() || !screen.first_words.over.is_empty());
    }
}

type Lanes = BTreeMap<usize, [u64; 5]>;

/// Lanes that the search has begun and nobody has ended.
fn begun(desk: &Desk) -> Lanes {
    let cards = desk.thought.cards.values().filter(|card| card.stand == incident::think::Stand::Begun);
    cards
        .filter_map(|card| {
            let (run, _) = card.run.as_ref()?;
            let sums = [run.from.east, run.from.north, run.to.east, run.to.north, run.width_m];
            Some((card.number, sums.map(f64::to_bits)))
        })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 6, max_shrink_iters: 30, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_script_keeps_the_promises(
        script in prop::collection::vec((0_u8..34, 0_u64..1000, -40.0..40.0_f64, -10.0..70.0_f64, 0_i64..90, 0_usize..4), 8..28),
        practice in any::<bool>(),
        told_at in 0_usize..5,
    ) {
        let mut desk = Desk::on(water(), &tarn_with(6).1, incident::Effort { particles: 600, plans: 30 });
        let devices = ["a", "b", "c", "v"];
        desk.send("a", Report::SwimmerMissing { practice });
        let mut kept = desk.entries.len();
        for (k, &(kind, n, x, y, wait, device)) in script.iter().enumerate() {
            if k == told_at {
                let _ = desk.try_send("a", desk::place(1, Spot::new(-12.0, 24.0)), None);
                let _ = desk.try_send("a", desk::ago(1, 60.0, 90.0), None);
                let _ = desk.try_send("v", Report::RoleTaken { role: Role::Viewer, person: None }, None);
            }
            desk.wait(wait);
            let before = begun(&desk);
            let incident = desk.state.incidents;
            let late = (n % 4 == 0).then_some(desk.now_ms - 20_000);
            let (seq, taken) = (desk.state.seq, desk.try_send(devices[device], report(&desk, (kind, n, x, y)), late));
            prop_assert_eq!(taken.is_ok(), desk.state.seq > seq, "what is accepted is in the log, what is refused is not");
            prop_assert!(desk.entries.len() >= kept);
            kept = desk.entries.len();
            if desk.state.incidents == incident {
                for (number, lane) in begun(&desk) {
                    prop_assert!(before.get(&number).is_none_or(|old| *old == lane), "order {} changed under way", number);
                }
            }
            for device in devices {
                check_words(&desk.screen(device));
            }
            let _ = incident::handover(&desk.state, &desk.thought, &desk.names, desk.now_ms);
        }
        let head = chain::verify(desk.lines.iter().map(String::as_str)).unwrap();
        prop_assert_eq!(head.seq as usize, desk.entries.len());
        let mut state = State::default();
        for (line, entry) in desk.lines.iter().zip(&desk.entries) {
            let read = chain::entry(line).unwrap();
            prop_assert_eq!(&read, entry);
            state.apply(&read);
        }
        let mut thinker = Thinker::new(water(), incident::Effort { particles: 600, plans: 30 });
        let thought = thinker.follow(&state, 0);
        let replayed = incident::screen(&state, &thought, &state.sender("a"), &desk.names, desk.now_ms);
        prop_assert_eq!(
            serde_json::to_string(&replayed).unwrap(),
            serde_json::to_string(&desk.screen("a")).unwrap()
        );
    }
}

fn water() -> Water {
    use std::sync::OnceLock;
    static WATER: OnceLock<Water> = OnceLock::new();
    WATER
        .get_or_init(|| {
            let (site, day) = tarn_with(6);
            Water::new(site, day.stage_m)
        })
        .clone()
}

#[test]
fn breaking_off_is_offered_when_a_witness_changes_where_they_may_be() {
    let (mut desk, _) = Desk::at_work(11);
    assert!(desk.screen("a").break_off.is_none(), "as planned, everybody is on the best they can do");
    desk.send("a", desk::place(1, Spot::new(-28.0, 62.0)));
    desk.send("a", desk::ago(1, 100.0, 110.0));
    let offer = desk.screen("a").break_off.expect("what runs is worth little now");
    assert!(offer.words.contains("times as much"), "{}", offer.words);
    desk.role("b", Role::Recorder);
    assert!(desk.screen("b").break_off.is_none());
    // Nothing changes before somebody says so.
    let lane = |desk: &Desk| desk.screen("a").map.lanes.into_iter().find(|l| l.order == offer.order);
    assert_eq!(lane(&desk).unwrap().state, LaneState::Running);
    desk.send("a", Report::BreakOff { order: offer.order });
    assert!(lane(&desk).is_none_or(|lane| lane.state == LaneState::Part));
    assert!(desk.screen("a").break_off.is_none_or(|next| next.order != offer.order));
}

#[test]
fn an_entry_of_a_later_program_is_kept_and_shown_as_such() {
    let (desk, _) = Desk::at_work(11);
    let line = desk.lines[3].clone();
    let later = line.replacen("\"event\":\"", "\"event\":\"tide_", 1);
    let entry = chain::entry(&later).expect("it is read");
    assert!(matches!(entry.event, incident::Event::Unknown(_)));
    let before = chain::verify(desk.lines[..3].iter().map(String::as_str)).unwrap().digest;
    assert_eq!(chain::line(&entry, &before), later, "byte for byte");
    let mut state = desk.state.clone();
    state.apply(&incident::Entry { seq: state.seq + 1, ..entry });
    let screen = incident::screen(&state, &desk.thought, &state.sender("a"), &desk.names, desk.now_ms);
    assert!(screen.log[0].words.contains("later program: tide_"), "{}", screen.log[0].words);
    let _ = SMALL;
}
