//! Several files in one case.

/// Begins a file; its first line is its name. Text files seldom have it.
const MARK: u8 = 0x1E;

/// The files of a case.
pub fn split(bytes: &[u8]) -> Vec<(String, &[u8])> {
    let file = |piece| {
        let at = bytes_before_line_end(piece);
        let (name, rest) = piece.split_at(at);
        (String::from_utf8_lossy(name).into_owned(), rest.get(1..).unwrap_or_default())
    };
    bytes.split(|byte| *byte == MARK).filter(|piece| !piece.is_empty()).map(file).collect()
}

fn bytes_before_line_end(piece: &[u8]) -> usize {
    piece.iter().position(|byte| *byte == b'\n').unwrap_or(piece.len())
}

/// The case that those files are.
pub fn join<'a>(files: impl IntoIterator<Item = (&'a str, &'a [u8])>) -> Vec<u8> {
    let mut bytes = Vec::new();
    for (name, content) in files {
        bytes.push(MARK);
        bytes.extend_from_slice(name.as_bytes());
        bytes.push(b'\n');
        bytes.extend_from_slice(content);
    }
    bytes
}
