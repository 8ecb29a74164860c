//! What became of a quote.

/// What became of a quote that a document is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum State {
    /// It stands, or was not issued.
    #[default]
    InForce,
    /// A later revision has its place.
    Superseded,
    /// It was taken back.
    Reversed,
}
