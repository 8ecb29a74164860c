//! What is done to a disk, and what of it is certain when the power goes.

use std::collections::BTreeMap;
use std::sync::Arc;

/// A file by what it holds, whatever it is called: one that is removed and made again is another.
pub type File = usize;

/// Files of one folder, by their names.
pub type Image = BTreeMap<Arc<str>, Vec<u8>>;

/// One thing that was done, or said.
#[derive(Debug, Clone)]
pub enum Op {
    /// The folder was given a name for a new file.
    Created {
        /// What it is called.
        name: Arc<str>,
        /// The file.
        file: File,
    },
    /// The folder has lost a name.
    Removed {
        /// What it was called.
        name: Arc<str>,
    },
    /// Bytes were written into a file.
    Wrote {
        /// The file.
        file: File,
        /// Where the first of them stands.
        at: usize,
        /// The bytes.
        bytes: Arc<[u8]>,
    },
    /// A file was cut off, or made longer by zeros.
    Resized {
        /// The file.
        file: File,
        /// How many bytes it has since.
        size: usize,
    },
    /// All that was written into a file before is on the disk.
    Flushed {
        /// The file.
        file: File,
    },
    /// All names are on the disk as they are.
    FolderFlushed,
    /// Somebody was told that everything up to this event is kept.
    Answered {
        /// The sequence of the event.
        sequence: u64,
    },
}

/// What became of one thing that was not flushed when the power went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fate {
    /// It is on the disk.
    Whole,
    /// It is not.
    Lost,
    /// Of a write, some sectors are.
    Torn(Tear),
}

/// How a write was torn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tear {
    /// Bytes of a sector.
    pub sector: usize,
    /// Which sectors of the write were reached.
    pub reached: Reached,
    /// What stands in the others.
    pub rest: Rest,
}

/// Which sectors of a write were reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reached {
    /// This many from the first.
    First(usize),
    /// All but this many from the first.
    AllBut(usize),
    /// Those whose bit is set, over and over.
    Bits(u64),
}

/// What stands in a sector that should have been written and was not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rest {
    /// What stood there before; nothing, where the file ended.
    Old,
    /// Zeros: the file has become longer and its bytes never came.
    Zeros,
    /// Anything.
    Garbage,
}

/// What is on a disk for certain, and what may be.
#[derive(Debug, Clone, Default)]
pub struct Medium {
    names: BTreeMap<Arc<str>, File>,
    files: BTreeMap<File, Vec<u8>>,
    /// Not flushed so far, in order.
    open: Vec<Op>,
}

impl Medium {
    /// After one thing more.
    pub fn take(&mut self, op: &Op) {
        match op {
            Op::Flushed { file } => self.settle(|op| file_of(op) == Some(*file)),
            Op::FolderFlushed => self.settle(|op| file_of(op).is_none()),
            Op::Answered { .. } => {}
            op => self.open.push(op.clone()),
        }
    }

    /// What may be on the disk and may be not, in order.
    pub fn open(&self) -> &[Op] {
        &self.open
    }

    /// What is left where each of [`open`](Self::open) has had its fate. Bytes beside a write are never touched.
    pub fn left(&self, fates: &[Fate]) -> Image {
        let mut names = self.names.clone();
        for (op, fate) in self.open.iter().zip(fates).filter(|(op, _)| file_of(op).is_none()) {
            if *fate == Fate::Whole {
                rename(&mut names, op);
            }
        }
        let content = |file: File| {
            let mut bytes = self.files.get(&file).cloned().unwrap_or_default();
            for (op, fate) in self.open.iter().zip(fates).filter(|(op, _)| file_of(op) == Some(file)) {
                suffer(&mut bytes, op, *fate);
            }
            bytes
        };
        names.into_iter().map(|(name, file)| (name, content(file))).collect()
    }

    /// Names and files as whoever still runs sees them.
    pub fn seen(mut self) -> (BTreeMap<Arc<str>, File>, BTreeMap<File, Vec<u8>>) {
        self.settle(|_| true);
        (self.names, self.files)
    }

