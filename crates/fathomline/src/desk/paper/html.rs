//! The sheet as a page: reads on any screen, prints on one A4 in black.

use super::drawing::Drawing;
use super::map;
use super::sheet::{ROWS_MOST, gaps, head, rows, short_log, shortened};
use super::svg::svg;
use crate::picture::escape;
use incident::Handover;
use std::fmt::Write;
use water::Site;

const STYLE: &str = "
@page { size: portrait; margin: 10mm 12mm; }
* { box-sizing: border-box; }
body { font: 500 15px/1.35 'Atkinson Hyperlegible Next', 'Atkinson Hyperlegible', system-ui, sans-serif; color: #000; background: #fff; margin: 0 auto; padding: 12px; max-width: 190mm;
  font-variant-numeric: tabular-nums; }
h1 { font-size: 28px; line-height: 1.1; margin: 0; } h2 { font-size: 16px; margin: 10px 0 2px; } p { margin: 0 0 3px; }
header { display: flex; flex-wrap: wrap; justify-content: space-between; gap: 0 16px; border-bottom: 4px solid #000; padding-bottom: 4px; }
.clock { font-size: 28px; font-weight: 800; line-height: 1.1; text-align: right; }
.drill { border: 3px solid #000; padding: 2px 8px; font-weight: 800; text-align: center; margin: 6px 0; }
.facts { display: grid; grid-template-columns: repeat(auto-fit, minmax(150px, 1fr)); gap: 0 16px; }
.two { display: grid; grid-template-columns: repeat(auto-fit, minmax(260px, 1fr)); gap: 0 24px; }
svg { width: 100%; height: auto; display: block; margin: 8px 0 4px; font-family: inherit; }
.key { font-size: 13px; } table { border-collapse: collapse; width: 100%; font-size: 14px; } th { text-align: left; border-bottom: 2px solid #000; } td { border-bottom: 1px solid #000; vertical-align: top; }
th, td { padding: 1px 8px 1px 0; } .n { text-align: right; } ol, ul { margin: 0; padding-left: 1.3em; }
footer { border-top: 2px solid #000; margin-top: 8px; padding-top: 4px; font-size: 13px; } .code { font-weight: 800; }
@media screen and (max-width: 640px) { thead { display: none; } table, tbody, tr, td { display: block; } tr { padding: 4pt 0; } td, td.n { border: 0; text-align: left; } td:nth-child(6)::before { content: \"finds, a pass: \"; } td:nth-child(7)::before { content: \"holds now: \"; } }
@media print { html { height: 100%; } body { padding: 0; max-width: none; height: 99.5vh; display: flex; flex-direction: column; font-size: 8.4pt; line-height: 1.22; }
  h1, .clock { font-size: 19pt; } h2 { font-size: 9.4pt; margin: 3pt 0 1pt; } table, .key, footer { font-size: 7.8pt; } p { margin: 0 0 1pt; }
  svg { flex: 1 1 0; min-height: 34mm; max-height: 92mm; margin: 3pt 0 1pt; } body > * { flex: none; } body > svg { flex: 1 1 0; }
  .facts { grid-template-columns: repeat(4, 1fr); } .two { grid-template-columns: 1fr 1fr; } .drill { margin: 2pt 0; } footer { margin-top: 3pt; padding-top: 2pt; } .cautions { display: none; } .log { columns: 2; column-gap: 24px; } }";

/// The whole page.
pub fn html(sheet: &Handover, site: &Site, drawing: &Drawing) -> String {
    let head = head(sheet, site);
    let mut out = format!(
        "<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width\"><title>Handover, {}</title>\
         <style>{STYLE}</style></head><body><header><div><h1>{}</h1><p>{}</p></div><div><p class=\"clock\">{}</p><p>{}</p></div></header>",
        escape(&sheet.site),
        escape(&head.title),
        escape(&head.place),
        escape(&head.clock),
        escape(&head.since)
    );
    if sheet.practice {
        out += "<p class=\"drill\">PRACTICE: nobody is missing</p>";
    }
    out += "<div class=\"facts\">";
    for (title, lines) in &head.facts {
        let _ = write!(out, "<section><h2>{}</h2>{}</section>", escape(title), paragraphs(lines));
    }
    out += "</div>";
    out += &svg(drawing, map::SIZE, &format!("Map: {}", sheet.sentence));
    out += "<p class=\"key\">hatched: searched · thick box: under way · dashed box: planned next · solid, dashed, dotted outline: holds 50, 80, 95 % · ring with ticks: last seen</p>";
    out += &table(sheet);
    let _ =
        write!(out, "<div class=\"two\"><section><h2>Where they may be now</h2>{}", paragraphs(&head.shares));
    let _ = write!(
        out,
        "{}<h2>People</h2>{}</section>",
        paragraphs(&[sheet.ashore.join("; ")]),
        paragraphs(&head.people)
    );
    let _ =
        write!(out, "<section><h2>Next, if nothing is found</h2>{}", list(&shortened(&sheet.next, 6), "ol"));
    let _ = write!(out, "<h2>Not covered</h2>{}</section></div>", list(&shortened(&gaps(sheet), 5), "ul"));
    let _ = write!(
        out,
        "<h2>Log, last entries of {}</h2><div class=\"log\">{}</div>",
        sheet.seq,
        list(&short_log(sheet, 6), "ul")
    );
    let _ = write!(
        out,
        "<footer><p>{}</p><p>Command passes at ________ from ________________ to ________________. Searchers counted out at ________. Log code <span class=\"code\">{}</span></p><div class=\"cautions\">{}</div>{}</footer></body></html>",
        escape(&head.command),
        escape(&sheet.head_code),
        paragraphs(&head.small[..1]),
        paragraphs(&head.small[1..])
    );
    out
}

fn paragraphs(lines: &[String]) -> String {
    lines.iter().filter(|line| !line.is_empty()).map(|line| format!("<p>{}</p>", escape(line))).collect()
}

fn list(lines: &[String], kind: &str) -> String {
    if lines.is_empty() {
        return "<p>nothing listed</p>".into();
    }
    let items: String = lines.iter().map(|line| format!("<li>{}</li>", escape(line))).collect();
    format!("<{kind}>{items}</{kind}>")
}

fn table(sheet: &Handover) -> String {
    let mut out = String::from(
        "<h2>Searched and left</h2><table><thead><tr><th>Lane</th><th>Line</th><th>Where</th><th>State</th><th>At</th><th class=\"n\">Finds, a pass</th><th class=\"n\">Holds now</th></tr></thead><tbody>",
    );
    let all = rows(sheet);
    for row in all.iter().take(ROWS_MOST) {
        out += "<tr>";
        for (k, cell) in row.iter().enumerate() {
            let _ = write!(out, "<td{}>{}</td>", if k >= 5 { " class=\"n\"" } else { "" }, escape(cell));
        }
        out += "</tr>";
    }
    let more = all.len().saturating_sub(ROWS_MOST);
    out += "</tbody></table>";
    if more > 0 { out + &format!("<p>and {more} more lanes: see the screen or the log</p>") } else { out }
}
