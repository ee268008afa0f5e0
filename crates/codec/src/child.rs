//! Starts a separate process to decode one picture, and validates its answer.

use crate::decoder::Decoder;
use crate::source::Source;
use crate::wire::{Wire, get_error};
use crate::{Decoded, Error, Header, Limits, Unpacked, bounds};
use pixels::{Encoding, Frame, Samples};
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use std::io::{self, Read};
use std::path::PathBuf;
use std::process::{self, ChildStdout, Command, Stdio};
use std::time::{Duration, Instant};

/// Bytes of an answer without its pixels: profile, Exif and XMP stay below 8 MiB each.
const MOST_WORDS: u64 = 64 << 20;
/// Bytes that wait in the pipe, where the system allows: a row or more of most pictures at a time.
const PIPE: usize = 1 << 20;

/// Kinds of request, as arguments on the command line.
pub(crate) const HEADER: &str = "header";
pub(crate) const PICTURE: &str = "picture";
pub(crate) const ROWS: &str = "rows";

/// First byte of an answer, and of what follows its rows.
pub(crate) const FAILED: u8 = 0;
pub(crate) const DONE: u8 = 1;
/// First byte of what may come before an answer: how many bytes its pixels will take.
pub(crate) const SIZED: u8 = 2;

/// Memory is made ready for pixels of at most so many times the file's length before they are decoded: five photographs out of six take
/// less than 20, and a small file that claims much has nothing made for it.
const READY: u64 = 40;
/// Bytes between two that are touched, so that the system hands memory out: the least page of any machine.
const PAGE: usize = 4096;

/// What an answer with pixels begins with.
pub(crate) const EIGHT: u8 = 8;
pub(crate) const SIXTEEN: u8 = 16;
pub(crate) const SENSOR: u8 = 1;

pub(super) fn header(decoder: &Decoder, source: &Source) -> Result<Header, Error> {
    let mut child = Child::ask(decoder, source, HEADER, &Limits::default())?;
    let words = child.words()?;
    Header::get(&mut &words[..]).ok_or_else(|| child.ended())
}

pub(super) fn unpack(decoder: &Decoder, source: &Source, limits: &Limits) -> Result<Unpacked, Error> {
    let mut child = Child::ask(decoder, source, PICTURE, limits)?;
    let words = child.words()?;
    let said = &mut &words[..];
    match u8::get(said) {
        #[cfg(feature = "raw")]
        Some(SENSOR) => child.sensor(said, limits),
        Some(bits @ (EIGHT | SIXTEEN)) => child.picture(said, bits, limits).map(Unpacked::Picture),
        _ => Err(child.ended()),
    }
}

/// The size and encoding of a picture, and the process that gives its rows.
pub(super) fn rows(
    decoder: &Decoder,
    source: &Source,
    limits: &Limits,
) -> Result<(usize, usize, Encoding, Child), Error> {
    let mut child = Child::ask(decoder, source, ROWS, limits)?;
    let words = child.words()?;
    let said = &mut &words[..];
    let head = (|| Some((usize::get(said)?, usize::get(said)?, Encoding::get(said)?)))();
    let (width, height, encoding) = head.ok_or_else(|| child.ended())?;
    limits.check(source.path(), width as u64, height as u64, 3)?;
    Ok((width, height, encoding, child))
}

/// A process that decodes one picture, ended when this is dropped.
pub(crate) struct Child {
    path: PathBuf,
    /// Taken when this is dropped.
    process: Option<process::Child>,
    out: ChildStdout,
    /// The file's length.
    length: u64,
    /// Memory for the pixels, made ready while they are decoded.
    room: Vec<u8>,
    /// Time that may still be waited.
    left: Duration,
}

