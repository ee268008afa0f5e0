//! The day and time of this machine, whatever its clock says: a clock before 1970 stops nothing.

use chrono::{DateTime, Local, Utc};
use std::time::{SystemTime, UNIX_EPOCH};

/// Now, UTC. The date library's own way ends the program where the clock stands before 1970.
fn now() -> DateTime<Utc> {
    let seconds = match SystemTime::now().duration_since(UNIX_EPOCH) {
        Ok(after) => i64::try_from(after.as_secs()).unwrap_or_default(),
        Err(before) => -i64::try_from(before.duration().as_secs()).unwrap_or_default(),
    };
    DateTime::from_timestamp(seconds, 0).unwrap_or_default()
}

/// Today where this machine is, `2026-11-25`.
pub fn today() -> String {
    now().with_timezone(&Local).format("%Y-%m-%d").to_string()
}

/// Now, `2026-11-25T20:15:00Z`.
pub fn now_utc() -> String {
    now().format("%Y-%m-%dT%H:%M:%SZ").to_string()
}