    fn settle(&mut self, is_of: impl Fn(&Op) -> bool) {
        for op in std::mem::take(&mut self.open) {
            match file_of(&op) {
                _ if !is_of(&op) => self.open.push(op),
                Some(file) => suffer(self.files.entry(file).or_default(), &op, Fate::Whole),
                None => rename(&mut self.names, &op),
            }
        }
    }
}

/// A disk that holds this and nothing else, as things done to an empty one.
pub fn ops_of(image: &Image) -> Vec<Op> {
    let of = |(file, (name, bytes)): (File, (&Arc<str>, &Vec<u8>))| {
        let bytes = bytes.as_slice().into();
        let name = Arc::clone(name);
        [Op::Created { name, file }, Op::Wrote { file, at: 0, bytes }, Op::Flushed { file }]
    };
    image.iter().enumerate().flat_map(of).chain([Op::FolderFlushed]).collect()
}

/// The file whose bytes it is about; none where it is about names.
pub fn file_of(op: &Op) -> Option<File> {
    match op {
        Op::Wrote { file, .. } | Op::Resized { file, .. } | Op::Flushed { file } => Some(*file),
        Op::Created { .. } | Op::Removed { .. } | Op::FolderFlushed | Op::Answered { .. } => None,
    }
}

fn rename(names: &mut BTreeMap<Arc<str>, File>, op: &Op) {
    match op {
        Op::Created { name, file } => drop(names.insert(Arc::clone(name), *file)),
        Op::Removed { name } => drop(names.remove(name)),
        _ => {}
    }
}

fn suffer(content: &mut Vec<u8>, op: &Op, fate: Fate) {
    match (op, fate) {
        (_, Fate::Lost) => {}
        (Op::Resized { size, .. }, _) => content.resize(*size, 0),
        (Op::Wrote { at, bytes, .. }, Fate::Whole) => put(content, *at, bytes),
        (Op::Wrote { at, bytes, .. }, Fate::Torn(tear)) => tear_apart(content, *at, bytes, tear),
        _ => {}
    }
}

/// Bytes at their place; what lies between the end and them is zeros.
pub fn put(content: &mut Vec<u8>, at: usize, bytes: &[u8]) {
    let end = at.saturating_add(bytes.len());
    if content.len() < end {
        content.resize(end, 0);
    }
    if let Some(place) = content.get_mut(at..end) {
        place.copy_from_slice(bytes);
    }
}

fn tear_apart(content: &mut Vec<u8>, at: usize, bytes: &[u8], tear: Tear) {
    let sector = tear.sector.max(1);
    let mut from = at;
    let end = at.saturating_add(bytes.len());
    let mut place = 0_usize;
    while from < end {
        let to = (from / sector).saturating_add(1).saturating_mul(sector).min(end);
        let Some(piece) = bytes.get(from - at..to - at) else { return };
        match (reaches(tear.reached, place), tear.rest) {
            (true, _) => put(content, from, piece),
            (false, Rest::Old) => {}
            (false, Rest::Zeros) => put(content, from, &vec![0; piece.len()]),
            (false, Rest::Garbage) => put(content, from, &garbage(from, piece.len())),
        }
        (from, place) = (to, place.saturating_add(1));
    }
}

fn reaches(reached: Reached, place: usize) -> bool {
    match reached {
        Reached::First(count) => place < count,
        Reached::AllBut(count) => place >= count,
        Reached::Bits(bits) => bits.rotate_right(u32::try_from(place % 64).unwrap_or(0)) & 1 == 1,
    }
}

/// Bytes that nobody wrote, the same at the same place.
fn garbage(at: usize, len: usize) -> Vec<u8> {
    let byte = |place: usize| {
        let [.., high] = place.wrapping_mul(0x9e37_79b9_7f4a_7c15).to_be_bytes().map(|byte| byte | 1);
        high
    };
    (at..at.saturating_add(len)).map(byte).collect()
}
