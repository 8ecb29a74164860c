//! Which lines of a sale each of its VAT groups is charged on, and which groups go on one invoice.

use super::shapes::{OfferView, SaleView, VatView, View};
use crate::category::Category;
use crate::job::Task;
use crate::supply::{self, Taxable, VatCategory, category};

impl View {
    /// The VAT group of each line of a sale, in the order of its lines; nothing where the sale is not
    /// one of that offer in this view.
    ///
    /// A quote keeps the groups, and not which line is in which: exchange units and what goes with them
    /// are goods, all else is services, and that is told from what is done to each unit. Lines of the
    /// whole job go together with the larger part of it, and the groups show which that was. The lines
    /// of a group add up to its base (`lines_add_up_to_their_vat_group`).
    pub fn groups_of_lines<'v>(&self, offer: &OfferView, sale: &'v SaleView) -> Option<Vec<&'v VatView>> {
        if offer.end.lines.len() != sale.lines.len() {
            return None;
        }
        if let [only] = sale.vat.as_slice() {
            return Some(vec![only; sale.lines.len()]);
        }
        let [first, second] = sale.vat.as_slice() else { return sale.lines.is_empty().then(Vec::new) };
        let (goods, services) =
            if self.is_of_goods(offer, sale, first)? { (first, second) } else { (second, first) };
        let is_exchange = |id: &str| offer.unit_of(id).is_some_and(|unit| unit.task == Task::Exchange);
        let parts: Vec<Part> = offer
            .end
            .lines
            .iter()
            .map(|line| match line.category {
                Category::Surcharge | Category::Minimum | Category::Ending => Part::Whole,
                _ if is_exchange(&line.id) => Part::Goods,
                _ => Part::Services,
            })
            .collect();
        let sum = |part: Part| {
            let lines = parts.iter().zip(&sale.lines).filter(|(of, _)| **of == part);
            lines.fold(0_i64, |sum, (_, line)| sum.saturating_add(line.net_minor))
        };
        let of_goods = sum(Part::Goods);
        let with_goods = match sum(Part::Whole) {
            // Then the groups are the same either way.
            0 => of_goods.saturating_abs() >= sum(Part::Services).saturating_abs(),
            whole => of_goods.saturating_add(whole) == goods.base_minor,
        };
        let group = |part: &Part| match part {
            Part::Goods => goods,
            Part::Whole if with_goods => goods,
            Part::Whole | Part::Services => services,
        };
        Some(parts.iter().map(group).collect())
    }

    /// Is that one of the two groups of a sale the one of its goods?
    fn is_of_goods(&self, offer: &OfferView, sale: &SaleView, group: &VatView) -> Option<bool> {
        if self.workshop.country == self.customer.country {
            // Goods that stay there are taxed there, at the rate that the end customer's price goes by.
            let is_taxed = offer.end.vat_rate.as_deref().is_some_and(|rate| rate != "0");
            return Some(match is_taxed {
                true => group.category == VatCategory::S && group.rate == offer.end.vat_rate,
                false => group.category == VatCategory::O,
            });
        }
        let seller = Taxable::party(self.party(&sale.seller)?);
        let buyer = Taxable::party(self.party(&sale.buyer)?);
        Some(group.category == category(seller, buyer, true, None))
    }
}

impl SaleView {
    /// Does it need two invoices, as what is not subject to VAT (category O) stands on one of its own?
    pub fn needs_two_invoices(&self) -> bool {
        supply::needs_two_invoices(self.vat.iter().map(|group| group.category))
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Part {
    Goods,
    Services,
    /// Of the whole job.
    Whole,
}
