//! Reads pictures that other programs made and writes what was read as plain 16-bit TIFF: pairs of arguments, IN OUT.
//!
//! 8-bit code values are stretched by 257. Prints each picture's notes, or its error.

use codec::tiff::{Compression, write};
use codec::{Info, Limits, read};
use pixels::Samples;
use std::path::Path;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    for pair in args.chunks_exact(2) {
        match read(Path::new(&pair[0]), &Limits::default()) {
            Err(e) => println!("{e}"),
            Ok(d) => {
                let (w, h) = (d.frame.width, d.frame.height);
                let all: Vec<u16> = match d.frame.samples {
                    Samples::U8(s) => s.into_iter().map(|v| u16::from(v) * 257).collect(),
                    Samples::U16(s) => s,
                };
                let rows = |r: std::ops::Range<usize>| all[3 * w * r.start..3 * w * r.end].to_vec();
                if let Err(e) = write(Path::new(&pair[1]), w, h, &Info::default(), Compression::None, rows) {
                    println!("{e}");
                }
                println!("{}: {:?}", pair[0], d.notes);
            }
        }
    }
}
