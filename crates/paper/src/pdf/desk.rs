//! Where the typesetter looks for things: fonts and layout carried in the crate, the sheet, its logo and
//! what is attached to it. There is no file, no network and no clock.

use std::sync::LazyLock;

use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Feature, Library, LibraryExt as _, World};

/// How every sheet is set.
const LAYOUT: &str = include_str!("sheet.typ");

/// What is the same for every document.
struct Desk {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    layout: Option<Source>,
}

impl Desk {
    fn the() -> &'static Self {
        static DESK: LazyLock<Desk> = LazyLock::new(|| {
            let all = typst_assets::fonts().flat_map(|bytes| Font::iter(Bytes::new(bytes)));
            let fonts: Vec<Font> =
                all.filter(|font| FAMILIES.contains(&font.info().family.as_str())).collect();
            Desk {
                library: LazyHash::new(library()),
                book: LazyHash::new(FontBook::from_fonts(&fonts)),
                fonts,
                layout: id("sheet.typ").map(|id| Source::new(id, LAYOUT.to_owned())),
            }
        });
        &DESK
    }
}

/// What layouts can call; with it, a cell of a header can be tagged as one of data.
fn library() -> Library {
    Library::builder().with_features([Feature::A11yExtras].into_iter().collect()).build()
}

/// The fonts that documents are set in: the first, and where it lacks a letter the next.
const FAMILIES: [&str; 3] = ["Libertinus Serif", "New Computer Modern", "DejaVu Sans Mono"];

/// A name that the layout can ask for.
fn id(name: &str) -> Option<FileId> {
    let path = VirtualPath::new(name).ok()?;
    Some(RootedPath::new(VirtualRoot::Project, path).intern())
}

/// One document on the desk.
pub(super) struct Setting {
    desk: &'static Desk,
    main: FileId,
    layout: Source,
    /// What the layout can read, by name.
    files: Vec<(FileId, Bytes)>,
}

impl Setting {
    /// A document, with the files that its layout reads.
    pub(super) fn new(files: impl IntoIterator<Item = (&'static str, Vec<u8>)>) -> Option<Self> {
        let desk = Desk::the();
        let layout = desk.layout.clone()?;
        let files = files.into_iter().map(|(name, bytes)| Some((id(name)?, Bytes::new(bytes))));
        Some(Self { desk, main: layout.id(), layout, files: files.collect::<Option<_>>()? })
    }
}

impl World for Setting {
    fn library(&self) -> &LazyHash<Library> {
        &self.desk.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.desk.book
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.main { Ok(self.layout.clone()) } else { Err(FileError::AccessDenied) }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        let found = self.files.iter().find(|(name, _)| *name == id);
        found.map(|(_, bytes)| bytes.clone()).ok_or(FileError::AccessDenied)
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.desk.fonts.get(index).cloned()
    }

    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}
