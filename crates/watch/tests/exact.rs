//! The marches against closed forms at three resolutions: the error must shrink, and as fast as the page says.

use measure::Spot;
use watch::reach::{Footing, Medium, Start, crossing, linear_time_s, strips};
use water::Grid;

/// A square of `size_m` with its middle at (0, 0), in cells of `cell_m`.
fn square(size_m: f64, cell_m: f64) -> Grid {
    let cells = (size_m / cell_m).round() as usize;
    Grid { corner: Spot::new(-0.5 * size_m, -0.5 * size_m), cell_m, cols: cells, rows: cells }
}

fn open(grid: Grid, pace: impl Fn(Spot) -> f64) -> Medium {
    let paces: Vec<f64> = (0..grid.len()).map(|cell| pace(grid.centre(cell))).collect();
    Medium::new(grid, &paces, &vec![Footing::Water; grid.len()], f64::INFINITY)
}

fn moving(grid: Grid, pace_mps: f64, current: Spot) -> Medium {
    open(grid, |_| pace_mps).moved_by(Some(vec![current; grid.len()]))
}

/// Largest error \[s\] over the cells where both are finite, of a march on `medium` from `from`.
fn worst(medium: &Medium, from: Spot, exact: impl Fn(Spot) -> Option<f64>) -> f64 {
    let times = medium.march(&Start::Spot(from, 0.0));
    let grid = medium.grid();
    let off = (0..grid.len()).filter_map(|cell| Some((times[cell] - exact(grid.centre(cell))?).abs()));
    off.filter(|e| e.is_finite()).fold(0.0, f64::max)
}

/// Checks that the error falls by `factor` from each resolution to the next, and ends below `last_s`.
fn shrinks(name: &str, errors: [f64; 3], factor: f64, last_s: f64) {
    for pair in errors.windows(2) {
        assert!(pair[1] * factor <= pair[0], "{name}: {errors:?}");
    }
    assert!(errors[2] <= last_s, "{name}: {errors:?}");
}

const CELLS_M: [f64; 3] = [4.0, 2.0, 1.0];
const FROM: Spot = Spot::new(-31.3, 12.2);

// shows: RE-1
#[test]
fn from_a_point_in_one_medium_the_error_is_of_second_order() {
    let exact = |s: Spot| Some(s.distance(FROM) / 1.2);
    let errors = CELLS_M.map(|h| worst(&open(square(200.0, h), |_| 1.2), FROM, exact));
    shrinks("point", errors, 3.5, 0.02);
}

// shows: RE-1
#[test]
fn where_the_pace_grows_evenly_rays_are_circles() {
    let pace = |s: Spot| 6.0 + 0.05 * s.north;
    let exact = |s: Spot| Some(linear_time_s(s.distance(FROM), pace(FROM), pace(s), 0.05));
    let errors = CELLS_M.map(|h| worst(&open(square(200.0, h), pace), FROM, exact));
    shrinks("gradient", errors, 3.0, 0.02);
}

// shows: RE-2
#[test]
fn from_sand_into_water_the_way_bends_as_refraction_has_it() {
    let (edge, from) = (40.0, Spot::new(2.0, -38.0));
    let pace = |s: Spot| if s.north < edge { 4.0 } else { 1.2 };
    let exact = |s: Spot| {
        let along = s.east - from.east;
        Some(match s.north < edge {
            true => s.distance(from) / 4.0,
            false => strips(&[(edge - from.north, 4.0), (s.north - edge, 1.2)], along).time_s,
        })
    };
    // The edge lies between two rows of cells at every resolution.
    let still = CELLS_M.map(|h| worst(&open(square(240.0, h), pace), from, exact));
    shrinks("Snell, still water", still, 3.5, 0.006);
    // The march for moving water takes the mean slowness across the edge: first order, and still small.
    let drifting = |h| {
        let grid = square(240.0, h);
        open(grid, pace).moved_by(Some(vec![Spot::default(); grid.len()]))
    };
    shrinks("Snell, moving water", CELLS_M.map(|h| worst(&drifting(h), from, exact)), 1.9, 0.04);
}

