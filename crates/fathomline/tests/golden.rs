//! Texts as they are printed, kept word for word. `cargo xtask bless` accepts what the program says today.

use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// Compares what `arguments` print with tests/golden/NAME.txt, or writes that file where `BLESS` is 1.
fn check(name: &str, arguments: &[&str]) {
    let output = Command::new(env!("CARGO_BIN_EXE_fathomline"))
        .current_dir(root())
        .args(arguments)
        .output()
        .expect("the program runs");
    let said = String::from_utf8(output.stdout).expect("UTF-8");
    assert!(!said.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
    let path = root().join("tests/golden").join(format!("{name}.txt"));
    if std::env::var("BLESS").as_deref() == Ok("1") {
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("tests/golden");
        std::fs::write(&path, said).expect("a golden text");
        return;
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(kept == said, "{} differs; read it, then `cargo xtask bless`. Now:\n{said}", path.display());
}

#[test]
fn golden_water_check_of_lake_227_names_its_strays() {
    check("lake-227-check", &["water", "check", "data/sites/lake-227"]);
}

#[test]
fn golden_water_show_of_kestrel_tarn() {
    check("kestrel-tarn-show", &["water", "show", "data/sites/kestrel-tarn"]);
}
