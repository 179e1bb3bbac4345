//! x
pub fn run(_: &[String]) -> Result<(), String> {
    Ok(())
}
