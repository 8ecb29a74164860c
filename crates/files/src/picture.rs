//! Pictures that may stand at the head of a document: of a kind that is told by what is in them, and
//! standing alone.

use crate::letterhead::LogoKind;

/// The largest logo.
pub(crate) const MOST_BYTES: usize = 256 * 1024;
/// The largest side of one made of dots.
const MOST_DOTS: u32 = 4_096;

/// What is taken, in words.
pub(crate) const EXPECTED: &str = "a PNG of at most 4096 by 4096 dots, or an SVG that stands alone: without DOCTYPE, script, and references to anything but itself";

/// Does the name end as that of a picture?
pub(crate) fn is_picture(name: &str) -> bool {
    [".svg", ".png"].iter().any(|end| name.len() > end.len() && name.ends_with(end))
}

/// What kind of picture it is; nothing where it is none that is taken, or not the kind that its name says.
pub(crate) fn kind_of(name: &str, bytes: &[u8]) -> Option<LogoKind> {
    match name.rsplit_once('.')?.1 {
        "png" => is_png(bytes).then_some(LogoKind::Png),
        "svg" => is_svg(std::str::from_utf8(bytes).ok()?).then_some(LogoKind::Svg),
        _ => None,
    }
}

/// The signature, then the header with width and height (ISO/IEC 15948).
fn is_png(bytes: &[u8]) -> bool {
    let Some(rest) = bytes.strip_prefix(b"\x89PNG\r\n\x1A\n\0\0\0\x0DIHDR") else { return false };
    let side = |at: usize| {
        let end = at.checked_add(4)?;
        Some(u32::from_be_bytes(rest.get(at..end)?.try_into().ok()?))
    };
    [side(0), side(4)].iter().all(|side| side.is_some_and(|side| (1..=MOST_DOTS).contains(&side)))
}

/// Begins with its element, after a declaration and comments, and refers to itself at most.
fn is_svg(text: &str) -> bool {
    let mut rest = text.trim_start_matches('\u{feff}').trim_start();
    for (begin, end) in [("<?xml", "?>"), ("<!--", "-->")] {
        while let Some(inside) = rest.strip_prefix(begin) {
            let Some((_, after)) = inside.split_once(end) else { return false };
            rest = after.trim_start();
        }
    }
    let refers_away = |mark: &str, skipped: &[char]| {
        rest.match_indices(mark).any(|(at, _)| {
            let behind = rest.get(at..).and_then(|found| found.strip_prefix(mark)).unwrap_or_default();
            !behind.trim_start_matches(skipped).starts_with('#')
        })
    };
    let lower = rest.to_ascii_lowercase();
    rest.strip_prefix("<svg").is_some_and(|after| after.starts_with([' ', '\t', '\n', '\r', '>']))
        && !["<!doctype", "<!entity", "<script", "<foreignobject", "<image", "@import", "<?"]
            .iter()
            .any(|mark| lower.contains(mark))
        && !refers_away("href", &['=', ' ', '"', '\''])
        && !refers_away("url(", &[' ', '"', '\''])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_is_told_by_what_is_in_it() {
        let check = |name: &str, bytes: &[u8], kind| assert_eq!(kind_of(name, bytes), kind, "{name}");
        let png = |width: u32, height: u32| {
            let head = b"\x89PNG\r\n\x1A\n\0\0\0\x0DIHDR".iter().copied();
            head.chain(width.to_be_bytes()).chain(height.to_be_bytes()).collect::<Vec<u8>>()
        };
        check("logo.png", &png(64, 32), Some(LogoKind::Png));
        check("logo.svg", &png(64, 32), None);
        check("logo.png", &png(0, 32), None);
        check("logo.png", &png(64, 5_000), None);
        check("logo.png", b"\x89PNG\r\n\x1A\n", None);
        check("logo.gif", b"GIF89a", None);
        check("logo.png", b"<svg/>", None);
    }

    #[test]
    fn an_svg_stands_alone() {
        let check = |text: &str, kind| assert_eq!(kind_of("l.svg", text.as_bytes()), kind, "{text}");
        check("<?xml version=\"1.0\"?><!-- own --><svg xmlns='x'/>", Some(LogoKind::Svg));
        check("<svg ><use href=\"#a\"/><rect fill='url(#b)'/></svg>", Some(LogoKind::Svg));
        check("<svg ><use xlink:href=\"http://a/b\"/></svg>", None);
        check("<svg ><image href=\"data:image/png;base64,AA\"/></svg>", None);
        check("<svg ><rect fill='url(file:///a)'/></svg>", None);
        check("<!DOCTYPE svg><svg />", None);
        check("<svg ><SCRIPT/></svg>", None);
        check("<html><svg /></html>", None);
        check("<svgx/>", None);
        check("<!-- open <svg/>", None);
    }
}
