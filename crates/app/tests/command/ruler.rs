//! `fallside ruler` as a photographer runs it.

use std::process::{Command, Output};

fn ruler(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_fallside")).arg("ruler").args(arguments).output().unwrap()
}

#[test]
fn a_sheet_is_made_and_says_what_to_measure() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("ruler.pdf");
    let made = ruler(&["--paper", "letter", "--bar-mm", "149.2", "--out", out.to_str().unwrap()]);
    assert_eq!(made.status.code(), Some(0), "{}", String::from_utf8_lossy(&made.stderr));
    assert!(String::from_utf8_lossy(&made.stdout).contains("150.0 mm"));
    let bytes = std::fs::read(&out).unwrap();
    assert!(bytes.starts_with(b"%PDF-1.7\n") && bytes.ends_with(b"%%EOF"));
}

#[test]
fn what_cannot_be_is_refused_with_a_remedy() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("ruler.pdf");
    for bar in ["0", "-149.2", "14.92", "nan", "inf"] {
        let refused = ruler(&["--bar-mm", bar, "--out", out.to_str().unwrap()]);
        assert_eq!(refused.status.code(), Some(2), "{bar}");
        let says = String::from_utf8_lossy(&refused.stderr).into_owned();
        assert!(says.contains("135 to 165"), "{bar}: {says}");
    }
    for words in [&["--paper", "a3"][..], &["--bar-mm", "long"]] {
        assert_eq!(ruler(words).status.code(), Some(2), "{words:?}");
    }
    assert!(!out.exists());
}