// shows: RE-3
#[test]
fn in_a_current_slower_than_the_swimmer_every_cell_has_the_time_of_the_straight_crossing() {
    let current = Spot::new(0.4, 0.1);
    let exact = |s: Spot| Some(crossing(s - FROM, 1.2, current)?.time_s);
    let errors = CELLS_M.map(|h| worst(&moving(square(200.0, h), 1.2, current), FROM, exact));
    shrinks("drift", errors, 6.0, 1e-5);
    // Nearly as fast as the swimmer: the longest way takes seven minutes.
    let current = Spot::new(0.9, -0.5);
    let exact = |s: Spot| Some(crossing(s - FROM, 1.2, current)?.time_s);
    let errors = CELLS_M.map(|h| worst(&moving(square(200.0, h), 1.2, current), FROM, exact));
    shrinks("strong drift", errors, 1.9, 0.02);
}

// shows: RE-3
#[test]
fn a_current_faster_than_the_swimmer_leaves_a_cone_that_can_be_reached() {
    for (current, cell_m) in
        [(Spot::new(1.5, 0.9), 1.0), (Spot::new(-0.4, 1.25), 2.0), (Spot::new(2.0, -5.0), 1.0)]
    {
        let grid = square(200.0, cell_m);
        // Nowhere near the middle of a cell: the current carries one off at once.
        let from = Spot::new(-31.8, 12.3);
        let times = moving(grid, 1.2, current).march(&Start::Spot(from, 0.0));
        let (mut inside, mut missed, mut late) = (0, 0, 0.0_f64);
        for cell in 0..grid.len() {
            let way = grid.centre(cell) - from;
            match crossing(way, 1.2, current) {
                // Nothing is called reachable that is not.
                None => {
                    assert!(times[cell].is_infinite() || way.length() < cell_m, "{way:?}: {}", times[cell])
                }
                Some(straight) => {
                    inside += 1;
                    missed += usize::from(times[cell].is_infinite());
                    let late_s = times[cell] - straight.time_s;
                    if times[cell].is_finite() && way.length() > cell_m {
                        assert!(
                            late_s > -1e-4 * straight.time_s,
                            "{way:?}: {} not {}",
                            times[cell],
                            straight.time_s
                        );
                        late = late.max(late_s / straight.time_s);
                    }
                }
            }
        }
        println!("{current:?} {cell_m}: {late}, missed {missed} of {inside}");
        assert!(late < 0.01, "{current:?}: late by {late}");
        // Of the very edge some cells are called denied.
        assert!(inside > 1_000 && missed * 200 < inside, "{missed} of {inside}");
    }
}

/// Worst shares by which arrivals are late in a cone whose current grows to the north, against rays: near its edge, in the middle,
/// and the worst by which any is early. A ray that goes straight ahead in the current has a cosine of 1 to it, one at the edge 0.
fn cone_error(cell_m: f64) -> [f64; 3] {
    let (pace, shear, calm_m) = (1.2, 0.006, 330.0);
    // The current is faster than the pace wherever the square lies: 1.4 to 2.6 m/s to the east.
    let grid = Grid { corner: Spot::new(-100.0, calm_m - 100.0), ..square(200.0, cell_m) };
    let from = Spot::new(-80.3, calm_m + 10.6);
    let current = (0..grid.len()).map(|c| Spot::new(shear * grid.centre(c).north, 0.0)).collect();
    let times = open(grid, |_| pace).moved_by(Some(current)).march(&Start::Spot(from, 0.0));
    let (mut worst, mut told) = ([0.0_f64; 3], 0);
    for k in 0..4000 {
        let turn = std::f64::consts::PI * (f64::from(k) / 4000.0 - 0.5);
        let ray = sheared_ray(from, turn, (pace, shear), 60.0);
        for pair in ray.windows(2) {
            let (at, t) = pair[1];
            let Some(cell) = grid.cell(at) else { break };
            let off = grid.centre(cell) - at;
            let going = (at - pair[0].0) * (1.0 / 0.05);
            let own = going - Spot::new(shear * at.north, 0.0);
            let heading = own * (1.0 / own.length());
            let ahead = heading.dot(going) / going.length();
            // Of the two headings that lead to a place this is the sooner, and not the very edge.
            if ahead < 0.1 {
                break;
            }
            // Close to the start the cone is no wider than a cell; close to the ray the time changes by its slope.
            if t < 8.0 || off.length() > 0.15 || times[cell].is_infinite() {
                continue;
            }
            let exact = t + heading.dot(off) / heading.dot(going);
            let late = (times[cell] - exact) / exact;
            let band = usize::from(ahead > 0.5);
            worst[band] = worst[band].max(late);
            worst[2] = worst[2].max(-late);
            told += 1;
        }
    }
    assert!(told > 1_000, "{told}");
    worst
}

