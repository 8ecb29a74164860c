//! What became of a quote, in words of the store and numbers of the wire.

use evenfare_store::entry::State;

use crate::wire::pb;

impl pb::QuoteState {
    /// The store's word for it; none where it is not said.
    pub(super) const fn said(self) -> Option<State> {
        match self {
            Self::Unspecified => None,
            Self::Open => Some(State::Open),
            Self::Accepted => Some(State::Accepted),
            Self::Declined => Some(State::Declined),
            Self::Reversed => Some(State::Reversed),
            Self::Superseded => Some(State::Superseded),
        }
    }
}

impl From<State> for pb::QuoteState {
    fn from(state: State) -> Self {
        match state {
            State::Open => Self::Open,
            State::Accepted => Self::Accepted,
            State::Declined => Self::Declined,
            State::Reversed => Self::Reversed,
            State::Superseded => Self::Superseded,
        }
    }
}
