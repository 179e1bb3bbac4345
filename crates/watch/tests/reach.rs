//! Reach on the demo site and on ponds made by hand.

mod common;

use common::{area, day, kestrel, member, point, pond};
use measure::Spot;
use watch::places::{Wanted, candidates};
use watch::reach::{Doing, Entry, Gear, Paces, Post, Reach, Setting, Way, over_zone, ways_back, zones};
use water::{Day, Flow, Ground, Kind, Site, Support};

fn posts(site: &Site) -> Vec<Post> {
    site.of_kind(Kind::Post).map(|f| Post { name: f.name.clone(), spot: f.shape.middle() }).collect()
}

fn reach_with(site: &Site, day: &Day, gear: &Gear, paces: &Paces) -> Reach {
    let ground = Ground::build(site, day.stage_m).value;
    let flow = Flow::from_floats(&day.floats).value;
    Reach::from_posts(&Setting { site, ground: &ground, flow: &flow, paces }, &posts(site), gear)
}

fn reach(site: &Site, day: &Day) -> Reach {
    reach_with(site, day, &Gear::of(site, day), &Paces::at(site.water_kind))
}

// shows: RE-5
#[test]
fn on_the_demo_site_the_nearest_post_is_first_and_the_board_wins_far_out() {
    let (site, day) = kestrel();
    let reach = reach(&site, &day);
    assert_eq!(reach.posts.len(), 3);
    let near = site.named("Jetty").unwrap().shape.middle();
    let arrival = reach.first_at(near + Spot::new(-4.0, 0.0)).unwrap();
    assert_eq!((reach.posts[arrival.post].post.name.as_str(), arrival.way), ("Jetty", Way::Swim));
    assert!(arrival.seconds > 4.0 && arrival.seconds < 12.0, "{arrival:?}");
    // Seventy metres out from the Tower, beside which the board hangs.
    let far = Spot::new(-70.0, 10.0);
    let tower = reach.posts.iter().position(|p| p.post.name == "Tower").unwrap();
    let by = |way| reach.arrival_s(tower, way, far).unwrap();
    assert!(by(Way::Board) < by(Way::Fins) && by(Way::Fins) < by(Way::Swim));
    assert!(reach.first_at(far).unwrap().seconds <= by(Way::Board));
}

#[test]
fn a_faster_swimmer_is_never_later_and_more_posts_are_never_slower() {
    let (site, day) = kestrel();
    let usual = Paces::at(site.water_kind);
    let fast = Paces { swim_mps: 1.2, ..usual };
    let gear = Gear::default();
    let (a, b) = (reach_with(&site, &day, &gear, &usual), reach_with(&site, &day, &gear, &fast));
    for (slow_s, fast_s) in a.first_s().iter().zip(b.first_s()) {
        assert!(fast_s <= slow_s + 0.05, "{fast_s} {slow_s}");
    }
    let one = Reach { posts: vec![a.posts[0].clone()], ..a.clone() };
    assert!(a.first_s().iter().zip(one.first_s()).all(|(all, one)| *all <= one));
}

#[test]
fn from_a_post_on_the_shore_the_swim_is_as_long_as_the_water_is_wide() {
    // Two metres of deck, then water too deep to stand in from its wall on.
    let mut site = pond((200.0, 60.0), 2.5);
    site.water_kind = water::WaterKind::Pool;
    let reach = reach(&site, &day(vec![member("Ada")]));
    let paces = Paces::at(site.water_kind);
    for out_m in [10.5, 20.5, 28.5] {
        let spot = Spot::new(100.5, out_m);
        let seconds = reach.arrival_s(0, Way::Swim, spot).unwrap();
        let straight_s = paces.entry_s + 2.0 / paces.land_mps + out_m / paces.swim_mps;
        assert!((seconds - straight_s).abs() < 0.1, "{out_m}: {seconds} against {straight_s}");
    }
}

#[test]
fn fins_and_board_pay_once_and_then_go_faster() {
    let mut site = pond((400.0, 120.0), 2.5);
    site.water_kind = water::WaterKind::Pool;
    let mut day = day(vec![member("Ada")]);
    (day.kit.fins, day.kit.boards) = (1, 1);
    let reach = reach(&site, &day);
    let at = |way, north| reach.arrival_s(0, way, Spot::new(200.0, north)).unwrap();
    assert!(at(Way::Swim, 10.0) < at(Way::Fins, 10.0) && at(Way::Fins, 10.0) < at(Way::Board, 10.0));
    // Fins: 8 s at 1/1.0 − 1/1.25 s a metre pay off at 40 m; the board: 12 s at 1/1.0 − 1/1.6 at 32 m.
    assert!(at(Way::Fins, 34.0) > at(Way::Swim, 34.0) && at(Way::Fins, 46.0) < at(Way::Swim, 46.0));
    assert!(at(Way::Board, 27.0) > at(Way::Swim, 27.0) && at(Way::Board, 38.0) < at(Way::Swim, 38.0));
    assert!((at(Way::Board, 110.0) - at(Way::Board, 60.0) - 50.0 / 1.6).abs() < 0.5);
}

