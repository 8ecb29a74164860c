//! An amount, shared out over the invoices that it is for.

use evenfare_engine::money::Overflow;

use super::payments::Matching;

impl Matching<'_, '_> {
    /// What invoices of one currency take of an amount in it: each, in their order, what is left of it, and the last what
    /// is over. What is owed the other way is set against them as far as the amount leaves something of them, within one
    /// party: who names an invoice and a credit note pays what is between.
    pub(super) fn parts_of(&self, amount: i64, invoices: &[u32]) -> Result<Vec<(u32, i64)>, Overflow> {
        let sign = amount.signum();
        // All amounts are turned the way of the payment.
        let rest = |place: u32| self.rest(place).saturating_mul(sign);
        let asked = invoices.iter().fold(0_i64, |sum, place| sum.saturating_add(rest(*place).max(0)));
        let mut left = amount.saturating_abs();
        let mut against = match self.by_party(invoices).as_slice() {
            [_] => asked.saturating_sub(left).max(0),
            _ => 0,
        };
        let mut parts: Vec<(u32, i64)> = Vec::with_capacity(invoices.len());
        for &place in invoices {
            let set = rest(place).saturating_neg().clamp(0, against);
            against = against.saturating_sub(set);
            left = left.checked_add(set).ok_or(Overflow)?;
            parts.push((place, set.saturating_neg()));
        }
        let mut take = |part: &mut i64, most: i64| {
            let taken = most.max(0).min(left);
            left = left.saturating_sub(taken);
            *part = part.saturating_add(taken);
        };
        for (place, part) in &mut parts {
            take(part, rest(*place));
        }
        if sign < 0 {
            // Back to where it came from.
            for (place, part) in &mut parts {
                let paid = self.open.get(*place).map_or(0, |open| open.paid);
                take(part, paid.saturating_sub(*part));
            }
        }
        let last = parts.iter().rposition(|(place, _)| rest(*place) > 0).or(parts.len().checked_sub(1));
        if let Some((_, part)) = last.and_then(|last| parts.get_mut(last)) {
            *part = part.checked_add(left).ok_or(Overflow)?;
        }
        parts.iter_mut().for_each(|(_, part)| *part = part.saturating_mul(sign));
        parts.retain(|(_, part)| *part != 0);
        Ok(parts)
    }
}
