//! Whether the last page of what was set is worth a sheet of paper.

use typst::layout::{Abs, Frame, FrameItem};
use typst_layout::PagedDocument;

/// Does the last of several pages end in its upper third?
pub(super) fn ends_on_a_few_lines(document: &PagedDocument) -> bool {
    match document.pages() {
        [_, .., last] => {
            let height = last.frame.height();
            let lowest = lowest(&last.frame, Abs::zero(), height - Abs::mm(BOTTOM));
            lowest < height / SHORT
        }
        _ => false,
    }
}

/// What stands lower is the number of the page.
const BOTTOM: f64 = 17.0;
/// A page is short whose text ends in that part of it.
const SHORT: f64 = 3.0;

/// The lowest line of text above that height.
fn lowest(frame: &Frame, from: Abs, above: Abs) -> Abs {
    let heights = frame.items().map(|(place, item)| match item {
        FrameItem::Group(group) => lowest(&group.frame, from + place.y, above),
        FrameItem::Text(_) if from + place.y <= above => from + place.y,
        _ => Abs::zero(),
    });
    heights.max().unwrap_or_default()
}
