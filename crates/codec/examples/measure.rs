//! Reads each file named, prints what it holds and how long reading took; with `--write DIR`, writes and times copies.

use codec::jpeg::Subsampling;
use codec::tiff::Compression;
use codec::{Info, Limits, icc, jpeg, png, tiff};
use pixels::Samples;
use std::path::{Path, PathBuf};
use std::time::Instant;

fn main() {
    let mut args = std::env::args().skip(1).peekable();
    let mut out = None;
    while let Some(arg) = args.next() {
        if arg == "--write" {
            out = args.next().map(PathBuf::from);
            continue;
        }
        let path = PathBuf::from(&arg);
        let start = Instant::now();
        match codec::read(&path, &Limits::default()) {
            Err(e) => println!("{e}"),
            Ok(d) => {
                let (w, h) = (d.frame.width, d.frame.height);
                println!(
                    "{}: {} {w} x {h} px, {} bits, {:.0} ms, {:?} linear {}",
                    path.display(),
                    d.format.name(),
                    d.frame.bits(),
                    ms(start),
                    d.metadata.model,
                    d.frame.encoding.tone.linear,
                );
                d.notes.iter().for_each(|n| println!("    {n}"));
                if let Some(dir) = &out {
                    write(dir, &d.frame);
                }
            }
        }
        if let Some(mib) = peak() {
            println!("    peak memory so far {mib} MiB");
        }
    }
}

fn write(dir: &Path, frame: &pixels::Frame) {
    let (w, h) = (frame.width, frame.height);
    let info = Info { icc: Some(icc::srgb()), px_per_mm: Some(38.2), ..Info::default() };
    let row = |y: usize| 3 * w * y;
    let sixteen = |r: std::ops::Range<usize>| -> Vec<u16> {
        match &frame.samples {
            Samples::U8(s) => s[row(r.start)..row(r.end)].iter().map(|&v| u16::from(v) * 257).collect(),
            Samples::U16(s) => s[row(r.start)..row(r.end)].to_vec(),
        }
    };
    let eight = |r| sixteen(r).into_iter().map(|v| (v >> 8) as u8).collect::<Vec<u8>>();
    let time = |name: &str, run: &dyn Fn(&Path) -> Result<(), codec::Error>| {
        let path = dir.join(name);
        let start = Instant::now();
        match run(&path) {
            Err(e) => println!("    {e}"),
            Ok(()) => {
                let took = ms(start);
                let mb = std::fs::metadata(&path).map_or(0, |m| m.len()) as f64 / 1e6;
                println!("    wrote {name}: {took:.0} ms, {mb:.1} MB");
            }
        }
    };
    time("deflate.tif", &|p| tiff::write(p, w, h, &info, Compression::Deflate, sixteen));
    time("plain.tif", &|p| tiff::write(p, w, h, &info, Compression::None, sixteen));
    time("eight.png", &|p| png::write(p, w, h, &info, eight));
    time("sixteen.png", &|p| png::write(p, w, h, &info, sixteen));
    let all = eight(0..h);
    time("q95.jpg", &|p| jpeg::write(p, w, h, &all, 95, Subsampling::Full, &info));
}

fn ms(start: Instant) -> f64 {
    start.elapsed().as_secs_f64() * 1e3
}

/// Peak resident memory of this process, where the system tells it.
fn peak() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|l| l.starts_with("VmHWM"))?;
    line.split_whitespace().nth(1)?.parse::<u64>().ok().map(|kib| kib / 1024)
}