#[test]
fn a_raft_is_climbed_and_a_jetty_is_run_along() {
    let mut site = pond((60.0, 60.0), 2.5);
    site.features.push(area("Pier", Kind::Dock(Support::Piled), (28.0, -4.0), (32.0, 30.0)));
    site.features.push(area("Raft", Kind::Raft(Support::Floating), (10.0, 40.0), (16.0, 46.0)));
    let reach = reach(&site, &day(vec![member("Ada")]));
    let at = |east, north| reach.arrival_s(0, Way::Swim, Spot::new(east, north)).unwrap();
    let paces = Paces::default();
    assert!((at(30.0, 29.0) - at(30.0, 9.0) - 20.0 / paces.deck_mps).abs() < 0.3);
    assert!(at(13.5, 43.5) - at(13.5, 38.5) > paces.climb_s, "{} {}", at(13.5, 43.5), at(13.5, 38.5));
}

// shows: RE-6
#[test]
fn degenerate_waters_give_answers_or_say_why_not() {
    // No post.
    let mut site = pond((20.0, 20.0), 2.0);
    site.features.retain(|f| f.kind != Kind::Post);
    let none = reach(&site, &day(vec![]));
    assert!(none.posts.is_empty() && none.first_at(Spot::new(10.0, 10.0)).is_none());
    assert!(none.notes.iter().any(|n| n.contains("no post")));
    // A post in the water, one on no-go ground, one a kilometre off.
    let mut site = pond((40.0, 40.0), 2.0);
    site.features.push(point("Buoy", Kind::Post, (20.0, 20.0)));
    site.features.push(point("Far", Kind::Post, (20.0, -1000.0)));
    site.features.push(point("Weir post", Kind::Post, (39.0, 39.0)));
    site.features.push(area("Weir", Kind::NoGo, (36.0, 36.0), (40.0, 40.0)));
    let odd = reach(&site, &day(vec![]));
    for word in ["Buoy stands in 2.0 m", "Far lies far", "Weir post stands on no-go"] {
        assert!(odd.notes.iter().any(|n| n.contains(word)), "{word}: {:?}", odd.notes);
    }
    let middle = Spot::new(20.0, 20.0);
    assert!(odd.arrival_s(1, Way::Swim, middle).unwrap() < 5.0);
    let far_s = odd.arrival_s(2, Way::Swim, middle).unwrap();
    assert!(far_s > 290.0 && far_s < 340.0, "{far_s}");
    assert_eq!(odd.arrival_s(3, Way::Swim, middle), None);
    assert_eq!(odd.first_at(Spot::new(38.0, 38.0)), None, "nobody is sent onto no-go ground");
    // A pond of one metre.
    let tiny = reach(&pond((1.0, 1.0), 0.4), &day(vec![]));
    let seconds = tiny.first_at(Spot::new(0.5, 0.5)).unwrap().seconds;
    assert!(seconds > 4.0 && seconds < 6.5, "{seconds}");
    // Nothing was sounded.
    let mut site = pond((30.0, 30.0), 2.0);
    site.soundings.clear();
    let blind = reach(&site, &day(vec![]));
    assert!(blind.first_at(Spot::new(15.0, 15.0)).is_some());
    assert!(blind.notes.iter().any(|n| n.contains("no depth")), "{:?}", blind.notes);
    // Two basins with land between: on foot from one to the other.
    let mut site = pond((30.0, 30.0), 2.0);
    site.features.push(area("Other", Kind::Water, (60.0, 0.0), (90.0, 30.0)));
    let two = reach(&site, &day(vec![]));
    let seconds = two.first_at(Spot::new(75.0, 15.0)).unwrap().seconds;
    assert!(seconds > 20.0 && seconds < 45.0, "{seconds}");
}

