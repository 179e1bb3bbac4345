//! Lines with no more corners than they need.

use measure::Spot;

/// A line with corners left out that lie within `slack_m` of the line between those kept (Douglas and Peucker).
pub(super) fn simplified(line: &[Spot], slack_m: f64) -> Vec<Spot> {
    if line.len() < 3 {
        return line.to_vec();
    }
    let mut keep = vec![false; line.len()];
    (keep[0], keep[line.len() - 1]) = (true, true);
    let mut open = vec![(0, line.len() - 1)];
    while let Some((from, to)) = open.pop() {
        let off = |k: usize| {
            let (a, b) = (line[from], line[to]);
            let along = b - a;
            let share = ((line[k] - a).dot(along) / along.dot(along).max(1e-12)).clamp(0.0, 1.0);
            line[k].distance(a.lerp(b, share))
        };
        let Some(far) = (from + 1..to).max_by(|&a, &b| off(a).total_cmp(&off(b))) else { continue };
        if off(far) > slack_m {
            keep[far] = true;
            open.push((from, far));
            open.push((far, to));
        }
    }
    line.iter().zip(keep).filter(|(_, keep)| *keep).map(|(spot, _)| *spot).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn corners_stay_and_straight_places_go() {
        let line: Vec<Spot> =
            (0..=20).map(|k| Spot::new(f64::from(k.min(10)), f64::from((k - 10).max(0)))).collect();
        let short = simplified(&line, 0.1);
        assert_eq!(short, [Spot::new(0.0, 0.0), Spot::new(10.0, 0.0), Spot::new(10.0, 10.0)]);
    }
}
