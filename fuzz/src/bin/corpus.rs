//! Unpacks a target's corpus and seeds into a folder for the engine, and packs a folder that it left. Run by `scripts/fuzz`.

// The counters that scripts/fuzz builds in are the engine's to count.
#[cfg(feature = "engine")]
use libfuzzer_sys as _;

use fuzz::{TARGETS, Target, pack, seeds};
use std::fs;
use std::path::Path;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let done = match words.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["names"] => {
            TARGETS.iter().for_each(|t| println!("{}", t.name));
            Ok(())
        }
        ["longest", name] => named(name).map(|t| println!("{}", t.longest)),
        ["unpack", name, folder] => named(name).and_then(|t| unpack(&t, Path::new(folder))),
        ["pack", name, folder, most] => named(name).and_then(|t| packed(&t, Path::new(folder), most)),
        _ => Err("Words: names, longest TARGET, unpack TARGET FOLDER, pack TARGET FOLDER BYTES.".into()),
    };
    if let Err(says) = done {
        eprintln!("{says}");
        std::process::exit(1);
    }
}

fn named(name: &str) -> Result<Target, String> {
    Target::named(name).ok_or_else(|| format!("There is no target {name}."))
}

fn unpack(target: &Target, folder: &Path) -> Result<(), String> {
    fs::create_dir_all(folder).map_err(|e| e.to_string())?;
    let held = fs::read(target.corpus()).unwrap_or_default();
    let all = pack::unpacked(&held)?.into_iter().chain(seeds::of(target.name));
    for (i, input) in all.enumerate() {
        fs::write(folder.join(format!("seed-{i:05}")), input).map_err(|e| e.to_string())?;
    }
    Ok(())
}

/// Packs the shortest inputs of a folder, at most so many bytes.
fn packed(target: &Target, folder: &Path, most: &str) -> Result<(), String> {
    let most: usize = most.parse().map_err(|_| "How many bytes?")?;
    let files = fs::read_dir(folder).map_err(|e| e.to_string())?.flatten();
    let mut inputs: Vec<Vec<u8>> = files.filter_map(|f| fs::read(f.path()).ok()).collect();
    inputs.sort_by(|a, b| a.len().cmp(&b.len()).then(a.cmp(b)));
    inputs.dedup();
    let mut room = most;
    inputs.retain(|i| {
        let fits = i.len() + 4 <= room;
        room -= if fits { i.len() + 4 } else { 0 };
        fits
    });
    println!("{}: {} inputs, {} bytes", target.name, inputs.len(), most - room);
    fs::write(target.corpus(), pack::packed(&inputs)).map_err(|e| e.to_string())
}
