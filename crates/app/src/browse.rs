//! Opens the desk's address in the system's browser without disclosing it to other users.
//!
//! Every user of the machine can read the arguments of a running program, and the address contains the access token. So the browser
//! gets the name of a file that only its owner can read, and that file redirects to the address.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;

/// How long the file is kept while the desk is open: a browser takes seconds to start.
const STAYS: Duration = Duration::from_secs(60);

/// The file that redirects to the address; removed on drop.
pub struct Leading(PathBuf);

impl Drop for Leading {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.0);
    }
}

/// Opens an address in the system's browser, if there is one. The redirecting file is written into `folder` if its permissions can be
/// restricted to the owner there, otherwise into the system's temporary folder.
pub fn browse(address: &str, folder: &Path) -> Option<Leading> {
    let leading = [folder.to_owned(), std::env::temp_dir()].into_iter().find_map(|f| lead(address, &f).ok())?;
    let (program, first): (&str, &[&str]) = match std::env::consts::OS {
        "macos" => ("open", &[]),
        "windows" => ("cmd", &["/C", "start", ""]),
        _ => ("xdg-open", &[]),
    };
    let shown = leading.0.canonicalize().unwrap_or_else(|_| leading.0.clone());
    let quiet = Stdio::null;
    // Without a browser, the printed address is enough.
    let _ = Command::new(program).args(first).arg(shown).stdin(quiet()).stdout(quiet()).stderr(quiet()).spawn();
    let place = leading.0.clone();
    std::thread::spawn(move || {
        std::thread::sleep(STAYS);
        let _ = std::fs::remove_file(place);
    });
    Some(leading)
}

/// Writes the file that redirects to an address, readable by its owner only.
fn lead(address: &str, folder: &Path) -> std::io::Result<Leading> {
    let place = folder.join(format!("open-the-desk-{}.html", std::process::id()));
    // Left over from an earlier process with the same number.
    let _ = std::fs::remove_file(&place);
    let mut open = std::fs::OpenOptions::new();
    open.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut open, 0o600);
    let mut file = open.open(&place)?;
    let leading = Leading(place);
    #[cfg(unix)]
    {
        // A file system without permissions (a camera's card) would let everybody read it.
        let mode = std::os::unix::fs::PermissionsExt::mode(&file.metadata()?.permissions());
        if mode & 0o077 != 0 {
            return Err(std::io::Error::other("other users could read it there"));
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
