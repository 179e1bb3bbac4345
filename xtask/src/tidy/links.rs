//! Links between the documents lead somewhere.

use super::Found;
use super::source::Tree;
use crate::shell;
use std::path::Path;

/// Follows every relative link of every Markdown file.
pub fn check(tree: &Tree, found: &mut Found) {
    for (path, text) in tree.files.iter().filter(|(path, _)| path.ends_with(".md")) {
        let folder = Path::new(path).parent().unwrap_or(Path::new(""));
        for (number, line) in text.lines().enumerate() {
            for target in targets(line) {
                if !shell::root().join(folder).join(target).exists() {
                    found.fault(
                        path,
                        number + 1,
                        format!("the link to {target} leads nowhere; write that page or take the link out"),
                    );
                }
            }
        }
    }
}

/// Relative targets of the links in a line, without the part after `#`.
fn targets(line: &str) -> Vec<&str> {
    line.split("](")
        .skip(1)
        .filter_map(|rest| rest.split_once(')').map(|(target, _)| target))
        .filter(|target| !target.contains("://") && !target.starts_with("mailto:"))
        .map(|target| target.split('#').next().unwrap_or(""))
        .filter(|target| !target.is_empty())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::targets;

    #[test]
    fn only_links_inside_the_project_are_followed() {
        let line = "see [a](docs/a.md), ![p](p.png), [b](b.md#part), [c](#part) and [d](https://example.org)";
        assert_eq!(targets(line), ["docs/a.md", "p.png", "b.md"]);
    }
}
