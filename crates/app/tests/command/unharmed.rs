//! What must not stop or mislead anybody: a project that may not be written, names that would steer a terminal, odd searches, a full disk
//! for the answer, a clock before 1970.

use crate::small_project::{fallside, project, said};
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

/// Copies a folder with all in it.
fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap().map(Result::unwrap) {
        let place = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &place)
        } else {
            std::fs::copy(entry.path(), place).map(drop).unwrap()
        }
    }
}

/// Takes the right to write from all in a folder, and gives everybody the right to read it.
#[cfg(unix)]
fn read_only(folder: &Path) {
    use std::os::unix::fs::PermissionsExt;
    for entry in std::fs::read_dir(folder).unwrap().map(Result::unwrap) {
        if entry.path().is_dir() {
            read_only(&entry.path());
        } else {
            std::fs::set_permissions(entry.path(), PermissionsExt::from_mode(0o444)).unwrap();
        }
    }
    std::fs::set_permissions(folder, PermissionsExt::from_mode(0o555)).unwrap();
}

/// Runs the command as somebody to whom rights apply: `root` may write everywhere.
#[cfg(unix)]
fn as_anybody(program: &Path, words: &[&dyn AsRef<OsStr>]) -> Output {
    use std::os::unix::fs::MetadataExt;
    use std::os::unix::process::CommandExt;
    let mut command = Command::new(program);
    command.args(words.iter().map(|w| w.as_ref()));
    if std::fs::metadata("/proc/self").is_ok_and(|m| m.uid() == 0) {
        // The user that owns nothing (65534, "nobody": Linux Standard Base, from memory).
        command.uid(65534).gid(65534);
    }
    command.output().unwrap()
}

#[cfg(unix)]
#[test]
fn a_project_that_may_not_be_written_is_looked_at() {
    use std::os::unix::fs::PermissionsExt;
    let top = tempfile::tempdir().unwrap();
    std::fs::set_permissions(top.path(), PermissionsExt::from_mode(0o777)).unwrap();
    // The program too must lie where anybody may start it.
    let program = top.path().join("fallside");
    std::fs::copy(env!("CARGO_BIN_EXE_fallside"), &program).unwrap();
    let there = top.path().join("a disk #1");
    copy(project(), &there);
    read_only(&there);
    // The same with changes that stand in the log alone, as a program that was killed leaves them.
    let logged = top.path().join("logged");
    {
        let own = top.path().join("own");
        copy(project(), &own);
        let mut open = project::Project::open(&own).unwrap();
        let id = "P0001".parse().unwrap();
        let fact = project::catalogue::Fact::of("title").unwrap();
        open.change("Said", |w| w.say(id, fact, "Only in the log")).unwrap();
        assert!(std::fs::metadata(own.join("fallside.db-wal")).is_ok_and(|m| m.len() > 0));
        copy(&own, &logged);
        let _ = std::fs::remove_file(logged.join("fallside.db-shm"));
    }
    read_only(&logged);
    for (place, title) in [(&there, "Low water"), (&logged, "Only in the log")] {
        for words in [
            vec![&"list" as &dyn AsRef<OsStr>, &"prints", &"--in", place],
            vec![&"find", &"has:title", &"--in", place],
            vec![&"describe", &"P0001", &"--in", place],
        ] {
            let o = as_anybody(&program, &words);
            assert!(o.status.success() && said(&o).contains(title), "{}: {}", place.display(), said(&o));
        }
        let shares = top.path().join(format!("{title}-shares"));
        let o = as_anybody(&program, &[&"share", &"--in", place, &"--find", &"id:P0001", &"--out", &shares]);
        assert_eq!(o.status.code(), Some(0), "{}", said(&o));
        assert!(said(&o).contains("may not be written"), "{}", said(&o));
        // What would change it is refused, and says why.
        let o = as_anybody(&program, &[&"describe", &"P0001", &"--title", &"x", &"--in", place]);
        assert!(o.status.code() == Some(2) && said(&o).contains("written"), "{}", said(&o));
    }
    let left: Vec<PathBuf> = std::fs::read_dir(std::env::temp_dir()).unwrap().map(|e| e.unwrap().path()).collect();
    assert!(!left.iter().any(|p| p.to_string_lossy().contains("fallside-read-")), "no copy of the catalogue stays");
}

/// ECMA-48: controls are U+0000 to U+001F, U+007F, and U+0080 to U+009F.
fn has_controls(text: &[u8]) -> bool {
    let text = String::from_utf8_lossy(text);
    text.chars().any(|c| (c.is_control() && c != '\n') || ('\u{202a}'..='\u{202e}').contains(&c))
}