impl Child {
    fn ask(decoder: &Decoder, source: &Source, wish: &str, limits: &Limits) -> Result<Self, Error> {
        let path = source.path().to_path_buf();
        let failed = |e: io::Error| Error::Unreadable {
            path: path.clone(),
            why: format!("its decoder could not be started ({})", crate::error::plain(&e)),
        };
        let mut process = Command::new(&decoder.program)
            .args(&decoder.words)
            .arg(wish)
            .args([limits.max_pixels, limits.max_side.into(), limits.max_bytes].map(|n| n.to_string()))
            .env("RAYON_NUM_THREADS", rayon::current_num_threads().min(bounds::THREADS).to_string())
            // The allocator's arenas are address space, which is what is bounded.
            .env("MALLOC_ARENA_MAX", "2")
            // Large buffers in large pages (glibc 2.35 and later; others pass it over): a third of the process's time went into
            // handing out small ones, more than sending the pixels costs.
            .env("GLIBC_TUNABLES", "glibc.malloc.hugetlb=1")
            .stdin(source.file().try_clone().map_err(failed)?)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .map_err(failed)?;
        let Some(out) = process.stdout.take() else {
            return Err(failed(io::ErrorKind::BrokenPipe.into()));
        };
        // Smaller where the system refuses: slower, and nothing else.
        #[cfg(target_os = "linux")]
        let _ = rustix::pipe::fcntl_setpipe_size(&out, PIPE);
        let (process, length, room) = (Some(process), source.length(), vec![]);
        Ok(Self { path, process, out, length, room, left: bounds::TIME })
    }

    /// The answer without its pixels.
    fn words(&mut self) -> Result<Vec<u8>, Error> {
        let (mut kind, mut words) = self.said()?;
        if kind == SIZED {
            u64::get(&mut &words[..]).into_iter().for_each(|bytes| self.make_ready(bytes));
            (kind, words) = self.said()?;
        }
        match kind {
            DONE => Ok(words),
            _ => Err(get_error(&mut &words[..], &self.path).unwrap_or_else(|| self.ended())),
        }
    }

    fn said(&mut self) -> Result<(u8, Vec<u8>), Error> {
        let mut head = [0; 9];
        self.fill(&mut head)?;
        let n = u64::get(&mut &head[1..]).filter(|n| *n <= MOST_WORDS).ok_or_else(|| self.ended())?;
        let mut words = vec![0; n as usize];
        self.fill(&mut words)?;
        Ok((head[0], words))
    }

    /// Makes memory ready for pixels while they are decoded: the system clears each page when it is first touched, which would take as
    /// long as reading the pixels does.
    fn make_ready(&mut self, bytes: u64) {
        if bytes <= self.length.saturating_mul(READY) {
            self.room = vec![0; bytes as usize];
            self.room.iter_mut().step_by(PAGE).for_each(|b| *b = 1);
        }
    }

    #[cfg(feature = "raw")]
    fn sensor(&mut self, said: &mut &[u8], limits: &Limits) -> Result<Unpacked, Error> {
        let head = (|| Some((crate::Format::get(said)?, crate::raw::Mosaic::get(said)?)))();
        let (format, mut mosaic) = head.ok_or_else(|| self.ended())?;
        mosaic.samples = vec![0; self.pixels(mosaic.width, mosaic.height, 2, limits)?];
        self.fill(bytemuck::cast_slice_mut(&mut mosaic.samples))?;
        Ok(Unpacked::Sensor { mosaic, format })
    }

    fn picture(&mut self, said: &mut &[u8], bits: u8, limits: &Limits) -> Result<Decoded, Error> {
        let head = (|| Some((Header::get(said)?, Encoding::get(said)?, Wire::get(said)?, Wire::get(said)?)))();
        let (Header { format, width, height, metadata }, encoding, icc, notes) = head.ok_or_else(|| self.ended())?;
        let n = 3 * self.pixels(width, height, 3 * u64::from(bits) / 8, limits)?;
        let samples = if bits == EIGHT {
            let mut codes = Some(std::mem::take(&mut self.room)).filter(|r| r.len() == n).unwrap_or_else(|| vec![0; n]);
            self.fill(&mut codes)?;
            Samples::U8(codes)
        } else {
            let mut codes = vec![0; n];
            self.fill(bytemuck::cast_slice_mut(&mut codes))?;
            Samples::U16(codes)
        };
        Ok(Decoded { frame: Frame { width, height, samples, encoding }, format, metadata, icc, notes })
    }

    fn pixels(&self, width: usize, height: usize, bytes_per_px: u64, limits: &Limits) -> Result<usize, Error> {
        limits.check(&self.path, width as u64, height as u64, bytes_per_px)?;
        Ok(width * height)
    }

