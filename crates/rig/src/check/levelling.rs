//! How to level a camera that leans.

use base::wording::{length, list};

/// Edges of the board to raise for a camera that leans, each with its lean in degrees, the larger first.
///
/// World axes: x to the image's right, y to its top, z up; the camera's back points to `(sin ty, -sin tx cos ty, ...)`. The board
/// is square to it when it rises towards the top for a positive `tilt_x`, and towards the left for a positive `tilt_y`.
pub(super) fn edges_to_raise(tilt_x: f64, tilt_y: f64) -> Vec<(&'static str, f64)> {
    let x = (if tilt_x > 0.0 { "top" } else { "bottom" }, tilt_x.abs());
    let y = (if tilt_y > 0.0 { "left" } else { "right" }, tilt_y.abs());
    let mut both = if x.1 >= y.1 { vec![x, y] } else { vec![y, x] };
    // A lesser lean of under a fifth of the whole is left to the next look.
    both.retain(|e| e.1 > 0.2 * tilt_x.hypot(tilt_y));
    both
}

/// The move that makes a leaning camera and its board square.
pub(super) fn level(tilt_x: f64, tilt_y: f64, board_mm: f64) -> String {
    let edges = edges_to_raise(tilt_x, tilt_y);
    let each: Vec<String> = edges
        .iter()
        .map(|(side, deg)| {
            format!("the board's edge at the frame's {side} {} up", length(board_mm * deg.to_radians().tan()))
        })
        .collect();
    let each: Vec<&str> = each.iter().map(String::as_str).collect();
    format!("Put {} ({} of board), or lean the camera by as much the other way.", list(&each), length(board_mm))
}
