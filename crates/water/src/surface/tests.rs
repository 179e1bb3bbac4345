use super::*;
use proptest::prelude::*;

fn square(n: usize, value: impl Fn(Spot) -> f64) -> Vec<(Spot, f64)> {
    (0..n * n).map(|i| Spot::new((i % n) as f64, (i / n) as f64)).map(|s| (s, value(s))).collect()
}

/// Slow and plain: the Voronoi cell of `spot` cut out of a large box by half-planes, split among neighbours.
fn by_clipping(places: &[(Spot, f64)], spot: Spot) -> f64 {
    fn cut(poly: &[Spot], near: Spot, far: Spot) -> Vec<Spot> {
        let (middle, normal) = (near.lerp(far, 0.5), far - near);
        let side = |p: Spot| (p - middle).dot(normal);
        let mut out = Vec::new();
        for i in 0..poly.len() {
            let (p, q) = (poly[i], poly[(i + 1) % poly.len()]);
            if side(p) <= 0.0 {
                out.push(p);
            }
            if (side(p) < 0.0) != (side(q) < 0.0) && side(p) != side(q) {
                out.push(p.lerp(q, side(p) / (side(p) - side(q))));
            }
        }
        out
    }
    fn area(poly: &[Spot]) -> f64 {
        (0..poly.len()).map(|i| poly[i].cross(poly[(i + 1) % poly.len()])).sum::<f64>() * 0.5
    }
    let box_m = 1e4;
    let mut cell = vec![
        Spot::new(-box_m, -box_m),
        Spot::new(box_m, -box_m),
        Spot::new(box_m, box_m),
        Spot::new(-box_m, box_m),
    ];
    for (place, _) in places {
        cell = cut(&cell, spot, *place);
    }
    let (mut sum, mut whole) = (0.0, 0.0);
    for (i, (place, value)) in places.iter().enumerate() {
        let mut part = cell.clone();
        for (j, (other, _)) in places.iter().enumerate() {
            if i != j && !part.is_empty() {
                part = cut(&part, *place, *other);
            }
        }
        let share = area(&part);
        sum += share * value;
        whole += share;
    }
    sum / whole
}

// shows: DE-2
#[test]
fn agrees_with_voronoi_cells_cut_by_half_planes() {
    let places: Vec<(Spot, f64)> = (0..40)
        .map(|i| {
            let t = i as f64;
            (
                Spot::new((t * 7.31).rem_euclid(20.0), (t * 3.77 + t * t * 0.13).rem_euclid(20.0)),
                (t * 0.7).sin(),
            )
        })
        .collect();
    let surface = Surface::through(&places);
    for i in 0..200 {
        let spot =
            Spot::new(5.0 + (i as f64 * 1.37).rem_euclid(10.0), 5.0 + (i as f64 * 2.11).rem_euclid(10.0));
        let (ours, slow) = (surface.at(spot).unwrap(), by_clipping(&places, spot));
        // The clipping box is finite and its areas are 1e4 m wide: eight digits remain.
        assert!((ours - slow).abs() < 1e-8, "{spot:?}: {ours} against {slow}");
    }
}

// shows: DE-1
#[test]
fn a_measured_place_keeps_its_value_and_an_edge_is_straight() {
    let surface = Surface::through(&square(4, |s| s.east * s.east));
    assert_eq!(surface.at(Spot::new(2.0, 1.0)), Some(4.0));
    let edge = surface.at(Spot::new(2.5, 0.0)).unwrap();
    assert!((edge - 6.5).abs() < 1e-9, "on the hull between 4 and 9: {edge}");
    assert_eq!(surface.at(Spot::new(3.5, 1.0)), None);
    assert_eq!(surface.at(Spot::new(f64::NAN, 1.0)), None);
}

// shows: DE-2
#[test]
fn the_middle_of_a_square_is_the_mean_of_its_corners_though_it_lies_on_an_edge() {
    let surface = Surface::through(&square(6, |s| (s.east * 3.1).sin() + s.north * s.north));
    let at = |e, n| surface.at(Spot::new(e, n)).unwrap();
    for (e, n) in [(0.5, 0.5), (2.5, 3.5), (4.5, 4.5)] {
        let corners =
            at(e - 0.5, n - 0.5) + at(e + 0.5, n - 0.5) + at(e - 0.5, n + 0.5) + at(e + 0.5, n + 0.5);
        assert!((at(e, n) - corners / 4.0).abs() < 1e-12, "{e} {n}");
    }
}

#[test]
fn too_few_or_collinear_places_have_no_inside() {
    for places in [
        vec![],
        vec![(Spot::new(1.0, 1.0), 2.0)],
        vec![(Spot::new(1.0, 1.0), 2.0), (Spot::new(2.0, 5.0), 3.0)],
        (0..9).map(|i| (Spot::new(i as f64, 2.0 * i as f64), 1.0)).collect(),
        vec![(Spot::new(f64::NAN, 0.0), 1.0), (Spot::new(0.0, f64::INFINITY), 1.0)],
    ] {
        let surface = Surface::through(&places);
        assert!(!surface.has_inside(), "{places:?}");
        assert_eq!(surface.at(Spot::new(1.0, 1.0)), None);
    }
}

