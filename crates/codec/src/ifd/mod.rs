//! Image file directories (TIFF 6.0, 1992, section 2): the tagged lists inside TIFF, DNG and Exif.

// Without camera raw no DNG is written, and what only that needs lies idle.
#![cfg_attr(not(feature = "raw"), allow(dead_code))]
mod read;
mod write;

pub(crate) use read::{Directory, Reader};
pub(crate) use write::{Ifd, Value, block, rational};

// Tag numbers: TIFF 6.0, Exif 2.32 (CIPA DC-008), DNG 1.7.
pub(crate) const SUBFILE_TYPE: u16 = 254;
pub(crate) const WIDTH: u16 = 256;
pub(crate) const HEIGHT: u16 = 257;
pub(crate) const BITS: u16 = 258;
pub(crate) const COMPRESSION: u16 = 259;
pub(crate) const PHOTOMETRIC: u16 = 262;
pub(crate) const DESCRIPTION: u16 = 270;
pub(crate) const MAKE: u16 = 271;
pub(crate) const MODEL: u16 = 272;
pub(crate) const STRIP_OFFSETS: u16 = 273;
pub(crate) const ORIENTATION: u16 = 274;
pub(crate) const SAMPLES: u16 = 277;
pub(crate) const ROWS_PER_STRIP: u16 = 278;
pub(crate) const STRIP_COUNTS: u16 = 279;
pub(crate) const X_RESOLUTION: u16 = 282;
pub(crate) const Y_RESOLUTION: u16 = 283;
pub(crate) const PLANAR: u16 = 284;
pub(crate) const RESOLUTION_UNIT: u16 = 296;
pub(crate) const SOFTWARE: u16 = 305;
pub(crate) const DATE_TIME: u16 = 306;
pub(crate) const ARTIST: u16 = 315;
pub(crate) const PREDICTOR: u16 = 317;
pub(crate) const TILE_OFFSETS: u16 = 324;
pub(crate) const TILE_COUNTS: u16 = 325;
pub(crate) const SUB_IFDS: u16 = 330;
pub(crate) const SAMPLE_FORMAT: u16 = 339;
pub(crate) const PREVIEW: u16 = 513;
pub(crate) const PREVIEW_COUNT: u16 = 514;
pub(crate) const XMP: u16 = 700;
pub(crate) const CFA_REPEAT: u16 = 33421;
pub(crate) const CFA_PATTERN: u16 = 33422;
pub(crate) const COPYRIGHT: u16 = 33432;
pub(crate) const EXPOSURE: u16 = 33434;
pub(crate) const F_NUMBER: u16 = 33437;
pub(crate) const EXIF: u16 = 34665;
pub(crate) const ICC: u16 = 34675;
pub(crate) const ISO: u16 = 34855;
pub(crate) const EXIF_VERSION: u16 = 36864;
pub(crate) const DATE_ORIGINAL: u16 = 36867;
pub(crate) const COMPONENTS: u16 = 37121;
pub(crate) const FLASH: u16 = 37385;
pub(crate) const FOCAL_LENGTH: u16 = 37386;
pub(crate) const FOCAL_LENGTH_35: u16 = 41989;
pub(crate) const MAKER_NOTE: u16 = 37500;
pub(crate) const FLASHPIX: u16 = 40960;
pub(crate) const COLOUR_SPACE: u16 = 40961;
pub(crate) const EXIF_WIDTH: u16 = 40962;
pub(crate) const EXIF_HEIGHT: u16 = 40963;
pub(crate) const INTEROP: u16 = 40965;
pub(crate) const FOCAL_PLANE_X: u16 = 41486;
pub(crate) const FOCAL_PLANE_UNIT: u16 = 41488;
pub(crate) const LENS_MODEL: u16 = 42036;
pub(crate) const DNG_VERSION: u16 = 50706;
