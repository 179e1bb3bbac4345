//! The pages of docs/models, inside the program, as HTML for whoever touches a number.

use super::wire::Page;
use pulldown_cmark::{CowStr, Event, Options, Parser, Tag, TagEnd, html};
use rust_embed::RustEmbed;

#[derive(RustEmbed)]
#[folder = "../../docs/models"]
struct Models;

/// The page of a model; none if no model has that name.
///
/// # Inputs
/// - `model`: name of the page, such as `belief`; what stands behind a `#` is left to the reader
pub fn page(model: &str) -> Option<Page> {
    let name = model.split('#').next().unwrap_or_default().trim_end_matches(".md");
    if name.is_empty()
        || !name.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b"-_".contains(&b))
    {
        return None;
    }
    let file = Models::get(&format!("{name}.md"))?;
    let text = String::from_utf8_lossy(&file.data).into_owned();
    let title = text.lines().find_map(|line| line.strip_prefix("# ")).unwrap_or(name).trim().to_string();
    let events = Parser::new_ext(&text, Options::ENABLE_TABLES).map(ours);
    let mut page = String::new();
    html::push_html(&mut page, events);
    Some(Page { title, html: page })
}

/// Links to other pages become links inside the app; raw HTML becomes text.
fn ours(event: Event) -> Event {
    match event {
        Event::Html(text) | Event::InlineHtml(text) => Event::Text(text),
        Event::Start(Tag::Link { dest_url, .. }) => {
            let target = match dest_url.split('#').next().and_then(|path| path.strip_suffix(".md")) {
                Some(model) if !model.contains('/') => format!("#explain/{model}"),
                _ if dest_url.starts_with("https://") => dest_url.to_string(),
                _ => String::new(),
            };
            let escaped = crate::picture::escape(&target);
            let tag = if target.is_empty() {
                "<a>".into()
            } else {
                format!("<a href=\"{escaped}\" rel=\"noreferrer\">")
            };
            Event::InlineHtml(CowStr::from(tag))
        }
        Event::End(TagEnd::Link) => Event::InlineHtml(CowStr::from("</a>")),
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_model_has_its_page_and_no_name_leads_elsewhere() {
        let mut pages = 0;
        for name in Models::iter().filter(|name| name.ends_with(".md") && *name != "README.md") {
            let page = page(name.trim_end_matches(".md")).unwrap_or_else(|| panic!("{name}"));
            assert!(
                !page.title.is_empty() && page.html.contains("<h1>") && !page.html.contains("<script"),
                "{name}"
            );
            pages += 1;
        }
        assert!(pages >= 10, "{pages}");
        assert!(page("belief#B4").is_some());
        for odd in ["", "nothing", "../problems", "README", "a/b", "belief\0"] {
            assert!(page(odd).is_none(), "{odd}");
        }
    }
}