#[test]
fn a_current_that_wins_is_said_cell_by_cell() {
    let mut site = pond((60.0, 20.0), 2.5);
    site.water_kind = water::WaterKind::River;
    site.features.retain(|f| f.kind != Kind::Post);
    site.features.push(point("Up", Kind::Post, (10.0, -1.0)));
    // The upstream end is fenced off, so that nobody can swim down from there.
    site.features.push(area("Weir", Kind::NoGo, (-40.0, -40.0), (1.0, 60.0)));
    let mut day = day(vec![]);
    day.floats =
        vec![water::FloatRun { from: Spot::new(10.0, 10.0), to: Spot::new(40.0, 10.0), seconds: 10.0 }];
    let reach = reach(&site, &day);
    // The guard may run down the bank and swim out from there, but is swept past everything far from the bank.
    let near = reach.first_at(Spot::new(50.0, 1.5));
    assert!(near.is_some(), "{near:?}");
    let far = reach.first_at(Spot::new(15.0, 10.5));
    assert!(far.is_none(), "{far:?}");
}

#[test]
fn the_same_bits_on_any_number_of_threads() {
    let (site, day) = kestrel();
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| reach(&site, &day).posts.into_iter().map(|p| p.ways).collect::<Vec<_>>())
    };
    let (one, three) = (with(1), with(3));
    for (a, b) in one.iter().flatten().zip(three.iter().flatten()) {
        assert!(a.arrival_s.iter().zip(&b.arrival_s).all(|(a, b)| a.to_bits() == b.to_bits()));
    }
}

// shows: RE-7
#[test]
fn a_route_leads_from_the_post_to_the_place_in_the_time_that_was_told() {
    let (site, day) = kestrel();
    let reach = reach(&site, &day);
    let paces = Paces::at(site.water_kind);
    let mut seen = 0;
    for (post, from) in reach.posts.iter().enumerate() {
        for found in &from.ways {
            for to in [Spot::new(-30.0, 5.0), Spot::new(-60.0, 40.0), Spot::new(-12.0, -10.0)] {
                let Some(route) = reach.route((post, found.way), to, &site, &paces) else { continue };
                seen += 1;
                let first = route.legs.first().unwrap().places[0];
                let last = *route.legs.last().unwrap().places.last().unwrap();
                assert!(first.distance(from.post.spot) < 1e-9 && last.distance(to) < 1e-9, "{route:?}");
                for pair in route.legs.windows(2) {
                    assert!(pair[0].places.last().unwrap().distance(pair[1].places[0]) < 1e-9);
                }
                // Moving and overheads make up the time; the overheads are those of the way, give or take the grain.
                let due_s = paces.entry_s + paces.launch_s(found.way);
                let off_s = route.overhead_s - due_s;
                assert!(
                    off_s.abs() < 1.5 + 0.03 * route.seconds,
                    "{} {:?}: {off_s} s of {}",
                    from.post.name,
                    found.way,
                    route.seconds
                );
                if route.legs.iter().any(|l| l.doing == Doing::WalkDeck) && found.way != Way::Board {
                    assert!(!route.entries.as_ref().unwrap().allowed.contains(&Entry::HeadFirst));
                }
            }
        }
    }
    assert!(seen >= 24, "{seen}");
}

// shows: RE-7
#[test]
fn from_a_post_far_off_the_run_there_is_a_leg_too() {
    let (site, day) = kestrel();
    let (paces, ground, flow) = (
        Paces::at(site.water_kind),
        Ground::build(&site, day.stage_m).value,
        Flow::from_floats(&day.floats).value,
    );
    let setting = Setting { site: &site, ground: &ground, flow: &flow, paces: &paces };
    let far = Post { name: "Far".into(), spot: Spot::new(900.0, 0.0) };
    let reach = Reach::from_posts(&setting, &[far], &Gear { fins: true, ..Gear::default() });
    let to = Spot::new(-30.0, 5.0);
    for way in [Way::Swim, Way::Fins] {
        let route = reach.route((0, way), to, &site, &paces).unwrap();
        let metres: f64 = route.legs.iter().map(|leg| leg.metres).sum();
        assert!((930.0..1000.0).contains(&metres), "{metres} m of way: {route:?}");
        let due_s = paces.entry_s + paces.launch_s(way);
        assert!((route.overhead_s - due_s).abs() < 3.0, "{} s, not {due_s} s", route.overhead_s);
    }
}