// shows: RE-3
#[test]
fn in_a_bent_current_faster_than_the_swimmer_the_cone_is_right_to_its_edge() {
    let errors = CELLS_M.map(cone_error);
    println!("{errors:?}");
    // Straight pieces of a tolerance that does not depend on the cell: a bound for every size, and in the middle no worse where finer.
    assert!(errors.iter().all(|e| e[0] < 0.01 && e[1] < 0.005 && e[2] < 1e-4), "{errors:?}");
    assert!(errors.windows(2).all(|pair| pair[1][1] <= pair[0][1]), "{errors:?}");
}

// shows: RE-3
#[test]
fn the_edge_of_what_a_current_denies_is_exact() {
    // At 3 and 5 metres a second the edge lies at a slope of 3 to 4, in numbers without a remainder.
    let current = Spot::new(5.0, 0.0);
    for far in [1.0, 8.0, 1024.0] {
        let edge =
            crossing(Spot::new(4.0 * far, 3.0 * far), 3.0, current).expect("the edge itself is reached");
        assert_eq!(edge.time_s, far * 25.0 / 20.0, "{far}");
        assert!(edge.heading.distance(Spot::new(-0.6, 0.8)) < 1e-12, "{edge:?}");
        for more in [1e-12, 1e-6, 1.0] {
            assert!(crossing(Spot::new(4.0 * far, 3.0 * far * (1.0 + more)), 3.0, current).is_none());
            assert!(crossing(Spot::new(4.0 * far, 3.0 * far * (1.0 - more)), 3.0, current).is_some());
        }
    }
    // As fast as the current one goes everywhere but straight against it, and nowhere upstream.
    assert!(crossing(Spot::new(-1.0, 0.0), 5.0, current).is_none());
    assert!(crossing(Spot::new(0.0, 1.0), 5.0, current).is_none());
    assert!(crossing(Spot::new(1e-3, 1.0), 5.0, current).is_some());
}

/// A place and its time on the ray that leaves `from` with a heading, where the current runs east and grows by `shear` a metre to the north: the
/// slowness to the east stays, that to the north falls evenly; by Runge-Kutta steps so small that their error does not count.
fn sheared_ray(from: Spot, turn: f64, (pace, shear): (f64, f64), until_s: f64) -> Vec<(Spot, f64)> {
    let (px, py) = (libm::cos(turn), libm::sin(turn));
    let going = |at: Spot, t: f64| {
        let north = py - shear * px * t;
        let length = px.hypot(north);
        Spot::new(pace * px / length + shear * at.north, pace * north / length)
    };
    let (step, mut at) = (0.05, from);
    let mut line = vec![(from, 0.0)];
    for k in 0..(until_s / step) as usize {
        let t = step * k as f64;
        let a = going(at, t);
        let b = going(at + a * (0.5 * step), t + 0.5 * step);
        let c = going(at + b * (0.5 * step), t + 0.5 * step);
        let d = going(at + c * step, t + step);
        at = at + (a + b * 2.0 + c * 2.0 + d) * (step / 6.0);
        line.push((at, t + step));
    }
    line
}