#[cfg(unix)]
#[test]
fn no_name_steers_the_terminal() {
    let top = tempfile::tempdir().unwrap();
    let card = top.path().join("card");
    std::fs::create_dir(&card).unwrap();
    let names = [
        "red\u{1b}[31m.jpg",
        "two\nlines: all is well.jpg",
        "c1\u{9b}2J.jpg",
        "turned\u{202e}gpj.jpg",
        "bell\u{7}.jpg",
    ];
    names.iter().for_each(|n| std::fs::write(card.join(n), "no picture").unwrap());
    let out = top.path().join("out");
    for words in [&["--json"][..], &[]] {
        let mut all: Vec<&dyn AsRef<OsStr>> = vec![&"finish", &card, &"--out", &out];
        all.extend(words.iter().map(|w| w as &dyn AsRef<OsStr>));
        let o = fallside(&all);
        assert!(!has_controls(&o.stderr) && !has_controls(&o.stdout), "{:?}", said(&o));
        let lines: Vec<&str> = std::str::from_utf8(&o.stderr).unwrap().lines().collect();
        assert!(!lines.iter().any(|l| l.starts_with("lines: all is well")), "{lines:?}");
        assert!(lines.iter().any(|l| l.contains("two\\nlines")), "{lines:?}");
    }
    // The JSON still says the true name.
    let o = fallside(&[&"finish", &card, &"--out", &out, &"--json"]);
    let lines = String::from_utf8(o.stdout).unwrap();
    let frames: Vec<String> =
        lines.lines().map(|l| serde_json::from_str::<serde_json::Value>(l).unwrap()["frame"].to_string()).collect();
    assert_eq!(frames.len(), names.len());
    assert!(lines.contains("c1\\u009b2J") && frames.iter().any(|f| f.contains("c1\u{9b}2J")), "{lines}");
    // A word of the command line is a name too.
    let o = fallside(&[&"list", &"\u{1b}[2Jprints"]);
    assert!(!o.status.success() && !has_controls(&o.stderr), "{:?}", said(&o));
    let o = fallside(&[&"find", &"x", &"--in", &top.path().join("no\u{1b}[1mproject")]);
    assert!(!o.status.success() && !has_controls(&o.stderr), "{:?}", said(&o));
}

#[test]
fn a_search_of_any_length_or_sign_answers() {
    let find = |line: &str| fallside(&[&"find", &"--in", &project(), &"--", &line]);
    let found = |line: &str| {
        let o = find(line);
        assert!(o.status.success(), "{:.60}: {}", line, said(&o));
        said(&o).lines().filter(|l| l.starts_with('P')).count()
    };
    let many = |word: &str, n: usize| vec![word; n].join(" ");
    // Words that are in it, over and over, and different ones.
    assert_eq!(found("low water"), 1);
    assert_eq!(found(&many("low water", 5000)), 1);
    let different: String = (0..5000).map(|n| format!("word{n} ")).collect();
    assert_eq!(found(&different), 0);
    assert_eq!(found(&format!("low {different}")), 0);
    let less: String = (0..3000).map(|n| format!("-word{n} ")).collect();
    assert_eq!(found(&format!("low {less}")), 1);
    let dashed: String = (0..3000).map(|n| format!("word{n}/")).collect();
    assert_eq!(found(&dashed), 0);
    assert_eq!(found(&format!("low -{dashed}")), 1);
    assert_eq!(found(&format!("low \"{}\"", many("water", 3000))), 0);
    assert_eq!(found(&format!("title:{}", "x".repeat(100_000))), 0);
    for n in [12, 13, 19, 20, 400] {
        assert_eq!(found(&format!("P{}", "9".repeat(n))), 0, "{n} figures");
        assert_eq!(found(&format!("id:{}", "9".repeat(n))), 0, "{n} figures");
        assert_eq!(found(&format!("stack:{}", "9".repeat(n))), 0, "{n} figures");
    }
    // No sign means anything but those that the guide names; all there is, where nothing is asked.
    for sign in "!#$%&'()*+,./;<=>?@[\\]^_`{|}~-\u{301}\u{200b}\u{feff}\"“„".chars() {
        for line in [sign.to_string(), format!("{sign}{sign}{sign}"), format!("low{sign}"), format!("{sign} low")] {
            let o = find(&line);
            assert!(o.status.success(), "{line:?}: {}", said(&o));
        }
    }
    // A date that is none is told, with any sign.
    for line in
        ["date:-", "date:+", "date:..", "date:Y99999999999999999999", "date:-9999..9999", "digitised:Y-170000002"]
    {
        let o = find(line);
        assert!(o.status.code().is_some_and(|c| c == 0 || c == 2), "{line}: {}", said(&o));
        assert!(!said(&o).contains("internal error"), "{line}: {}", said(&o));
    }
}

