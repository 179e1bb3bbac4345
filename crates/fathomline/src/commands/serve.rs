//! `fathomline serve`: the desk in the hut, for every phone in its Wi-Fi.

use super::BAD_INPUT;
use crate::desk::{Desk, Opened, Opening, qr_text, tls};
use incident::Effort;
use std::io::Write;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::process::ExitCode;

/// Open the desk: one search, many hands, every screen.
#[derive(clap::Args)]
pub struct Serve {
    /// Data folder: the log of one day; made if it is not there.
    #[arg(long, value_name = "DIR")]
    data: PathBuf,
    /// Site folder; needed when the data folder is new, which keeps a copy.
    #[arg(long, value_name = "DIR")]
    site: Option<PathBuf>,
    /// Day file; without it the site folder's day.toml.
    #[arg(long, value_name = "FILE")]
    day: Option<PathBuf>,
    /// Address and port to listen at; port 0 takes any that is free.
    #[arg(long, value_name = "ADDRESS:PORT", default_value = "0.0.0.0:7316")]
    listen: SocketAddr,
    /// The day's crew word; without it the one kept, or a new one.
    #[arg(long, value_name = "WORD", value_parser = word)]
    word: Option<String>,
    /// Speak TLS: `self` for a certificate of the desk's own, or two PEM files.
    #[arg(long, value_name = "self|CERTIFICATE,KEY", value_parser = tls::read)]
    tls: Option<tls::Certificate>,
    /// Everything is a drill, and every screen says so.
    #[arg(long)]
    practice: bool,
    /// Begin with a practice search under way, for the demo.
    #[arg(long, hide = true)]
    half_way: bool,
    /// Size of the cloud, for tests.
    #[arg(long, hide = true)]
    particles: Option<usize>,
    /// Effort of a plan, for tests.
    #[arg(long, hide = true)]
    effort: Option<u64>,
    /// Most pages of the log, for tests of a full disk.
    #[arg(long, hide = true)]
    pages_most: Option<u32>,
}

impl Serve {
    /// Runs it until it is ended.
    pub fn run(self) -> ExitCode {
        quiet_panics();
        let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build();
        let runtime = match runtime {
            Ok(runtime) => runtime,
            Err(error) => {
                eprintln!("the desk cannot start: {error}");
                return ExitCode::FAILURE;
            }
        };
        let outcome = runtime.block_on(async {
            let (opened, work) = Desk::open(self.opening()).await?;
            // A terminal that is closed does not close the desk.
            let _ = std::io::stdout().write_all(greeting(&opened).as_bytes());
            let _ = std::io::stdout().flush();
            tokio::select! {
                () = work => {}
                _ = tokio::signal::ctrl_c() => {}
            }
            Ok::<(), String>(())
        });
        // Nothing is lost by not waiting: what was acknowledged is on disk.
        runtime.shutdown_background();
        match outcome {
            Ok(()) => ExitCode::SUCCESS,
            Err(what) => {
                eprintln!("{what}");
                ExitCode::from(BAD_INPUT)
            }
        }
    }

    fn opening(self) -> Opening {
        let usual = Effort::default();
        Opening {
            data: self.data,
            site: self.site,
            day: self.day,
            listen: self.listen,
            word: self.word,
            tls: self.tls,
            practice: self.practice,
            effort: Effort {
                particles: self.particles.unwrap_or(usual.particles),
                plans: self.effort.unwrap_or(usual.plans),
            },
            half_way: self.half_way,
            pages_most: self.pages_most,
        }
    }
}

/// What is printed at the start: address, word, code.
fn greeting(opened: &Opened) -> String {
    let mut text = format!("The desk of {} is open.\n\n", opened.site);
    for (k, address) in opened.addresses.iter().enumerate() {
        text += &format!("  {}{address}\n", if k == 0 { "phones go to  " } else { "or            " });
    }
    match &opened.word {
        Some(word) => text += &format!("  crew word     {word}\n\n"),
        None => text += "  crew word     as before; --word WORD sets another\n\n",
    }
    text += &qr_text(&opened.join);
    text += &format!("\n  log           {} entries, head code {}\n", opened.seq, opened.head_code);
    for note in &opened.notes {
        text += &format!("  to know       {note}\n");
    }
    text + "\nPlanning aid only: the local emergency action plan and whoever is in charge come first.\n"
}

/// A crew word that keeps guessers out.
fn word(text: &str) -> Result<String, String> {
    let signs = text.chars().filter(|c| c.is_alphanumeric()).count();
    if (6..=40).contains(&signs) {
        Ok(text.to_string())
    } else {
        Err(format!("a crew word needs 6 to 40 letters and digits, this one has {signs}"))
    }
}

/// A failure of ours is told by its place alone: its text could hold a name.
fn quiet_panics() {
    std::panic::set_hook(Box::new(|about| {
        let place = about.location().map(ToString::to_string).unwrap_or_default();
        eprintln!("the desk met a fault of its own at {place} and goes on");
    }));
}