#[test]
fn one_place_measured_twice_takes_the_mean_and_says_so() {
    let mut places = square(3, |_| 1.0);
    places.push((Spot::new(1.0, 1.0), 2.0));
    let surface = Surface::through(&places);
    assert_eq!(surface.merged(), (1, 1.0));
    assert_eq!(surface.at(Spot::new(1.0, 1.0)), Some(1.5));
}

#[test]
fn a_ring_of_a_thousand_places_gives_their_mean_in_the_middle() {
    let places: Vec<(Spot, f64)> = (0..1000)
        .map(|i| {
            let turn = i as f64 * std::f64::consts::TAU / 1000.0;
            (Spot::new(50.0 * turn.cos(), 50.0 * turn.sin()), if i % 2 == 0 { 1.0 } else { 3.0 })
        })
        .collect();
    let middle = Surface::through(&places).at(Spot::new(0.0, 0.0)).unwrap();
    // Cocircular to rounding only: any of the equal triangulations may answer, but not outside its values.
    assert!((1.0..=3.0).contains(&middle) && (middle - 2.0).abs() < 0.05, "{middle}");
}

#[test]
fn the_grid_gives_the_same_bits_as_single_places_on_any_number_of_threads() {
    let places: Vec<(Spot, f64)> = (0..300)
        .map(|i| {
            let t = i as f64;
            (Spot::new((t * 17.31).rem_euclid(61.0), (t * 9.77).rem_euclid(43.0)), (t * 0.37).cos())
        })
        .collect();
    let surface = Surface::through(&places);
    let grid = Grid { corner: Spot::new(-3.0, -3.0), cell_m: 0.7, cols: 97, rows: 71 };
    let run = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| surface.on_grid(&grid, |_| true)).iter().map(|v| v.to_bits()).collect::<Vec<_>>()
    };
    let one = run(1);
    assert_eq!(one, run(2));
    assert_eq!(one, run(5));
    assert!(one.iter().any(|&bits| f64::from_bits(bits).is_nan()));
    for (cell, bits) in one.iter().enumerate() {
        let value = f64::from_bits(*bits);
        match surface.at(grid.centre(cell)) {
            Some(single) => assert!((single - value).abs() < 1e-9, "{cell}"),
            None => assert!(value.is_nan(), "{cell}"),
        }
    }
}

/// The grid, evaluated edge by edge, against each place for itself, evaluated by going round its ring.
fn check_grid(name: &str, places: &[(Spot, f64)], grid: &Grid) {
    let surface = Surface::through(places);
    let slack = 1e-9 * places.iter().map(|(_, value)| value.abs()).fold(1.0, f64::max);
    let mut inside = 0;
    for (cell, value) in surface.on_grid(grid, |_| true).into_iter().enumerate() {
        match surface.at(grid.centre(cell)) {
            Some(single) => {
                assert!((single - value).abs() < slack, "{name}, cell {cell}: {value} against {single}")
            }
            None => assert!(value.is_nan(), "{name}, cell {cell} outside: {value}"),
        }
        inside += usize::from(value.is_finite());
    }
    assert!(inside > 0, "{name}: no cell inside");
}

// shows: DE-2
#[test]
fn rows_of_a_grid_agree_with_single_places_where_places_are_laid_out_awkwardly() {
    let value = |s: Spot| (0.3 * s.east).sin() + 0.05 * s.north;
    let valued =
        |spots: Vec<Spot>| -> Vec<(Spot, f64)> { spots.into_iter().map(|s| (s, value(s))).collect() };
    let grid = |corner: f64, cell_m: f64, side: usize| Grid {
        corner: Spot::new(corner, corner),
        cell_m,
        cols: side,
        rows: side + 3,
    };
    // All places on circles with others, middles of cells on places, on edges and on the hull.
    check_grid("lattice, half a cell off", &square(9, value), &grid(-1.0, 0.5, 21));
    check_grid("lattice, middles on places", &square(9, value), &grid(-1.5, 1.0, 12));
    check_grid("lattice, quarter cells", &square(5, value), &grid(-0.125, 0.25, 18));
    // Dense along lines far apart, as a boat leaves them: long thin triangles between.
    let tracks = (0..400).map(|i| Spot::new(0.37 * f64::from(i % 100), 13.0 * f64::from(i / 100)));
    check_grid("tracks", &valued(tracks.collect()), &grid(-2.0, 0.83, 50));
    // A shore of many places round few soundings; a hull of nearly straight lines.
    let shore = (0..300).map(|i| {
        let turn = f64::from(i) * std::f64::consts::TAU / 300.0;
        Spot::new(20.0 + 18.0 * turn.cos(), 20.0 + 18.0 * turn.sin() + 1e-7 * (9.0 * turn).sin())
    });
    check_grid("shore", &valued(shore.chain([Spot::new(19.3, 22.1)]).collect()), &grid(0.0, 0.71, 56));
    // Clusters a millimetre wide.
    let clusters = (0..90).map(|i| {
        let (t, near) = (f64::from(i / 3), 2e-3 * f64::from(i % 3));
        Spot::new(
            (t * 7.31).rem_euclid(30.0) + near,
            (t * 3.77 + t * t * 0.13).rem_euclid(30.0) - near * near,
        )
    });
    check_grid("clusters", &valued(clusters.collect()), &grid(-1.0, 0.61, 52));
    let three = vec![Spot::new(0.5, 0.5), Spot::new(9.5, 0.5), Spot::new(0.5, 9.5)];
    check_grid("one triangle with its hull on middles", &valued(three), &grid(0.0, 1.0, 10));
}

