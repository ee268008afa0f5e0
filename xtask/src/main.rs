//! Tasks for developers: `gen` writes the generated pages, `page` draws a result folder's page again, `pictures` makes the
//! README's, `speed` measures, `tiny` writes many small frames, `wild` frames of random seeds with their truth.

mod handing;
mod pictures;
mod speed;
mod tiny;
mod wild;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let done = match words.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["gen"] => generate(),
        ["page", out] => page(Path::new(out)),
        ["pictures", demo, screen] => {
            pictures::pictures(Path::new(demo), Path::new(screen), &root().join("docs/pictures"))
        }
        ["speed"] => speed::speed(),
        ["handing", results] => tempfile::tempdir()
            .map_err(|e| e.to_string())
            .and_then(|folder| handing::handing(Path::new(results), folder.path())),
        ["tiny", folder, count] => {
            count.parse().map_err(|_| "tiny wants a whole number.".to_owned()).and_then(|n| tiny::tiny(Path::new(folder), n))
        }
        ["wild", folder, ref rest @ ..] => wild(Path::new(folder), rest),
        _ => Err(
            "Tasks: gen (write docs/reference and the page's types), page FOLDER (draw a result folder's page again), pictures DEMO SCREEN \
             (the README's, by scripts/pictures), speed (the bench), handing RESULTS (its part about handing on), tiny FOLDER COUNT (small frames, to measure what grows with their number), wild FOLDER [--from 0] \
             [--count 50] [--png] (frames of random seeds with their truth)."
                .into(),
        ),
    };
    match done {
        Ok(line) => {
            println!("{line}");
            ExitCode::SUCCESS
        }
        Err(line) => {
            eprintln!("{line}");
            ExitCode::FAILURE
        }
    }
}

fn wild(folder: &Path, rest: &[&str]) -> Result<String, String> {
    let number = |name: &str, usual: u64| match rest.iter().position(|w| *w == name) {
        Some(i) => rest.get(i + 1).and_then(|w| w.parse().ok()).ok_or(format!("{name} wants a whole number after it.")),
        None => Ok(usual),
    };
    wild::wild(folder, number("--from", 0)?, number("--count", 50)?, rest.contains(&"--png"))
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn generate() -> Result<String, String> {
    let files = xtask::generated();
    for (name, text) in &files {
        let place = root().join(name);
        std::fs::write(&place, text).map_err(|e| format!("{name}: {e}"))?;
    }
    Ok(format!("{} files written.", files.len()))
}

fn page(out: &Path) -> Result<String, String> {
    let place = finish::page::write_again(out).map_err(|e| e.to_string())?;
    Ok(format!("Open {}", place.display()))
}