// shows: RE-9
#[test]
fn a_zone_is_told_by_its_worst_its_middle_and_what_lies_beyond() {
    let mut site = pond((200.0, 41.0), 2.5);
    site.water_kind = water::WaterKind::Pool;
    site.features.retain(|f| f.kind != Kind::BathingArea);
    site.features.push(area("Strip", Kind::BathingArea, (100.0, 0.0), (101.0, 41.0)));
    let reach = reach(&site, &day(vec![]));
    let all = zones(&reach, &site);
    assert_eq!((all.len(), all[0].cells.len()), (1, 41));
    let told = over_zone(&reach, &all[0], (&reach.first_s(), None), 25.0);
    // 4 s, 2 m of deck at 2 m/s, then metres of water: 5.5 to 45.5 s.
    let near = |got: Option<f64>, expect: f64| (got.unwrap() - expect).abs() < 0.2;
    assert!(near(told.worst_s, 45.5) && near(told.median_s, 25.5), "{told:?}");
    assert!((told.beyond_share - 21.0 / 41.0).abs() < 0.03 && told.denied_share == 0.0, "{told:?}");
    // No bathing area: all the water.
    site.features.retain(|f| f.kind != Kind::BathingArea);
    assert_eq!(zones(&reach, &site)[0].name, "all water");
}

// shows: RE-10
#[test]
fn the_way_back_is_to_the_nearest_shore_one_can_stand_at() {
    let (site, day) = kestrel();
    let reach = reach(&site, &day);
    let paces = Paces::at(site.water_kind);
    let (back, note) = ways_back(&reach.terrain, &paces, &[Way::Swim, Way::Board]);
    assert_eq!(note, None);
    let from = Spot::new(-40.5, 0.5);
    let cell = reach.terrain.grid.cell(from).unwrap();
    let (tow_s, board_s) = (back[0].landing_s[cell], back[1].landing_s[cell]);
    assert!(tow_s > 40.0 && tow_s < 110.0 && board_s < tow_s, "{tow_s} {board_s}");
    let landing = back[0].landing(&reach.terrain, &paces, from).unwrap();
    assert!(reach.terrain.wade[reach.terrain.grid.cell(landing).unwrap()]);
    // In still water the way is no shorter than the straight line to where it ends.
    let still = Day { floats: vec![], ..day };
    let reach = reach_with(&site, &still, &Gear::default(), &paces);
    let (back, _) = ways_back(&reach.terrain, &paces, &[Way::Swim]);
    let end = back[0].landing(&reach.terrain, &paces, from).unwrap();
    // The grid is another one: no gear lies far off now.
    let cell = reach.terrain.grid.cell(from).unwrap();
    let seconds = f64::from(back[0].landing_s[cell]);
    assert!(seconds > from.distance(end) / paces.tow_mps(Way::Swim) - 1.5, "{seconds} {end:?}");
}

#[test]
fn where_the_board_beats_swimming_is_where_its_launch_is_paid_for() {
    let mut site = pond((400.0, 120.0), 2.5);
    site.water_kind = water::WaterKind::Pool;
    let mut day = day(vec![]);
    day.kit.boards = 1;
    let reach = reach(&site, &day);
    let paces = Paces::at(site.water_kind);
    let ground = Ground::build(&site, 0.0).value;
    let setting = Setting { site: &site, ground: &ground, flow: &Flow::Still, paces: &paces };
    let over = reach.crossover(0, Way::Board, &setting).unwrap();
    assert!((over.pays_m - 32.0).abs() < 1e-9 && over.from_m >= 32.0 && over.from_m < 37.0, "{over:?}");
    assert_eq!(reach.crossover(0, Way::Boat, &setting), None);
}

#[test]
fn a_roped_area_off_the_shore_has_candidates_on_the_shore_nearest_to_it() {
    let mut site = pond((100.0, 60.0), 1.0);
    site.features.push(area("Roped", Kind::BathingArea, (25.0, 20.0), (75.0, 40.0)));
    let day = day(vec![]);
    let ground = Ground::build(&site, 0.0).value;
    let (paces, flow) = (Paces::at(site.water_kind), Flow::from_floats(&day.floats).value);
    let setting = Setting { site: &site, ground: &ground, flow: &flow, paces: &paces };
    let reach = Reach::from_posts(&setting, &[], &Gear::default());
    let cells = zones(&reach, &site).remove(1).cells;
    let wanted = Wanted { cells: &cells, most: 6, within_m: 4.0 };
    let found = candidates(&reach.terrain, &[], &wanted);
    assert_eq!(found.len(), 6);
    for place in &found {
        let (east, north) = (place.spot.east.clamp(25.0, 75.0), place.spot.north.clamp(20.0, 40.0));
        let off = place.spot.distance(Spot::new(east, north));
        assert!((19.0..27.0).contains(&off), "{place:?}: {off} m off");
    }
}
