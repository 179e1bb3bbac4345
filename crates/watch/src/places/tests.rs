use super::*;
use measure::Seed;

fn worth<'a>(benefit: &'a [Vec<f64>], weight: &'a [f64]) -> Worth<'a> {
    Worth { benefit, weight, base: None }
}

/// The best of all choices, by trying every one.
fn tried(worth: &Worth, count: usize) -> f64 {
    fn go(worth: &Worth, from: usize, left: usize, chosen: &mut Vec<usize>) -> f64 {
        if left == 0 {
            return worth.of(chosen);
        }
        let mut best = 0.0f64;
        for j in from..worth.benefit.len() {
            chosen.push(j);
            best = best.max(go(worth, j + 1, left - 1, chosen));
            chosen.pop();
        }
        best
    }
    go(worth, 0, count, &mut Vec::new())
}

// shows: PC-1
#[test]
fn the_choice_is_the_best_of_all_and_the_ceiling_proves_it() {
    for seed in 0..12u64 {
        let mut draw = Seed(seed).stream("places").draws();
        let (all, cells) = (9, 40);
        // Candidates and cells on a line: each is worth less with the distance; some noise breaks the order.
        let benefit: Vec<Vec<f64>> = (0..all)
            .map(|j| {
                (0..cells)
                    .map(|c| {
                        let off = (j as f64 / all as f64 - c as f64 / cells as f64).abs();
                        (1.0 - 2.5 * off + 0.4 * draw.u01()).clamp(0.0, 1.0)
                    })
                    .collect()
            })
            .collect();
        let weight: Vec<f64> = (0..cells).map(|_| draw.u01()).collect();
        let worth = worth(&benefit, &weight);
        for count in 1..5 {
            let choice = best_places(&worth, count);
            let best = tried(&worth, count);
            assert!((choice.value - best).abs() < 1e-9, "seed {seed}, {count}: {} not {best}", choice.value);
            assert!(
                choice.ceiling >= best - 1e-12 && choice.ceiling - best < 1e-6,
                "seed {seed}: {choice:?}"
            );
            assert!((worth.of(&choice.chosen) - choice.value).abs() < 1e-12 && choice.chosen.len() == count);
            assert_eq!(worth.best_move(&choice.chosen), None);
        }
    }
}

// shows: PC-2
#[test]
fn a_poor_layout_has_a_move_that_gains_and_the_gain_is_told() {
    let benefit = vec![vec![1.0, 0.0, 0.0], vec![0.9, 0.1, 0.0], vec![0.0, 0.2, 1.0]];
    let weight = [1.0, 1.0, 2.0];
    let worth = worth(&benefit, &weight);
    let step = worth.best_move(&[0, 1]).unwrap();
    assert_eq!((step.from, step.to), (1, 2));
    assert!((step.value - (1.0 + 0.2 + 2.0) / 4.0).abs() < 1e-12 && step.value > worth.of(&[0, 1]));
}

#[test]
fn what_is_there_already_counts() {
    let benefit = vec![vec![0.8, 0.0], vec![0.0, 0.5]];
    let (weight, base) = ([1.0, 1.0], [0.7, 0.0]);
    let choice = best_places(&Worth { benefit: &benefit, weight: &weight, base: Some(&base) }, 1);
    assert_eq!(choice.chosen, [1]);
    assert!((choice.value - 0.6).abs() < 1e-12);
}

#[test]
fn odd_counts_and_empty_waters_are_answered() {
    let benefit = vec![vec![0.5; 3]; 2];
    let some = [1.0; 3];
    assert_eq!(best_places(&worth(&benefit, &some), 0).chosen, Vec::<usize>::new());
    assert_eq!(best_places(&worth(&benefit, &some), 7).chosen, [0, 1]);
    assert_eq!(best_places(&worth(&[], &some), 3).value, 0.0);
    let none: Vec<Vec<f64>> = vec![vec![]; 3];
    assert_eq!(best_places(&worth(&none, &[]), 2).value, 0.0);
    let nothing = [0.0; 3];
    assert_eq!(best_places(&worth(&benefit, &nothing), 1).value, 0.0);
}
