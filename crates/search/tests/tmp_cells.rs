//! tmp
mod common;
use common::*;
use search::plan::{Request, check::check, plan};
fn cpu_s() -> f64 {
    let Ok(tasks) = std::fs::read_dir("/proc/self/task") else { return f64::NAN };
    tasks.flatten().filter_map(|task| std::fs::read_to_string(task.path().join("schedstat")).ok())
        .filter_map(|text| text.split_whitespace().next()?.parse::<f64>().ok()).sum::<f64>() * 1e-9
}
#[test]
fn tmp() {
    for people in [3,5,8,11] {
        let world = beach(people, 200_000);
        for effort in [std::env::var("EFF").map_or(1, |s| s.parse().unwrap())] {
            let request = Request { effort, ..world.request() };
            let a = cpu_s();
            let made = (0..std::env::var("REP").map_or(1, |s| s.parse().unwrap())).map(|_| plan(&request)).last().unwrap();
            let b = cpu_s();
            let review = check(&made, &request);
            println!("{people:2} effort {effort:6}: {:.0} ms CPU, value {:.5} particles {:.5} ratio {:.4} price {:.5}", 1e3*(b-a), made.value, review.value, made.value/review.value, made.price);
        }
    }
}
