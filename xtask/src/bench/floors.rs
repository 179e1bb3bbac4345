//! What bounds each workload, and how far from that bound our side is.

use super::table::Row;
use super::yardsticks::Record;

/// Particles of P1 and P2.
const PARTICLES: f64 = 1e6;
/// Lane passes of P2.
const PASSES: f64 = 200.0;
/// Bytes of one particle in P2: east, north, weight.
const BYTES: f64 = 24.0;
/// Of P2 in cells of 4 m, all passes together: particles tested at the edges of lanes, and summed within them.
const TESTED: f64 = 3.37e6;
const SUMMED: f64 = 1.24e6;
/// Bytes of one particle as the order keeps it: weight, where in its cell, and which it was.
const PACKED: f64 = 16.0;
/// Bytes of the key that goes from the first walk of the sort to the second.
const KEY: f64 = 8.0;
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
    let speeds = (fastest(true), fastest(false));
    let (cache, memory) = speeds;
    let mut text = format!(
        "\nReading three arrays, this machine moves {cache:.1} GB/s at 24 MB and {memory:.1} GB/s at 768 MB (best runs of membw.py).\n\n"
    );
    let mut told: Vec<&str> = Vec::new();
    for row in rows {
        let Some(seconds) = row.ours_s() else { continue };
        let line = bound(row.job(), seconds, speeds);
        if told.contains(&row.job()) || line.is_empty() {
            continue;
        }
        told.push(row.job());
        text += &format!("- {}: {line}\n", row.job());
    }
    text
}

/// What a job costs each of its parts, and its floor where bytes give one.
fn bound(job: &str, seconds: f64, (cache_gbps, memory_gbps): (f64, f64)) -> String {
    let each = |count: f64| seconds / count * 1e9;
    let at = |bytes: f64, gbps: f64| bytes / (gbps.max(1e-9) * 1e9);
    let floor = |bytes: f64| at(bytes, cache_gbps);
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
            // Keys are written and read; packed particles fetched and written by the sort, read and written where a pass
            // tests them, read where it sums them, and read once more for the map.
            let bytes =
                PARTICLES * (BYTES + 2.0 * KEY + 2.0 * PACKED + PACKED) + PACKED * (2.0 * TESTED + SUMMED);
            format!(
                "bound by moving memory: sort, passes and map move at least {:.0} MB, {:.4} s from the cache and {:.4} s from memory; ours is {:.1} and {:.1} times that",
                bytes * 1e-6,
                floor(bytes),
                at(bytes, memory_gbps),
                seconds / floor(bytes),
                seconds / at(bytes, memory_gbps)
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
            "{:.0} ns a cell, of which the triangulation takes about a quarter; bound by arithmetic: some nine edges meet a cell, each with about 25 operations and a division",
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
            bound("P2_bayes_update streaming", 0.06, (40.0, 20.0))
                .contains("at least 0.120 s here; ours is 0.50")
        );
        assert!(bound("P1_drift_sink marching", 0.2, (40.0, 20.0)).starts_with("200 ns a particle, 10.0 ns"));
        assert!(bound("whatever", 1.0, (40.0, 20.0)).is_empty());
    }
}
