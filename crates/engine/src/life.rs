//! How much of its life a part has used, in whole numbers.
//!
//! Two models. An electrolytic capacitor's life doubles for every ten kelvin it is kept below its
//! rated temperature, `L = L0 x 2^((T0 - T) / 10)`: common practice of capacitor makers. Switching
//! contacts wear by operations: at `B10d` operations a tenth has failed dangerously, so
//! `T10d = B10d / nop` is when they are due (ISO 13849-1, Annex C).
//!
//! These only decide whether a part is replaced; no amount is computed from them. They judge wear,
//! not safety: whether a safety function is sound after refitting is for those licensed to say.

use std::cmp::Ordering;

use crate::money::Percent;
use crate::tariff::WearModel;
use crate::tariff::entries::Wear;

/// `2^(n / 10)` times ten to the eighteenth, rounded, for n from 0 to 9.
const TENTH_POWERS_OF_TWO: [i128; 10] = [
    1_000_000_000_000_000_000,
    1_071_773_462_536_293_164,
    1_148_698_354_997_035_007,
    1_231_144_413_344_916_284,
    1_319_507_910_772_894_259,
    1_414_213_562_373_095_049,
    1_515_716_566_510_398_082,
    1_624_504_792_712_471_045,
    1_741_101_126_592_248_278,
    1_866_065_983_073_614_832,
];

/// The longest running time that is taken: more than two hundred years.
pub(crate) const MOST_HOURS: u32 = 2_000_000;

/// Has a unit that ran for `hours` and did `cycles` used at least that share of the part's life?
/// `None` where the figure that the model goes by is not known.
pub(crate) fn has_used(wear: &Wear, hours: Option<u32>, cycles: Option<u64>, share: Percent) -> Option<bool> {
    match wear.model {
        WearModel::Capacitor => hours.map(|hours| capacitor_has_used(wear, hours, share)),
        WearModel::Contacts => cycles.map(|cycles| contacts_have_used(wear, cycles, share)),
    }
}

/// hours / (L0 x 2^(k/10)) >= share, as hours x 10^6 x 10^18 >= share' x L0 x (10^18 x 2^(k/10)).
fn capacitor_has_used(wear: &Wear, hours: u32, share: Percent) -> bool {
    let used = i128::from(hours).checked_mul(1_000_000_000_000_000_000_000_000);
    let Some((power, doublings)) = power_of_two(wear.kelvin_below_rating) else { return false };
    let allowed = i128::from(share.scaled())
        .checked_mul(i128::from(wear.rated_hours))
        .and_then(|allowed| allowed.checked_mul(power));
    let (used, allowed) = match doublings {
        ..0 => (used.and_then(|used| doubled(used, doublings)), allowed),
        0.. => (used, allowed.and_then(|allowed| doubled(allowed, doublings))),
    };
    match (used, allowed) {
        (Some(used), Some(allowed)) => used >= allowed,
        // What does not fit is beyond every running time there is.
        (_, None) => false,
        (None, Some(_)) => true,
    }
}

fn contacts_have_used(wear: &Wear, cycles: u64, share: Percent) -> bool {
    let operations = i128::from(cycles).checked_mul(i128::from(wear.operations_per_cycle.scaled()));
    let used = operations.and_then(|o| o.checked_mul(1_000_000));
    let allowed = i128::from(wear.b10d).saturating_mul(1_000).checked_mul(i128::from(share.scaled()));
    match (used, allowed) {
        (Some(used), Some(allowed)) => used.cmp(&allowed) != Ordering::Less,
        (used, _) => used.is_none(),
    }
}

/// `2^(n/10)` as a mantissa times a whole power of two.
fn power_of_two(tenths: i32) -> Option<(i128, i32)> {
    let tenth = usize::try_from(tenths.checked_rem_euclid(10)?).ok()?;
    Some((*TENTH_POWERS_OF_TWO.get(tenth)?, tenths.checked_div_euclid(10)?))
}

/// Times two to the power of `doublings`, whatever its sign.
fn doubled(number: i128, doublings: i32) -> Option<i128> {
    2_i128.checked_pow(doublings.unsigned_abs()).and_then(|power| number.checked_mul(power))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wear(model: WearModel) -> Wear {
        Wear {
            code: "W".parse().unwrap_or_else(|_| unreachable!()),
            model,
            rated_hours: 2_000,
            kelvin_below_rating: 40,
            b10d: 1_000_000,
            operations_per_cycle: "2".parse().unwrap_or_default(),
        }
    }

    fn check(wear: &Wear, hours: u32, cycles: u64, percent: &str, expect: bool) {
        let share: Percent = percent.parse().unwrap_or_default();
        let used = has_used(wear, Some(hours), Some(cycles), share);
        assert_eq!(used, Some(expect), "{wear:?} after {hours} h and {cycles} cycles");
    }

    #[test]
    fn a_capacitor_lives_twice_as_long_ten_kelvin_below() {
        let check = |rated_hours, kelvin_below_rating, life: u32| {
            let wear = Wear { rated_hours, kelvin_below_rating, ..wear(WearModel::Capacitor) };
            check(&wear, life - 1, 0, "100", false);
            check(&wear, life, 0, "100", true);
        };
        // 105 degrees rated; the published tables of capacitor makers for 45, 55 and 65.
        check(2_000, 40, 32_000);
        check(1_000, 60, 64_000);
        check(1_000, 50, 32_000);
        check(1_000, 40, 16_000);
        check(1_000, 0, 1_000);
        check(1_000, -10, 500);
        // 1 414.2 hours.
        check(1_000, 5, 1_415);
    }

    #[test]
    fn due_from_the_share_named_and_not_before() {
        let (capacitor, contacts) = (wear(WearModel::Capacitor), wear(WearModel::Contacts));
        check(&capacitor, 15_999, 0, "50", false);
        check(&capacitor, 16_000, 0, "50", true);
        check(&capacitor, 0, 0, "0", true);
        check(&contacts, 0, 299_999, "60", false);
        check(&contacts, 0, 300_000, "60", true);
        check(&contacts, 0, u64::MAX, "1000", true);
    }
}
