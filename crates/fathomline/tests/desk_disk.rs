//! A disk that is full or may only be read: said clearly, on every screen, and nothing acknowledged is lost.

mod phones;

use phones::wire::Live;
use phones::{Desk, Folder, Phone, program, three_touches};
use serde_json::{Value, json};
use std::path::Path;
use std::process::Command;

/// Fills the log until the desk refuses; gives what it said and how many reports it took.
fn fill(phone: &Phone) -> (Value, usize) {
    for k in 0..4000 {
        let report = json!({ "what": "note", "words": "x".repeat(300) });
        let reports: Vec<Value> =
            (0..20).map(|j| json!({ "report_id": format!("fill-{k}-{j}"), "report": report })).collect();
        let reply = phone.post("/api/report", &json!({ "reports": reports })).unwrap();
        match reply.status {
            200 => assert_eq!(reply.json()["answers"][19]["answer"], "recorded", "{}", reply.text()),
            507 => return (reply.json(), k * 20),
            other => panic!("{other}: {}", reply.text()),
        }
    }
    panic!("the disk never filled up");
}

/// Reports in the log whose number begins with `fill`.
fn filled(data: &Path) -> usize {
    let out = program().args(["records", "export", "--data"]).arg(data).output().unwrap();
    String::from_utf8(out.stdout).unwrap().matches("\"report_id\":\"fill-").count()
}

fn verified(data: &Path) -> bool {
    program().args(["records", "verify", "--data"]).arg(data).output().unwrap().status.success()
}

/// Every phone hears of the trouble.
fn troubled(phones: &[&Phone], word: &str) {
    for phone in phones {
        let mut live = Live::open(phone.port, &phone.headers()).unwrap();
        let beat = live.next_of("beat").unwrap().data;
        let said = beat["trouble"].to_string();
        assert!(said.contains(word), "{said}");
    }
}

#[test]
fn a_full_log_refuses_clearly_and_loses_nothing() {
    let folder = Folder::new("full");
    let desk = Desk::start(&folder.0, &["--pages-most", "60"]);
    let mut phone = Phone::join(desk.port, "phone-aaaa");
    let other = Phone::join(desk.port, "phone-bbbb");
    three_touches(&mut phone);
    let (refused, taken) = fill(&phone);
    assert_eq!(refused["code"], "D007", "{refused}");
    assert!(refused["what"].as_str().unwrap().contains("full"), "{refused}");
    assert!(refused["remedy"].as_str().unwrap().contains("paper"), "{refused}");
    troubled(&[&phone, &other], "full");
    // The picture stays, and nobody is sent away.
    assert_eq!(other.get("/api/screen").status, 200);
    let port = desk.kill();
    assert!(taken > 0 && filled(&folder.0) == taken && verified(&folder.0));
    let desk = Desk::start_at(&folder.0, port, &[]);
    phone.recorded(json!({ "what": "note", "words": "room again" }));
    drop(desk);
}

/// A small file system of its own, where the system lets us make one.
struct Small<'a>(&'a Path);

impl Small<'_> {
    fn mount(path: &Path) -> Option<Small<'_>> {
        std::fs::create_dir_all(path).unwrap();
        let made = Command::new("mount").args(["-t", "tmpfs", "-o", "size=2m", "tmpfs"]).arg(path).output();
        made.is_ok_and(|out| out.status.success()).then_some(Small(path))
    }

    fn only_to_be_read(&self, yes: bool) {
        let how = if yes { "remount,ro" } else { "remount,rw" };
        let done = Command::new("mount").args(["-o", how]).arg(self.0).status().unwrap();
        assert!(done.success(), "{how}");
    }
}

impl Drop for Small<'_> {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("-l").arg(self.0).status();
    }
}

#[test]
fn a_full_disk_and_room_again() {
    let folder = Folder::new("full-disk");
    let Some(small) = Small::mount(&folder.0) else {
        println!(
            "no file system may be made here; `a_full_log_refuses_clearly_and_loses_nothing` stands for this"
        );
        return;
    };
    let ballast = folder.0.join("ballast");
    std::fs::write(&ballast, vec![1; 300_000]).unwrap();
    let desk = Desk::start(&folder.0, &[]);
    let mut phone = Phone::join(desk.port, "phone-aaaa");
    three_touches(&mut phone);
    let (refused, taken) = fill(&phone);
    assert_eq!(refused["code"], "D007", "{refused}");
    troubled(&[&phone], "full");
    // Room again: the desk notices by itself, and what waited is taken.
    std::fs::remove_file(&ballast).unwrap();
    let mut live = Live::open(phone.port, &phone.headers()).unwrap();
    let mut beats = (0..8).map(|_| live.next_of("beat").unwrap().data["trouble"].to_string());
    assert!(beats.any(|trouble| trouble == "[]"), "the trouble is never taken back");
    let seq = phone.recorded(json!({ "what": "note", "words": "room again" }));
    assert!(seq > taken as u64);
    drop(desk);
    assert!(filled(&folder.0) >= taken && verified(&folder.0));
    drop(small);
}

#[test]
fn a_disk_that_may_only_be_read() {
    let folder = Folder::new("read-only");
    let Some(small) = Small::mount(&folder.0) else {
        println!("no file system may be made here: nothing is tested");
        return;
    };
    let desk = Desk::start(&folder.0, &[]);
    let mut phone = Phone::join(desk.port, "phone-aaaa");
    let seq = three_touches(&mut phone);
    let port = desk.kill();
    small.only_to_be_read(true);
    // The picture is worth having: the desk opens, says so on every screen, and refuses what comes.
    let desk = Desk::start_kept(&folder.0, port);
    let screen = phone.screen_when(seq, |screen| !screen["say"].as_array().unwrap().is_empty());
    assert_eq!(screen["stage"], "searching");
    let report = json!({ "report_id": "ro-1", "report": { "what": "note", "words": "x" } });
    let reply = phone.post("/api/report", &json!({ "reports": [report] })).unwrap();
    assert_eq!((reply.status, reply.json()["code"].as_str()), (507, Some("D008")), "{}", reply.text());
    troubled(&[&phone], "only be read");
    let port = desk.kill();
    small.only_to_be_read(false);
    let desk = Desk::start_at(&folder.0, port, &[]);
    assert!(phone.recorded(json!({ "what": "note", "words": "again" })) > seq);
    drop(desk);
    assert!(verified(&folder.0));
}