    /// The next codes of a picture that comes row by row.
    pub fn codes(&mut self, into: &mut [u16]) -> Result<(), Error> {
        self.fill(bytemuck::cast_slice_mut(into))
    }

    /// Whether all rows that came were right.
    pub fn finish(mut self) -> Result<(), Error> {
        self.words().map(drop)
    }

    /// Reads until `into` is full.
    fn fill(&mut self, mut into: &mut [u8]) -> Result<(), Error> {
        while !into.is_empty() {
            if !self.wait() {
                return Err(self.stopped(&format!("took more than {} s", bounds::TIME.as_secs())));
            }
            match self.out.read(into) {
                Ok(0) => return Err(self.ended()),
                Ok(n) => into = &mut into[n..],
                Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
                Err(_) => return Err(self.ended()),
            }
        }
        Ok(())
    }

    /// Waits for something to read; false where the time is over. Only waiting counts: whoever reads may take long.
    fn wait(&mut self) -> bool {
        let start = Instant::now();
        let most = Timespec { tv_sec: self.left.as_secs() as i64, tv_nsec: self.left.subsec_nanos().into() };
        let ready = poll(&mut [PollFd::new(&self.out, PollFlags::IN)], Some(&most));
        self.left = self.left.saturating_sub(start.elapsed());
        // An interrupted wait goes on with what is left.
        ready != Ok(0) && !self.left.is_zero()
    }

    /// The error of a process that ended before its answer did.
    fn ended(&mut self) -> Error {
        let says = self.process.as_mut().and_then(|process| {
            let _ = process.kill();
            let _ = process.wait();
            process.stderr.take()
        });
        // What it said last lies in the pipe; nothing that it may have started is waited for.
        let mut last = vec![0; 1 << 16];
        let said = says.map_or(0, |mut says| {
            let ready = poll(&mut [PollFd::new(&says, PollFlags::IN)], Some(&Timespec::default()));
            if ready == Ok(1) { says.read(&mut last).unwrap_or(0) } else { 0 }
        });
        last.truncate(said);
        let last = String::from_utf8_lossy(&last);
        self.stopped(if last.contains("memory allocation of") {
            "requested more memory than such a picture needs"
        } else if last.contains("overflowed its stack") {
            "recursed without end"
        } else {
            "was ended by the system"
        })
    }

    fn stopped(&self, why: &str) -> Error {
        Error::Stopped { path: self.path.clone(), why: why.into() }
    }
}

impl Drop for Child {
    fn drop(&mut self) {
        let Some(mut process) = self.process.take() else { return };
        let _ = process.kill();
        // The system takes milliseconds to take back the memory of a large picture: nobody waits for that. Where no thread can be had,
        // the process is waited for by nobody, and is gone with this program.
        let _ = std::thread::Builder::new().spawn(move || process.wait());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a shell does in the decoder's place, and what is said of the file.
    fn says(script: &str, left: Duration) -> String {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.jpg");
        std::fs::write(&path, b"some bytes").unwrap();
        let decoder = Decoder { program: "sh".into(), words: vec!["-c".into(), script.into()] };
        let source = Source::open(&path).unwrap();
        let mut child = Child::ask(&decoder, &source, PICTURE, &Limits::default()).unwrap();
        child.left = left;
        let e = child.words().unwrap_err();
        assert_eq!(e.path(), path);
        e.to_string()
    }

    #[test]
    fn whatever_a_decoder_does_is_one_error_in_time() {
        let begun = Instant::now();
        let second = Duration::from_secs(1);
        assert!(says("exec sleep 600", second).contains("took more than"));
        // A word now and then buys no time.
        assert!(says("while :; do printf '\\001'; sleep 0.3; done", second).contains("took more than"));
        let memory = "echo 'memory allocation of 99 bytes failed' >&2; kill -ABRT $$";
        assert!(says(memory, bounds::TIME).contains("requested more memory"));
        assert!(
            says("echo 'thread has overflowed its stack' >&2; kill -SEGV $$", bounds::TIME)
                .contains("recursed without end")
        );
        for script in ["exit 3", "head -c 90000 /dev/zero | tr '\\0' '\\377'", "printf '\\001'", "yes nonsense"] {
            assert!(says(script, bounds::TIME).contains("was ended by the system"), "{script}");
        }
        assert!(begun.elapsed() < Duration::from_secs(30));
    }
}
