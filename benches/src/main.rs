//! Our side of the yardsticks in benches/peers: the product's own code on the peers' inputs.
//!
//! `yardsticks NAME [threads] [repeats]` prints one JSON line per variant with the peers' keys, so that
//! `cargo xtask bench` can put both sides of one run into one table.

mod belief;
mod desk;
mod p1;
mod p2;
mod p3;
mod p4;
mod p5;
mod p6;
mod p7;
mod phones;
mod plan;
mod second;
mod touches;
mod waters;

use std::time::Instant;

fn main() {
    let mut arguments = std::env::args().skip(1);
    let name = arguments.next().unwrap_or_default();
    if name == "desk" {
        let program = arguments.next().unwrap_or_default();
        return desk::run(&program, arguments.next().and_then(|text| text.parse().ok()).unwrap_or(60));
    }
    if name == "touches" {
        let (program, site) = (arguments.next().unwrap_or_default(), arguments.next().unwrap_or_default());
        let mut number = |usual| arguments.next().and_then(|text| text.parse().ok()).unwrap_or(usual);
        let (alarms, cards_s) = (number(8), number(120));
        return touches::run(&program, &site, alarms, std::time::Duration::from_secs(cards_s as u64));
    }
    let threads: usize = arguments.next().and_then(|text| text.parse().ok()).unwrap_or(1);
    let repeats: usize = arguments.next().and_then(|text| text.parse().ok()).unwrap_or(7);
    match name.as_str() {
        "belief" => belief::run(threads, repeats),
        "p1" => p1::run(threads, repeats),
        "p2" => p2::run(threads, repeats),
        "p3" => p3::run(threads, repeats),
        "p4" => p4::run(threads, repeats),
        "p5" => p5::run(threads, repeats),
        "p5sun" => p5::run_sun(repeats),
        "p6" => p6::run(threads, repeats),
        "p7" => p7::run(threads, repeats),
        "plan" => plan::run(threads, repeats),
        "first" => second::run_first(threads, repeats),
        "second" => second::run(threads, repeats),
        other => {
            eprintln!(
                "no yardstick is called {other:?}; there are belief, desk, first, p1, p2, p3, p4, p5, p5sun, p6, p7, plan, second, touches"
            );
            std::process::exit(2);
        }
    }
}

/// Times `work` once to warm up and `repeats` times, then prints one JSON line.
pub fn report<T>(
    workload: &str,
    variant: &str,
    params: serde_json::Value,
    threads: usize,
    repeats: usize,
    mut work: impl FnMut() -> T,
    result: impl Fn(&T) -> serde_json::Value,
) {
    let mut last = std::hint::black_box(work());
    let mut times = Vec::with_capacity(repeats);
    let mut cpu = Vec::with_capacity(repeats);
    for _ in 0..repeats.max(3) {
        let (begin, before) = (Instant::now(), cpu_s());
        last = std::hint::black_box(work());
        times.push(begin.elapsed().as_secs_f64());
        cpu.push(cpu_s() - before);
    }
    times.sort_by(f64::total_cmp);
    cpu.sort_by(f64::total_cmp);
    let line = serde_json::json!({
        "workload": workload, "variant": variant, "params": params, "threads": threads,
        "median_s": times[times.len() / 2], "min_s": times[0], "cpu_median_s": cpu[cpu.len() / 2], "cpu_min_s": cpu[0], "times_s": times, "result": result(&last),
    });
    println!("{line}");
}

/// Seconds all threads of this process have run on a core so far, by the clock the peers use; zero where there is none.
///
/// Neighbours on a shared machine stretch wall times; this they stretch much less.
pub fn cpu_s() -> f64 {
    #[cfg(unix)]
    {
        let mut time = libc::timespec { tv_sec: 0, tv_nsec: 0 };
        // SAFETY: the call writes one timespec, to a place that holds one.
        if unsafe { libc::clock_gettime(libc::CLOCK_PROCESS_CPUTIME_ID, &mut time) } == 0 {
            return time.tv_sec as f64 + time.tv_nsec as f64 * 1e-9;
        }
    }
    0.0
}
