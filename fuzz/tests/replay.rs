//! Replays every corpus and a fixed number of mutations of it: no panic of ours, no hang, no gigabyte.

use fuzz::mutate::{Chance, mutated};
use fuzz::{TARGETS, hear_faults, on_one_thread, pack, seeds};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// Mutations of each corpus: with these all targets together take about a minute.
const MUTATIONS: usize = 2500;
/// Most time for the mutations of one target. A slow machine tries fewer of them, and says so.
const TIME: Duration = Duration::from_secs(5);
/// An input that takes longer is a hang: they take milliseconds.
const HANG: Duration = Duration::from_secs(20);
/// Most memory that this process may ever have held, MiB.
#[cfg(target_os = "linux")]
const MEMORY: u64 = 1024;

/// What is being fed now, and since when.
type Now = Arc<Mutex<Option<(String, Instant)>>>;

#[test]
fn no_bytes_make_a_reader_fall_over() {
    on_one_thread();
    let faults = Arc::new(Mutex::new(Vec::<String>::new()));
    let hear = faults.clone();
    hear_faults(move |what| held(&hear).push(what.to_owned()));
    let now = Now::default();
    watch(now.clone());
    let mut found = vec![];
    for target in TARGETS {
        let corpus = std::fs::read(target.corpus()).unwrap_or_default();
        let mut inputs = pack::unpacked(&corpus).unwrap();
        assert!(!inputs.is_empty(), "{} has no corpus: run scripts/fuzz", target.name);
        inputs.extend(seeds::of(target.name));
        let mut chance = Chance::new(1);
        let (mut tried, begun) = (0, Instant::now());
        let mut feed = |input: &[u8]| {
            *held(&now) = Some((format!("{}: {}", target.name, hex(input)), Instant::now()));
            target.feed(input);
            *held(&now) = None;
            found.extend(held(&faults).drain(..).map(|f| format!("{}: {f}\n  {}", target.name, hex(input))));
        };
        inputs.iter().for_each(|i| feed(i));
        while tried < MUTATIONS && begun.elapsed() < TIME {
            let [one, other] = [0; 2].map(|_| &inputs[chance.below(inputs.len())]);
            feed(&mutated(one, other, &mut chance));
            tried += 1;
        }
        println!("{}: {} inputs and {tried} mutations in {:.1?}", target.name, inputs.len(), begun.elapsed());
    }
    let _ = std::panic::take_hook();
    assert!(found.is_empty(), "{}", found.join("\n"));
    #[cfg(target_os = "linux")]
    assert!(most_memory() < MEMORY, "{} MiB were held", most_memory());
}

/// Ends the test where one input takes too long, and says which.
fn watch(now: Now) {
    std::thread::spawn(move || {
        loop {
            std::thread::sleep(Duration::from_secs(1));
            if let Some((what, since)) = &*held(&now)
                && since.elapsed() > HANG
            {
                eprintln!("HANG in {what}");
                std::process::abort();
            }
        }
    });
}

fn held<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

fn hex(input: &[u8]) -> String {
    input.iter().map(|b| format!("{b:02x}")).collect()
}

/// The most memory that was ever in use, MiB, as the system tells it (proc(5), VmHWM).
#[cfg(target_os = "linux")]
fn most_memory() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap();
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:")).unwrap();
    line.split_whitespace().next().unwrap().parse::<u64>().unwrap() / 1024
}
