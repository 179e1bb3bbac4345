//! Searcher paths by quality and time: ours beside the exact and the greedy programs, for docs/models/plan.md.

use super::yardsticks::Record;
use crate::shell;
use std::fs;

/// Where the table begins and ends in the page.
const BEGIN: &str = "<!-- written by cargo xtask bench p6 --write -->\n";
const END: &str = "<!-- end -->";

/// Variant and words of each line.
const LINES: [(&str, &str); 5] = [
    ("exact", "ours, until proven best"),
    ("soon", "ours, at most 100,000 moves, no proof asked"),
    ("look1", "best next look (greedy)"),
    ("look4", "best four steps, then one of them"),
    ("bnb", "exact program, branch and bound"),
];

/// The table: value as a share of the exact one, and seconds, over the same instances.
pub fn markdown(ours: &[Record], theirs: &[Record]) -> Result<String, String> {
    let all = || ours.iter().chain(theirs);
    let of = |variant: &str| {
        all().find(|record| record.variant == variant).ok_or(format!("no program printed {variant}"))
    };
    let exact = of("bnb")?;
    let mut text = String::from(
        "\n| program | mean value / exact | worst | seconds on a core, all together |\n|---|---|---|---|\n",
    );
    let instances = exact.params["instances"].as_u64().unwrap_or(0);
    for (variant, words) in LINES {
        let record = of(variant)?;
        let share = |(id, line): (&String, &serde_json::Value)| {
            Some(record.result[id]["value"].as_f64()? / line["value"].as_f64()?)
        };
        let each = exact.result.as_object().ok_or("bnb printed no object")?;
        let shares: Vec<f64> = each.iter().filter_map(share).collect();
        if shares.len() as u64 != instances {
            return Err(format!("{variant} answered {} of {instances} instances", shares.len()));
        }
        let (sum, worst) = shares.iter().fold((0.0, f64::INFINITY), |(s, w), x| (s + x, x.min(w)));
        let seconds = record.cpu_median().or(record.median()).ok_or(format!("{variant} told no time"))?;
        text += &format!("| {words} | {:.4} | {worst:.4} | {seconds:.4} |\n", sum / shares.len() as f64);
    }
    Ok(text)
}

/// Puts the table into docs/models/plan.md, between its marks.
pub fn write(table: &str) -> Result<(), String> {
    let path = shell::root().join("docs/models/plan.md");
    let told = |e: std::io::Error| format!("{}: {e}", path.display());
    let page = fs::read_to_string(&path).map_err(told)?;
    fs::write(&path, put(&page, table)?).map_err(told)?;
    println!("written: docs/models/plan.md");
    Ok(())
}

fn put(page: &str, table: &str) -> Result<String, String> {
    let (head, rest) =
        page.split_once(BEGIN).ok_or(format!("docs/models/plan.md has no line {}", BEGIN.trim()))?;
    let (_, tail) = rest.split_once(END).ok_or(format!("docs/models/plan.md has no line {END}"))?;
    Ok(format!("{head}{BEGIN}\n{}\n\n{END}{tail}", table.trim()))
}

#[cfg(test)]
mod tests {
    use super::super::yardsticks::pool;
    use super::*;

    fn line(variant: &str, values: [f64; 2]) -> String {
        let [a, b] = values;
        format!(
            r#"{{"workload":"P6_plan","variant":"{variant}","params":{{"instances":2}},"times_s":[0.5],"cpu_median_s":0.25,"result":{{"a":{{"value":{a}}},"b":{{"value":{b}}},"sum":1}}}}"#
        )
    }

    #[test]
    fn values_are_told_as_shares_of_the_exact_ones_and_missing_programs_named() {
        let (mut ours, mut theirs) = (Vec::new(), Vec::new());
        pool(&[line("exact", [0.5, 0.2]), line("soon", [0.5, 0.19])].join("\n"), &mut ours).unwrap();
        let peers = [line("look1", [0.25, 0.2]), line("look4", [0.4, 0.2]), line("bnb", [0.5, 0.2])];
        pool(&peers.join("\n"), &mut theirs).unwrap();
        let table = markdown(&ours, &theirs).unwrap();
        assert!(table.contains("| best next look (greedy) | 0.7500 | 0.5000 | 0.2500 |"), "{table}");
        assert!(table.contains("no proof asked | 0.9750 | 0.9500 |"), "{table}");
        assert!(markdown(&ours, &theirs[..2]).unwrap_err().contains("bnb"));
        assert!(markdown(&[], &theirs).unwrap_err().contains("exact"));
    }

    #[test]
    fn the_table_goes_between_its_marks_and_nothing_else_changes() {
        let page = format!("before\n{BEGIN}old\n{END}\nafter\n");
        let now = put(&page, "| new |\n").unwrap();
        assert_eq!(now, format!("before\n{BEGIN}\n| new |\n\n{END}\nafter\n"));
        assert!(put("no marks", "").is_err());
    }
}
