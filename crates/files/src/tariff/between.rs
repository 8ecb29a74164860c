//! How editions go together: each name once, each day one edition at most, and no day without one in between.

use crate::report::{Mistake, Says};
use crate::tariff::edition::Head;

/// What is wrong between two editions, or worth a look.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Clash {
    /// They have one name.
    Twins,
    /// Some day is of both.
    Overlap,
    /// Some day between them is of neither.
    Gap,
}

/// Two editions that clash, the one that begins first before the other.
pub(super) struct Pair<'h> {
    pub(super) clash: Clash,
    pub(super) earlier: &'h Head,
    pub(super) later: &'h Head,
}

impl Pair<'_> {
    /// The mistake, told of the later one.
    pub(super) fn at_later(&self) -> Mistake {
        let Self { clash, earlier, later } = self;
        let end = match (clash, earlier.span.until) {
            (Clash::Twins, _) => return later.twin_of(earlier),
            (Clash::Overlap, Some(until)) => format!("a day after {until}, when {} ends", earlier.code),
            (Clash::Gap, Some(until)) => format!("the day after {until}, when {} ends", earlier.code),
            (_, None) => format!("{} to end before this begins; it is open", earlier.code),
        };
        later.main.mistake("edition.from", clash.says(&later.span.from.to_string(), end))
    }
}

impl Clash {
    pub(super) fn says(self, found: &str, expected: String) -> Says {
        match self {
            Self::Twins => Says::error("duplicate_edition", found, expected),
            Self::Overlap => Says::error("overlapping_editions", found, expected),
            Self::Gap => Says::warning("gap_between_editions", found, expected),
        }
    }
}

impl Head {
    pub(super) fn twin_of(&self, other: &Self) -> Mistake {
        let expected = format!("another name than that of {}", other.main.log.source().name());
        self.main.mistake("edition.id", Clash::Twins.says(self.code.as_str(), expected))
    }
}

/// What is wrong between the editions of a tariff, each told of the later one.
pub(super) fn between(heads: &[Head]) -> Vec<Mistake> {
    pairs(heads.iter().collect()).iter().map(Pair::at_later).collect()
}

/// All that clash.
pub(super) fn pairs(mut heads: Vec<&Head>) -> Vec<Pair<'_>> {
    heads.sort_by(|a, b| (a.span, &a.code).cmp(&(b.span, &b.code)));
    let mut pairs = Vec::new();
    for (index, later) in heads.iter().enumerate() {
        let mut before = heads.iter().take(index);
        if let Some(earlier) = before.find(|earlier| earlier.code == later.code) {
            pairs.push(Pair { clash: Clash::Twins, earlier, later });
        }
    }
    // One that ends before it begins is reported with the edition.
    let mut heads = heads.into_iter().filter(|head| head.span.is_in_order());
    let Some(mut earlier) = heads.next() else { return pairs };
    for later in heads {
        if earlier.span.overlaps(&later.span) {
            pairs.push(Pair { clash: Clash::Overlap, earlier, later });
        } else if !earlier.span.is_followed_by(&later.span) {
            pairs.push(Pair { clash: Clash::Gap, earlier, later });
        }
        if earlier.span.until.is_some_and(|until| later.span.until.is_none_or(|other| until < other)) {
            earlier = later;
        }
    }
    pairs
}
