//! The decoding process: reads one picture from standard input and answers on standard output.

use crate::child::{DONE, EIGHT, FAILED, HEADER, PICTURE, ROWS, SENSOR, SIXTEEN, SIZED};
use crate::source::Source;
use crate::wire::{Wire, put_error};
use crate::{Decoded, Error, Header, Limits, Unpacked, bounds, in_process, rows};
use pixels::Samples;
use std::ffi::OsString;
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::os::fd::AsFd;
use std::path::Path;

/// Decodes the picture on standard input according to `words`, and answers on standard output; only for the program given to
/// [`crate::decode_apart`]. False if the arguments are not such a request.
pub fn serve(words: &[OsString]) -> bool {
    let Some((wish, limits)) = asked(words) else { return false };
    let file = |fd: io::Result<std::os::fd::OwnedFd>| fd.map(File::from).ok();
    let handles = (file(io::stdin().as_fd().try_clone_to_owned()), file(io::stdout().as_fd().try_clone_to_owned()));
    let (Some(input), Some(output)) = handles else { return false };
    // Only the parent process knows the name.
    let Ok(source) = Source::of(Path::new(""), input) else { return false };
    bounds::begin(source.length());
    let mut answer = Answer { out: BufWriter::with_capacity(1 << 20, output) };
    // The parent process may be gone; then there is nobody to report to.
    let _ = match wish {
        Wish::Header => answer.header(&source),
        Wish::Picture => answer.picture(&source, &limits),
        Wish::Rows => answer.rows(&source, &limits),
    };
    true
}

enum Wish {
    Header,
    Picture,
    Rows,
}

fn asked(words: &[OsString]) -> Option<(Wish, Limits)> {
    let words: Vec<&str> = words.iter().map(|w| w.to_str()).collect::<Option<_>>()?;
    let &[wish, pixels, side, bytes] = words.as_slice() else { return None };
    let wish = match wish {
        HEADER => Wish::Header,
        PICTURE => Wish::Picture,
        ROWS => Wish::Rows,
        _ => return None,
    };
    let limits =
        Limits { max_pixels: pixels.parse().ok()?, max_side: side.parse().ok()?, max_bytes: bytes.parse().ok()? };
    Some((wish, limits))
}

struct Answer {
    out: BufWriter<File>,
}

impl Answer {
    fn header(&mut self, source: &Source) -> io::Result<()> {
        match in_process::header(source) {
            Ok(header) => self.done(&header),
            Err(e) => self.failed(&e),
        }
    }

    fn picture(&mut self, source: &Source, limits: &Limits) -> io::Result<()> {
        let mut gone = Ok(());
        let unpacked = in_process::unpack_told(source, limits, &mut |bytes| {
            gone = self.said(SIZED, &Said(|out| bytes.put(out)));
        });
        gone?;
        match unpacked {
            Ok(Unpacked::Picture(decoded)) => {
                let Decoded { frame, format, metadata, icc, notes } = decoded;
                let bits = if frame.bits() == 8 { EIGHT } else { SIXTEEN };
                let header = Header { format, width: frame.width, height: frame.height, metadata };
                self.done(&Said(|out| {
                    bits.put(out);
                    header.put(out);
                    frame.encoding.put(out);
                    icc.put(out);
                    notes.put(out);
                }))?;
                self.pixels(match &frame.samples {
                    Samples::U8(codes) => codes,
                    Samples::U16(codes) => bytemuck::cast_slice(codes),
                })
            }
            #[cfg(feature = "raw")]
            Ok(Unpacked::Sensor { mut mosaic, format }) => {
                // Sent as they are, after the words.
                let samples = std::mem::take(&mut mosaic.samples);
                self.done(&Said(|out| {
                    SENSOR.put(out);
                    format.put(out);
                    mosaic.put(out);
                }))?;
                self.pixels(bytemuck::cast_slice(&samples))
            }
            Err(e) => self.failed(&e),
        }
    }

    fn rows(&mut self, source: &Source, limits: &Limits) -> io::Result<()> {
        let rows = match rows::here(source, limits) {
            Ok(rows) => rows,
            Err(e) => return self.failed(&e),
        };
        self.done(&Said(|out| {
            rows.width.put(out);
            rows.height.put(out);
            rows.encoding.put(out);
        }))?;
        let mut gone = Ok(());
        let read = rows.each(|row| {
            if gone.is_ok() {
                gone = self.out.write_all(bytemuck::cast_slice(row));
            }
        });
        gone?;
        match read {
            Ok(()) => self.done(&Said(|_| {})),
            Err(e) => self.failed(&e),
        }
    }

    fn done(&mut self, said: &impl Say) -> io::Result<()> {
        self.said(DONE, said)
    }

    fn said(&mut self, kind: u8, said: &impl Say) -> io::Result<()> {
        let mut words = Vec::new();
        said.say(&mut words);
        self.words(kind, &words)
    }

    fn failed(&mut self, e: &Error) -> io::Result<()> {
        let mut words = Vec::new();
        put_error(e, &mut words);
        self.words(FAILED, &words)
    }

    fn words(&mut self, kind: u8, words: &[u8]) -> io::Result<()> {
        let mut head = vec![kind];
        (words.len() as u64).put(&mut head);
        self.out.write_all(&head)?;
        self.out.write_all(words)?;
        self.out.flush()
    }

    fn pixels(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.out.write_all(bytes)?;
        self.out.flush()
    }
}

/// What an answer says before its pixels.
trait Say {
    fn say(&self, out: &mut Vec<u8>);
}

impl Say for Header {
    fn say(&self, out: &mut Vec<u8>) {
        self.put(out);
    }
}

struct Said<F: Fn(&mut Vec<u8>)>(F);

impl<F: Fn(&mut Vec<u8>)> Say for Said<F> {
    fn say(&self, out: &mut Vec<u8>) {
        (self.0)(out);
    }
}