/// Time at a place between the middles of four cells.
fn between(grid: &Grid, times: &[f64], at: Spot) -> Option<f64> {
    let (x, y) = (
        (at.east - grid.corner.east) / grid.cell_m - 0.5,
        (at.north - grid.corner.north) / grid.cell_m - 0.5,
    );
    if !(x >= 0.0 && y >= 0.0 && x < (grid.cols - 1) as f64 && y < (grid.rows - 1) as f64) {
        return None;
    }
    let (i, j) = (x as usize, y as usize);
    let (fx, fy) = (x - i as f64, y - j as f64);
    let t = |di: usize, dj: usize| times[(j + dj) * grid.cols + i + di];
    let row = |dj: usize| t(0, dj) * (1.0 - fx) + t(1, dj) * fx;
    Some(row(0) * (1.0 - fy) + row(1) * fy)
}

/// Worst error \[s\] in a sheared current along rays, as long as they stay on the square.
fn shear_error(cell_m: f64, pace: f64, shear: f64) -> f64 {
    let grid = square(200.0, cell_m);
    let current = (0..grid.len()).map(|c| Spot::new(shear * grid.centre(c).north, 0.0)).collect();
    let times = open(grid, |_| pace).moved_by(Some(current)).march(&Start::Spot(FROM, 0.0));
    let mut worst = 0.0_f64;
    for k in 0..48 {
        for (at, t) in
            sheared_ray(FROM, 0.13 + std::f64::consts::TAU * f64::from(k) / 48.0, (pace, shear), 90.0)
        {
            let Some(met) = between(&grid, &times, at) else { break };
            // Close to the start, times between cells bend too sharply for a straight line between them.
            if t > 20.0 {
                worst = worst.max((met - t).abs());
            }
        }
    }
    worst
}

// shows: RE-3
#[test]
fn in_a_sheared_current_times_are_those_of_the_rays() {
    let weak = CELLS_M.map(|h| shear_error(h, 1.2, 0.004));
    let strong = CELLS_M.map(|h| shear_error(h, 1.2, 0.0115));
    shrinks("weak shear", weak, 3.0, 0.008);
    shrinks("strong shear", strong, 3.0, 0.008);
}

#[test]
fn the_water_running_backwards_gives_the_times_back() {
    let grid = square(60.0, 1.0);
    let (a, b) = (Spot::new(-20.5, -10.5), Spot::new(15.5, 20.5));
    let current = Spot::new(0.3, 0.25);
    let there = moving(grid, 1.0, current).march(&Start::Spot(a, 0.0));
    let back = moving(grid, 1.0, current).reversed().march(&Start::Spot(b, 0.0));
    let (there_s, back_s) = (there[grid.cell(b).unwrap()], back[grid.cell(a).unwrap()]);
    assert!((there_s - back_s).abs() < 1e-4, "{there_s} {back_s}");
}

#[test]
fn a_march_is_later_where_paces_are_lower_and_never_through_walls() {
    let grid = square(60.0, 1.0);
    let wall = |s: Spot| s.east.abs() < 1.0 && s.north < 20.0;
    let lay = |pace: f64| {
        let paces: Vec<f64> = (0..grid.len()).map(|_| pace).collect();
        let footing: Vec<Footing> = (0..grid.len())
            .map(|c| if wall(grid.centre(c)) { Footing::Wall } else { Footing::Water })
            .collect();
        Medium::new(grid, &paces, &footing, f64::INFINITY)
    };
    let from = Start::Spot(Spot::new(-20.0, -10.0), 5.0);
    for current in [None, Some(vec![Spot::new(0.1, 0.0); grid.len()])] {
        let fast = lay(1.5).moved_by(current.clone()).march(&from);
        let slow = lay(1.0).moved_by(current).march(&from);
        let behind = grid.cell(Spot::new(20.0, -10.0)).unwrap();
        // Round the end of the wall: 2 × 36 m rather than 40.
        assert!(slow[behind] > 5.0 + 65.0, "{}", slow[behind]);
        for cell in 0..grid.len() {
            assert_eq!(slow[cell].is_infinite(), wall(grid.centre(cell)));
            assert!(fast[cell].is_infinite() || fast[cell] < slow[cell]);
        }
    }
    let nowhere = lay(1.0).march(&Start::Spot(Spot::new(0.0, 0.0), 0.0));
    assert!(nowhere.iter().all(|t| t.is_infinite()), "nobody leaves from inside a wall");
}

