//! The desk's part of the bench: from the last byte of a frame to its verdict, and searching ten thousand prints.

use desk::wire::request::WatchRequest;
use desk::{Desk, Event, Order};
use project::Project;
use project::catalogue::{Fact, PrintId};
use std::path::Path;
use std::sync::mpsc::{Receiver, channel};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// Frames that arrive at the stand.
const ARRIVALS: usize = 4;
/// Prints of the catalogue that is searched.
const PRINTS: usize = 10_000;
/// Longest time that a verdict is waited for.
const PATIENCE: Duration = Duration::from_secs(60);

/// The stand beside the bare decode of the same frame, and searches.
pub fn desk(print: &Path, blank: &Path, decode: Duration, folder: &Path) -> Result<String, String> {
    let (verdict, settled) = stand(print, blank, folder)?;
    let (search, rows) = search(&folder.join("many"))?;
    Ok(format!(
        "stand          decode {:6} ms  last byte to verdict {:4} ms ({:.1} x decode)  to its pictures {:4} ms\n\
         search         of {PRINTS} prints: {:.1} ms for the numbers found, {:.1} ms with 200 rows (worst of six lines)\n",
        decode.as_millis(),
        verdict.as_millis(),
        verdict.as_secs_f64() / decode.as_secs_f64(),
        settled.as_millis(),
        search.as_secs_f64() * 1e3,
        rows.as_secs_f64() * 1e3,
    ))
}

/// The best time from a frame's last byte to its verdict, and to its pictures.
fn stand(print: &Path, blank: &Path, folder: &Path) -> Result<(Duration, Duration), String> {
    let tether = folder.join("tether");
    std::fs::create_dir_all(&tether).map_err(|e| e.to_string())?;
    let (send, heard) = channel();
    let send = Mutex::new(send);
    let ear = move |event: &Event| drop(send.lock().map(|s| s.send(event.clone())));
    let desk = Desk::open(&folder.join("stand"), Box::new(ear)).map_err(|e| e.to_string())?;
    let watch = |folder: Option<&Path>| WatchRequest { folder: folder.map(Path::to_owned), ..WatchRequest::default() };
    desk.watch(watch(Some(&tether))).map_err(|e| e.to_string())?;
    // The sitting's bare bed comes first, as in an evening.
    arrive(blank, &tether.join("bed.jpg"), 0)?;
    wait(&heard, |e| matches!(e, Event::Settled(last) if last.name == "bed.jpg"))?;
    let (mut verdict, mut settled) = (PATIENCE, PATIENCE);
    for i in 0..ARRIVALS {
        let name = format!("frame-{i}.jpg");
        let began = arrive(print, &tether.join(&name), i + 1)?;
        let told =
            |e: &Event| matches!(e, Event::Verdict(stand) if stand.last.as_ref().is_some_and(|l| l.name == name));
        wait(&heard, told)?;
        verdict = verdict.min(began.elapsed());
        wait(&heard, |e| matches!(e, Event::Settled(last) if last.name == name))?;
        settled = settled.min(began.elapsed());
    }
    desk.watch(watch(None)).map_err(|e| e.to_string())?;
    Ok((verdict, settled))
}

/// Writes a copy of a JPEG that differs in a comment (ISO/IEC 10918-1, B.2.4.5), and gives the moment of its last byte.
fn arrive(from: &Path, to: &Path, mark: usize) -> Result<Instant, String> {
    let bytes = std::fs::read(from).map_err(|e| e.to_string())?;
    let comment = [0xFF, 0xFE, 0, 4, 7, mark as u8];
    let copy = [&bytes[..2], &comment, &bytes[2..]].concat();
    std::fs::write(to, copy).map_err(|e| e.to_string())?;
    Ok(Instant::now())
}

fn wait(heard: &Receiver<Event>, wanted: impl Fn(&Event) -> bool) -> Result<(), String> {
    let until = Instant::now() + PATIENCE;
    loop {
        match heard.recv_timeout(until.saturating_duration_since(Instant::now())) {
            Ok(Event::Trouble { says, .. }) => return Err(says),
            Ok(event) if wanted(&event) => return Ok(()),
            Ok(_) => {}
            Err(_) => return Err("The stand told no verdict in a minute.".into()),
        }
    }
}

/// Longest time of six lines: the numbers found, and with the rows that a table fetches first.
fn search(folder: &Path) -> Result<(Duration, Duration), String> {
    let words = |list: &[&'static str], i: usize| list[i % list.len()];
    let mut project = Project::open_or_begin(folder).map_err(|e| e.to_string())?;
    project
        .change("Ten thousand prints", |w| {
            for i in 0..PRINTS {
                let print = w.mint()?;
                w.say(
                    print,
                    Fact::Place,
                    words(&["The harbour", "Ferry landing", "Çeşme", "Orchard", "Station"], i / 7),
                )?;
                w.say(print, Fact::People, words(&["Ada; Bo", "Mirela", "Pia; Ada", "Jonas"], i / 3))?;
                w.say(print, Fact::Subject, words(&["boats; evening", "garden", "snow; tree", "table; fruit"], i))?;
                w.say(print, Fact::Exposed, &format!("{}-{:02}", 1999 + i % 20, 1 + i % 12))?;
                w.say(print, Fact::Box, &format!("Shoebox {}", 1 + i / 400))?;
            }
            // Every tenth print has a near-twin, which lies on it.
            let twins = (1..PRINTS as i64).step_by(10).map(|n| [PrintId(n), PrintId(n + 1)]);
            twins.into_iter().try_for_each(|two| w.stack(&two, "rule").map(drop))
        })
        .map_err(|e| e.to_string())?;
    drop(project);
    let desk: Arc<Desk> = Desk::open(folder, Box::new(|_| {})).map_err(|e| e.to_string())?;
    let (mut found, mut rows) = (Duration::ZERO, Duration::ZERO);
    for line in ["", "h", "cesme", "place:harb date:2009..2012", "people:ada -snow", "box:\"Shoebox 3\" lacks:title"] {
        let time = |most: usize| -> Result<Duration, String> {
            let mut best = PATIENCE;
            for _ in 0..5 {
                let began = Instant::now();
                desk.laid(line, &Order::of("number"), Some(&[]), 0, most).map_err(|e| e.to_string())?;
                best = best.min(began.elapsed());
            }
            Ok(best)
        };
        (found, rows) = (found.max(time(0)?), rows.max(time(200)?));
    }
    Ok((found, rows))
}