#[test]
fn only_wanted_cells_are_filled() {
    let surface = Surface::through(&square(9, |s| s.east));
    let grid = Grid { corner: Spot::new(-1.0, -1.0), cell_m: 0.4, cols: 26, rows: 25 };
    let all = surface.on_grid(&grid, |_| true);
    let some = surface.on_grid(&grid, |cell| cell % 7 == 3);
    for (cell, (all, some)) in all.iter().zip(&some).enumerate() {
        assert!(if cell % 7 == 3 { all.to_bits() == some.to_bits() } else { some.is_nan() }, "{cell}");
    }
}

#[test]
fn rows_have_the_same_bits_with_and_without_wide_vectors() {
    let places: Vec<(Spot, f64)> = (0..200)
        .map(f64::from)
        .map(|t| {
            (Spot::new((t * 7.31).rem_euclid(40.0), (t * 3.77 + t * t * 0.13).rem_euclid(30.0)), t.sin())
        })
        .collect();
    let surface = Surface::through(&places);
    let grid = Grid { corner: Spot::new(-1.0, -1.0), cell_m: 0.5, cols: 84, rows: 64 };
    let rows = Rows::new(&surface, &grid, &|_| true);
    let (mut plain, mut wide) = (Room::default(), Room::default());
    for block in 0..grid.rows / BLOCK_ROWS {
        rows.add(block, &mut plain);
        measure::fastmath::wide(
            #[inline(always)]
            || rows.add(block, &mut wide),
        );
        let bits = |room: &Room| room.weight.iter().chain(&room.sum).map(|v| v.to_bits()).collect::<Vec<_>>();
        assert_eq!(bits(&plain), bits(&wide));
        assert!(plain.weight.iter().any(|&weight| weight > 0.0));
    }
}

fn scattered() -> impl Strategy<Value = Vec<(f64, f64, f64)>> {
    prop::collection::vec((-100.0..100.0f64, -100.0..100.0f64, -5.0..20.0f64), 3..80)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    // shows: DE-1
    #[test]
    fn a_plane_is_reproduced_and_values_stay_among_their_neighbours(
        raw in scattered(), tilt in (-2.0..2.0f64, -2.0..2.0f64, -10.0..10.0f64),
    ) {
        let plane = |s: Spot| tilt.0 * s.east + tilt.1 * s.north + tilt.2;
        let flat: Vec<_> = raw.iter().map(|r| Spot::new(r.0, r.1)).map(|s| (s, plane(s))).collect();
        let rough: Vec<_> = raw.iter().map(|r| (Spot::new(r.0, r.1), r.2)).collect();
        let (flat, rough_surface) = (Surface::through(&flat), Surface::through(&rough));
        let (low, high) = raw.iter().fold((f64::MAX, f64::MIN), |(l, h), r| (l.min(r.2), h.max(r.2)));
        let grid = Grid { corner: Spot::new(-105.0, -105.0), cell_m: 7.0, cols: 30, rows: 30 };
        let on_plane = flat.on_grid(&grid, |_| true);
        for (cell, rough) in rough_surface.on_grid(&grid, |_| true).into_iter().enumerate() {
            let want = plane(grid.centre(cell));
            // Thin triangles at the hull have circumcentres 1e5 m away and more: nine digits remain.
            prop_assert!(on_plane[cell].is_nan() || (on_plane[cell] - want).abs() < 1e-6, "{cell}: {} {want}", on_plane[cell]);
            prop_assert!(rough.is_nan() || (low..=high).contains(&rough));
            prop_assert_eq!(rough.is_nan(), on_plane[cell].is_nan());
        }
    }

    #[test]
    fn a_place_that_lies_on_the_surface_already_leaves_it_unchanged_there(raw in scattered(), at in (-60.0..60.0f64, -60.0..60.0f64)) {
        let mut places: Vec<_> = raw.iter().map(|r| (Spot::new(r.0, r.1), r.2)).collect();
        let spot = Spot::new(at.0, at.1);
        if let Some(value) = Surface::through(&places).at(spot) {
            places.push((spot, value));
            let again = Surface::through(&places).at(spot).unwrap();
            prop_assert!((again - value).abs() < 1e-9);
        }
    }
}
