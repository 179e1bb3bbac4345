//! What bounds each workload, and how far from that bound our side is.

use super::table::Row;
use super::yardsticks::Record;

/// Particles of P1 and P2.
const PARTICLES: f64 = 1e6;
/// Lane passes of P2.
const PASSES: f64 = 200.0;
/// Bytes of one particle in P2: east, north, weight.
const BYTES: f64 = 24.0;
/// Particles that one pass of P2 must look at when the tiles under it are known; the mean over the 200 lanes.
const VISITED: f64 = 35_255.0;
/// Minutes of P5's season, and its pairs of cell and daylight minute.
const MINUTES: f64 = 172_800.0;
const PAIRS: f64 = 260_005_000.0;
/// Cells of P3 and P7.
const CELLS: f64 = 250_000.0;

/// Lines under the table.
pub fn markdown(rows: &[Row], bandwidth: &[Record]) -> String {
    let fastest = |small: bool| {
        let of_size =
            |r: &&Record| (r.params["n"].as_f64().unwrap_or(0.0) < 1e7) == small && r.variant == "lanes";
        bandwidth
            .iter()
            .filter(of_size)
            .filter_map(|r| r.result["best_GB_per_s"].as_f64())
            .fold(0.0, f64::max)
    };
    let (cache, memory) = (fastest(true), fastest(false));
    let mut text = format!(
        "\nReading three arrays, this machine moves {cache:.1} GB/s at 24 MB and {memory:.1} GB/s at 768 MB (best runs of membw.py).\n\n"
    );
    let mut told: Vec<&str> = Vec::new();
    for row in rows {
        let Some(seconds) = row.ours_s() else { continue };
        let line = bound(row.job(), seconds, cache);
        if told.contains(&row.job()) || line.is_empty() {
            continue;
        }
        told.push(row.job());
        text += &format!("- {}: {line}\n", row.job());
    }
    text
}

/// What a job costs each of its parts, and its floor where bytes give one.
fn bound(job: &str, seconds: f64, cache_gbps: f64) -> String {
    let each = |count: f64| seconds / count * 1e9;
    let floor = |bytes: f64| bytes / (cache_gbps.max(1e-9) * 1e9);
    match job.get(..2) {
        Some("P1") if job.contains("marching") => {
            format!(
                "{:.0} ns a particle, {:.1} ns for each of its 20 steps; bound by arithmetic, the depth grid (2 MB) stays in the cache",
                each(PARTICLES),
                each(PARTICLES * 20.0)
            )
        }
        Some("P1") => format!(
            "{:.0} ns a particle; bound by arithmetic and the scattered counts of the map",
            each(PARTICLES)
        ),
        Some("P2") if job.contains("streaming") => {
            let floor_s = floor(PASSES * PARTICLES * BYTES);
            format!(
                "streaming every particle through every pass takes at least {floor_s:.3} s here; ours is {:.2} of that",
                seconds / floor_s
            )
        }
        Some("P2") => {
            let floor_s = floor(PASSES * VISITED * BYTES);
            format!(
                "visiting only the tiles under each lane takes at least {floor_s:.4} s here, sorting and the map apart; ours with both is {:.1} times that",
                seconds / floor_s
            )
        }
        Some("P3") if job.contains("maps") => {
            // 50 maps of 2 MB are written once; nothing of that stays in a cache.
            format!("{:.1} ns a cell and map; bound by writing 100 MB of maps", each(CELLS * 50.0))
        }
        Some("P3") => format!("{:.1} ns a cell for all 50 levels; bound by ordering the cells", each(CELLS)),
        Some("P5") if job.contains("positions") => {
            format!("{:.0} ns a minute; bound by arithmetic", each(MINUTES))
        }
        Some("P5") => format!(
            "{:.3} ns a pair of cell and minute; most minutes are counted or left out by squares of the sky, unseen",
            each(PAIRS)
        ),
        Some("P7") => format!(
            "{:.0} ns a cell; bound by the walk from triangle to triangle and by arithmetic",
            each(CELLS)
        ),
        _ => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::bound;

    #[test]
    fn floors_come_from_bytes_and_bandwidth() {
        // 200 passes over 24 MB are 4.8 GB: 0.12 s at 40 GB/s.
        assert!(
            bound("P2_bayes_update streaming", 0.06, 40.0).contains("at least 0.120 s here; ours is 0.50")
        );
        assert!(bound("P1_drift_sink marching", 0.2, 40.0).starts_with("200 ns a particle, 10.0 ns"));
        assert!(bound("whatever", 1.0, 40.0).is_empty());
    }
}
