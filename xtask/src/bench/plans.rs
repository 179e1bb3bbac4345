//! Plans: the first one's time, what a second finds of what a minute finds, what the price of orders costs, and how long a
//! report takes to be answered; several alarms on three waters.

use crate::shell;
use serde_json::Value;

const FIRST_MOST_S: f64 = 0.1;
const MINUTE_LEAST: f64 = 0.985;
const ANSWER_MOST_S: f64 = 1.0;

/// Runs our side and gives a table with the targets met and not met.
pub fn measure(repeats: usize) -> Result<String, String> {
    let mut command = shell::program(&shell::release("yardsticks")?);
    command.args(["second", "1", &repeats.to_string()]);
    let text = shell::output(&mut command)?;
    let rows: Vec<Value> = text
        .lines()
        .filter(|line| line.starts_with('{'))
        .map(|line| serde_json::from_str(line).map_err(|e| format!("not a record: {e}: {line}")))
        .collect::<Result<_, String>>()?;
    if rows.is_empty() {
        return Err(format!("no plan was measured: {text}"));
    }
    Ok(table(&rows))
}

fn table(rows: &[Value]) -> String {
    let number = |row: &Value, path: &str| row.pointer(path).and_then(Value::as_f64).unwrap_or(f64::NAN);
    let mut page = String::from(
        "\nPlans, by seconds on one core (last seen in so much water; orders with the price of orders and without it, by the same effort):\n\n\
         | water | people | depth m | first plan s | a second's value | of a minute's, and less the price | orders (quarter turns) | without the price | simplicity costs | report to orders s: half, most |\n\
         |---|---|---|---|---|---|---|---|---|---|\n",
    );
    for row in rows {
        let at = |path: &str| number(row, path);
        page += &format!(
            "| {} | {} | {:.1} | {:.3} | {:.4} | {:.1} %, {:.1} % | {:.0} ({:.0}) | {:.0} ({:.0}) | {:.1} % | {:.2}, {:.2} |\n",
            row["params"]["water"].as_str().unwrap_or("?"),
            row["params"]["people"],
            at("/params/depth_m"),
            at("/result/first_cpu_s"),
            at("/result/second/value"),
            100.0 * at("/result/second_of_minute"),
            100.0 * at("/result/worth_second_of_minute"),
            at("/result/second/orders"),
            at("/result/second/quarter_turns"),
            at("/result/without_price/orders"),
            at("/result/without_price/quarter_turns"),
            100.0 * at("/result/simplicity_costs"),
            at("/result/answer_median_cpu_s"),
            at("/result/answer_most_cpu_s"),
        );
    }
    let most = |path: &str| rows.iter().map(|row| number(row, path)).fold(f64::NEG_INFINITY, f64::max);
    let least = |path: &str| rows.iter().map(|row| number(row, path)).fold(f64::INFINITY, f64::min);
    let mean = |path: &str| rows.iter().map(|row| number(row, path)).sum::<f64>() / rows.len() as f64;
    let word = |met: bool| if met { "met" } else { "not met" };
    let (first_s, share) = (most("/result/first_cpu_s"), least("/result/second_of_minute"));
    let answer_s = most("/result/answer_most_cpu_s");
    page += &format!(
        "\nFirst plan at most {first_s:.3} s (target {FIRST_MOST_S} s {}); a second finds at least {:.1} % of what a minute finds, {:.1} % in the mean \
         (target {:.1} % {}), and at least {:.1} % less the price of orders, by which plans are compared; a report is answered within {answer_s:.2} s (target {ANSWER_MOST_S:.0} s {}); simplicity costs {:.1} % in the mean.\n",
        word(first_s <= FIRST_MOST_S),
        100.0 * share,
        100.0 * mean("/result/second_of_minute"),
        100.0 * MINUTE_LEAST,
        word(share >= MINUTE_LEAST),
        100.0 * least("/result/worth_second_of_minute"),
        word(answer_s <= ANSWER_MOST_S),
        100.0 * mean("/result/simplicity_costs"),
    );
    page
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn the_worst_alarm_decides() {
        let row = |share: f64, first_s: f64| {
            json!({
                "params": { "water": "w", "people": 5, "depth_m": 1.0 },
                "result": {
                    "first_cpu_s": first_s, "second_of_minute": share, "worth_second_of_minute": share, "simplicity_costs": 0.01,
                    "second": { "value": 0.2, "orders": 9, "quarter_turns": 1 },
                    "without_price": { "orders": 14, "quarter_turns": 4 },
                    "answer_median_cpu_s": 0.2, "answer_most_cpu_s": 0.4
                }
            })
        };
        let page = table(&[row(0.99, 0.05), row(0.98, 0.2)]);
        assert!(page.contains("target 98.5 % not met") && page.contains("target 0.1 s not met"), "{page}");
        assert!(table(&[row(0.99, 0.05)]).contains("target 98.5 % met"));
    }
}
