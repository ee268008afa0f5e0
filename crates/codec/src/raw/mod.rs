//! Camera raw.

use crate::{Decoded, Error, Format, Limits, Metadata};
use std::path::Path;
pub(crate) fn recognises(_: &Path) -> bool {
    false
}
pub(crate) fn read(path: &Path, _: Format, _: &Limits) -> Result<Decoded, Error> {
    Err(Error::unsupported(path, "camera raw", ""))
}
pub(crate) fn probe(path: &Path) -> Result<((usize, usize), Metadata), Error> {
    Err(Error::unsupported(path, "camera raw", ""))
}
