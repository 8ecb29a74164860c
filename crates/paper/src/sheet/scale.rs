//! Where the bars of a chart begin and end. These are places on paper, not figures.

/// What a chart has room for.
pub(super) struct Scale {
    least: i64,
    most: i64,
}

impl Scale {
    /// From nothing to the whole, which may be below nothing.
    pub(super) const fn up_to(whole: i64) -> Self {
        Self { least: 0, most: whole }
    }

    /// Everything that is shown, and nothing.
    pub(super) fn of(shown: impl IntoIterator<Item = i64>) -> Self {
        let all = Self { least: 0, most: 0 };
        shown
            .into_iter()
            .fold(all, |all, minor| Self { least: all.least.min(minor), most: all.most.max(minor) })
    }

    /// Where an amount is, in thousandths of the room, cut to what there is.
    pub(super) fn place(&self, minor: i64) -> u16 {
        let [least, most, minor] = [self.least, self.most, minor].map(i128::from);
        let room = most.saturating_sub(least);
        let thousandths = minor.saturating_sub(least).saturating_mul(1_000).checked_div(room).unwrap_or(0);
        u16::try_from(thousandths.clamp(0, 1_000)).unwrap_or(0)
    }

    /// The bar between two amounts: where it begins and how long it is.
    pub(super) fn between(&self, one: i64, other: i64) -> (u16, u16) {
        let (one, other) = (self.place(one), self.place(other));
        (one.min(other), one.abs_diff(other))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(scale: &Scale, one: i64, other: i64, expect: (u16, u16)) {
        assert_eq!(scale.between(one, other), expect, "{one} to {other}");
    }

    #[test]
    fn bars_stand_where_their_amounts_are() {
        check(&Scale::up_to(400), 100, 300, (250, 500));
        check(&Scale::up_to(-400), 0, -400, (0, 1_000));
        check(&Scale::up_to(0), 0, 5, (0, 0));
        let both = Scale::of([300, -100, 20]);
        assert_eq!(both.place(0), 250);
        check(&both, 0, 300, (250, 750));
        check(&both, 0, -100, (0, 250));
        check(&Scale::of([]), 0, 0, (0, 0));
        check(&Scale::of([i64::MIN, i64::MAX]), 0, i64::MAX, (500, 500));
    }
}
