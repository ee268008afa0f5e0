//! The verdict marks: drawings of a print instead of coloured dots.

use crate::finding::Verdict;

/// The drawings, defined once and used by name. *keep*: a small print lying flat with its shadow. *look*: the same with an
/// eye-sized gap in its border. *reshoot*: the print lifted and turned.
pub(super) const SYMBOLS: &str = r##"<svg width="0" height="0" style="position:absolute" aria-hidden="true" focusable="false">
<symbol id="m-keep" viewBox="0 0 48 48"><path class="shade" d="M13 9h26v33H13z"/><path class="leaf" d="M10 6h26v33H10z"/><path class="pane" d="M13 9h20v20H13z"/></symbol>
<symbol id="m-look" viewBox="0 0 48 48"><path class="shade" d="M13 9h26v33H13z"/><path class="leaf" d="M36 14.5V6H10v33h26v-8.5"/><path class="pane" d="M13 9h20v20H13z"/><path class="lid" d="M28 22.5q8-9 16 0q-8 9-16 0z"/><circle class="iris" cx="36" cy="22.5" r="2.6"/></symbol>
<symbol id="m-reshoot" viewBox="0 0 48 48"><path class="shade far" d="M17 16h26v28H17z"/><g transform="rotate(-15 21 21)"><path class="leaf" d="M8 4h26v33H8z"/><path class="pane" d="M11 7h20v20H11z"/></g></symbol>
<symbol id="m-none" viewBox="0 0 48 48"><path class="leaf dash" d="M10 6h26v33H10z"/></symbol>
</svg>"##;

/// The mark of a verdict.
pub(super) fn mark(verdict: Option<Verdict>) -> String {
    // The marks draw prints; a frame without one has the empty one.
    let name =
        verdict.filter(|v| matches!(v, Verdict::Keep | Verdict::Look | Verdict::Reshoot)).map_or("none", Verdict::word);
    format!(r##"<svg class="mark" aria-hidden="true" focusable="false"><use href="#m-{name}"/></svg>"##)
}
