//! Shows the desk's address in the system's browser without telling it to anybody else.
//!
//! The words that a program is started with can be read by every user of the machine, and the address carries the run's token. So the
//! browser is given a file that only its owner may read, and the file leads to the address.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;

/// How long the file stays, should the desk be open longer: a browser that has to start takes seconds.
const STAYS: Duration = Duration::from_secs(60);

/// The file that leads to the address; taken away with this.
pub struct Leading(PathBuf);

impl Drop for Leading {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.0);
    }
}

/// Shows an address in the system's browser, where it has one. `folder` is where the file that leads there is written, if only its
/// owner can read it there; else it lies in the system's folder for passing files.
pub fn browse(address: &str, folder: &Path) -> Option<Leading> {
    let leading = [folder.to_owned(), std::env::temp_dir()].into_iter().find_map(|f| lead(address, &f).ok())?;
    let (program, first): (&str, &[&str]) = match std::env::consts::OS {
        "macos" => ("open", &[]),
        "windows" => ("cmd", &["/C", "start", ""]),
        _ => ("xdg-open", &[]),
    };
    let shown = leading.0.canonicalize().unwrap_or_else(|_| leading.0.clone());
    let quiet = Stdio::null;
    // Where there is no browser the address was written all the same.
    let _ = Command::new(program).args(first).arg(shown).stdin(quiet()).stdout(quiet()).stderr(quiet()).spawn();
    let place = leading.0.clone();
    std::thread::spawn(move || {
        std::thread::sleep(STAYS);
        let _ = std::fs::remove_file(place);
    });
    Some(leading)
}

/// Writes the file that leads to an address, which its owner alone may read.
fn lead(address: &str, folder: &Path) -> std::io::Result<Leading> {
    let place = folder.join(format!("open-the-desk-{}.html", std::process::id()));
    // What an earlier program of this number left.
    let _ = std::fs::remove_file(&place);
    let mut open = std::fs::OpenOptions::new();
    open.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut open, 0o600);
    let mut file = open.open(&place)?;
    let leading = Leading(place);
    #[cfg(unix)]
    {
        // A disk without rights (a camera's card) would let everybody read it.
        let mode = std::os::unix::fs::PermissionsExt::mode(&file.metadata()?.permissions());
        if mode & 0o077 != 0 {
            return Err(std::io::Error::other("anybody could read it there"));
        }
    }
    write!(
        file,
        "<!doctype html><meta charset=\"utf-8\"><meta name=\"referrer\" content=\"no-referrer\">\
         <meta http-equiv=\"refresh\" content=\"0; url={address}\"><title>Fallside</title>\
         <p><a href=\"{address}\">Open the desk</a>"
    )?;
    Ok(leading)
}
