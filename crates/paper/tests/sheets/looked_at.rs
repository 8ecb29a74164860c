//! Sheets held against what somebody has looked at: their texts and their pictures. `EVENFARE_BLESS=1` writes
//! them anew.

use std::fs;
use std::path::{Path, PathBuf};

use evenfare_paper::pdf::set;
use evenfare_paper::sheet::Sheet;
use tiny_skia::{Pixmap, PremultipliedColorU8};

use crate::pages::text;

fn blesses() -> bool {
    std::env::var_os("EVENFARE_BLESS").is_some_and(|value| value == "1")
}

fn golden(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/sheets/golden").join(name)
}

/// What stands on a sheet is what stood on it when somebody read it.
pub fn check_text(name: &str, sheet: &Sheet) {
    check_lines(name, &text(&set(sheet, &[]).unwrap()));
}

/// Lines are those that somebody read.
pub fn check_lines(name: &str, found: &str) {
    let path = golden(&format!("{name}.txt"));
    if blesses() {
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        return fs::write(path, found).unwrap();
    }
    let expected = fs::read_to_string(&path).unwrap_or_default();
    for (number, (found, expected)) in found.lines().zip(expected.lines()).enumerate() {
        assert_eq!(found, expected, "{name}, line {}", number + 1);
    }
    assert_eq!(found.lines().count(), expected.lines().count(), "{name} ends elsewhere");
}

/// Dots for each point of the paper: what is below and above each other shows, single letters do not.
const DOTS: f32 = 0.55;
/// How much a dot may differ, out of 255, before it counts.
const SHADE: u8 = 48;
/// How many dots out of a thousand may differ: edges of letters are computed in floating point.
const THOUSANDTHS: usize = 2;

/// A page looks as it did when somebody looked at it.
pub fn check_picture(name: &str, sheet: &Sheet, page: usize) {
    let document = set(sheet, &[]).unwrap();
    let options = typst_render::RenderOptions { pixel_per_pt: f64::from(DOTS).into(), ..Default::default() };
    let found = typst_render::render(&document.pages()[page], &options);
    let path = golden(&format!("{name}-{}.png", page + 1));
    if blesses() {
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        return fs::write(path, found.encode_png().unwrap()).unwrap();
    }
    let expected = Pixmap::decode_png(&fs::read(&path).unwrap()).unwrap();
    let same_size = (found.width(), found.height()) == (expected.width(), expected.height());
    let shades = |dot: &PremultipliedColorU8| [dot.red(), dot.green(), dot.blue()];
    let differs = |(a, b): (&PremultipliedColorU8, &PremultipliedColorU8)| {
        shades(a).iter().zip(shades(b)).any(|(a, b)| a.abs_diff(b) > SHADE)
    };
    let different = found.pixels().iter().zip(expected.pixels()).filter(|&pair| differs(pair)).count();
    if !same_size || different * 1_000 > found.pixels().len() * THOUSANDTHS {
        let beside = std::env::temp_dir().join(format!("{name}-{}-found.png", page + 1));
        fs::write(&beside, found.encode_png().unwrap()).unwrap();
        panic!("{name}, page {}: {different} dots differ; see {}", page + 1, beside.display());
    }
}