#[test]
fn onto_a_deck_one_climbs_and_from_it_one_jumps() {
    let grid = Grid { corner: Spot::default(), cell_m: 1.0, cols: 21, rows: 3 };
    let footing: Vec<Footing> = (0..grid.len())
        .map(|c| if (8..13).contains(&(c % 21)) { Footing::Deck } else { Footing::Water })
        .collect();
    let lay = |climb_s: f64| Medium::new(grid, &vec![1.0; grid.len()], &footing, climb_s);
    for current in [None, Some(vec![Spot::default(); grid.len()])] {
        let start = Start::Spot(Spot::new(0.5, 1.5), 0.0);
        let never = lay(f64::INFINITY).moved_by(current.clone()).march(&start);
        assert!(never[21 + 10].is_infinite() && never[21 + 20].is_infinite());
        let climbed = lay(8.0).moved_by(current.clone()).march(&start);
        assert!((climbed[21 + 20] - 28.0).abs() < 1e-6, "{}", climbed[21 + 20]);
        let jumped = lay(f64::INFINITY).moved_by(current).march(&Start::Spot(Spot::new(10.5, 1.5), 0.0));
        assert!((jumped[21 + 20] - 10.0).abs() < 1e-6, "{}", jumped[21 + 20]);
    }
}

/// A river 80 m wide with land on its western bank, in cells of 1 m; its current grows evenly from bank to bank.
fn river(pace_mps: f64, (near_mps, far_mps): (f64, f64)) -> Medium {
    let grid = Grid { corner: Spot::new(-10.0, 0.0), cell_m: 1.0, cols: 90, rows: 170 };
    let each = || (0..grid.len()).map(|cell| grid.centre(cell));
    let wet = |at: Spot| at.east > 0.0;
    let paces: Vec<f64> = each().map(|at| if wet(at) { pace_mps } else { 3.5 }).collect();
    let footing: Vec<Footing> =
        each().map(|at| if wet(at) { Footing::Water } else { Footing::Land }).collect();
    let speed = |at: Spot| near_mps + (far_mps - near_mps) * at.east / 80.0;
    let current = each().map(|at| Spot::new(0.0, if wet(at) { speed(at) } else { 0.0 })).collect();
    Medium::new(grid, &paces, &footing, f64::INFINITY).moved_by(Some(current))
}

// shows: RE-3
#[test]
fn where_a_current_comes_to_outrun_the_guard_no_arrival_is_sooner_than_both_together() {
    for (pace_mps, near_mps, far_mps) in
        [(1.2, 0.5, 3.0), (1.2, 1.19, 1.25), (1.2, 0.0, 5.0), (0.9, 0.9, 1.4), (1.7, 2.0, 0.3)]
    {
        for post in [Spot::new(-3.0, 60.0), Spot::new(20.3, 80.0)] {
            let medium = river(pace_mps, (near_mps, far_mps));
            let times = medium.march(&Start::Spot(post, 0.0));
            let most_mps = (pace_mps + near_mps.max(far_mps)).max(3.5);
            let grid = medium.grid();
            for cell in (0..grid.len()).filter(|&cell| times[cell].is_finite()) {
                let (at, time_s) = (grid.centre(cell), times[cell]);
                let least_s = (at.distance(post) - grid.cell_m) / most_mps;
                assert!(
                    time_s >= least_s,
                    "pace {pace_mps}, current {near_mps} to {far_mps}, {post:?} to {at:?}: {time_s} s, at least {least_s}"
                );
            }
        }
    }
}