/// `/dev/full` answers every write with "no space left on device" (Linux, full(4)).
#[cfg(target_os = "linux")]
#[test]
fn an_answer_that_cannot_be_written_is_a_problem() {
    let folder = project();
    let top = tempfile::tempdir().unwrap();
    let (card, out) = (folder.join("card"), top.path().join("out"));
    let plain = |words: &[&dyn AsRef<OsStr>], to: Stdio| {
        Command::new(env!("CARGO_BIN_EXE_fallside")).args(words.iter().map(|w| w.as_ref())).stdout(to).output().unwrap()
    };
    fallside(&[&"finish", &card, &"--out", &out]);
    for words in [
        vec![&"list" as &dyn AsRef<OsStr>, &"prints", &"--json", &"--in", &folder],
        vec![&"find", &"low", &"--json", &"--in", &folder],
        vec![&"list", &"prints", &"--in", &folder],
        vec![&"finish", &card, &"--json", &"--out", &out],
        vec![&"check", &card, &"--json"],
        vec![&"plan", &"--json"],
    ] {
        let name = words[0].as_ref().to_string_lossy().into_owned();
        let well = plain(&words, Stdio::null());
        let full = plain(&words, std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap().into());
        assert!(well.status.code() < Some(2), "{name}: {}", said(&well));
        assert_eq!(full.status.code(), Some(1), "{name}: {}", said(&full));
        assert!(said(&full).contains("could not be written"), "{name}: {}", said(&full));
    }
}

/// A clock that stands in 1962, given to the command by a small library that answers `clock_gettime` and `gettimeofday` (POSIX.1-2017)
/// before the system's own; where no compiler is at hand, the test says that it left this out.
#[cfg(target_os = "linux")]
#[test]
fn a_clock_before_1970_stops_nothing() {
    let top = tempfile::tempdir().unwrap();
    let (source, library) = (top.path().join("clock.c"), top.path().join("clock.so"));
    let text = "#define _GNU_SOURCE\n#include <time.h>\n#include <unistd.h>\n#include <sys/syscall.h>\n\
        int clock_gettime(clockid_t which, struct timespec *t) {\n\
        long r = syscall(SYS_clock_gettime, which, t);\n\
        if (which == CLOCK_REALTIME) t->tv_sec -= 2000000000L;\n\
        return (int)r;\n}\n\
        #include <sys/time.h>\n\
        int gettimeofday(struct timeval *t, void *z) {\n\
        struct timespec s; clock_gettime(CLOCK_REALTIME, &s); (void)z;\n\
        t->tv_sec = s.tv_sec; t->tv_usec = s.tv_nsec / 1000; return 0;\n}\n";
    std::fs::write(&source, text).unwrap();
    let built = Command::new("cc").args(["-shared", "-fPIC", "-o"]).arg(&library).arg(&source).status();
    if !built.is_ok_and(|s| s.success()) {
        eprintln!("left out: there is no C compiler here to move the clock with");
        return;
    }
    let run = |words: &[&dyn AsRef<OsStr>]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_fallside"));
        command.env("LD_PRELOAD", &library).args(words.iter().map(|w| w.as_ref())).output().unwrap()
    };
    let own = top.path().join("project");
    let o = run(&[&"take", &project().join("card/F1.png"), &"--in", &own]);
    assert!(o.status.code().is_some_and(|c| c < 2), "{}", said(&o));
    let bag = top.path().join("bag");
    let (book, site) = (top.path().join("book.pdf"), top.path().join("site"));
    let all: [&[&dyn AsRef<OsStr>]; 6] = [
        &[&"describe", &"P0001", &"--title", &"Before", &"--in", &own],
        &[&"pack", &own, &"--all", &"--out", &bag],
        &[&"verify", &bag],
        &[&"book", &"--in", &own, &"--all", &"--out", &book],
        &[&"gallery", &"--in", &own, &"--all", &"--out", &site],
        &[&"list", &"history", &"--in", &own],
    ];
    for words in all {
        let o = run(words);
        assert!(o.status.code().is_some_and(|c| c < 2), "{}: {}", words[0].as_ref().to_string_lossy(), said(&o));
    }
    let history = said(&run(all[5]));
    assert!(history.contains("196") || history.contains("195"), "the clock was moved: {history}");
}
