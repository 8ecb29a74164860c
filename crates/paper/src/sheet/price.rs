//! Lines, VAT and totals of a sale.

use evenfare_engine::view::{LineView, OfferView, SaleView, VatView};

use super::pen::Pen;
use super::{Block, Row, Rows, Width};

impl<'a> Pen<'a> {
    /// Rows in groups, one for each unit; what is of the whole job comes last. One unit alone needs no
    /// heading.
    pub(super) fn by_unit<'b, T>(
        &self,
        offer: &OfferView,
        items: &'b [T],
        id: impl Fn(&T) -> &str,
        row: impl Fn(&'b T) -> Row,
    ) -> Vec<Rows> {
        let of = |item: &T| {
            let unit = id(item).split_once('/').map(|(unit, _)| unit);
            unit.and_then(|unit| offer.units.iter().position(|other| other.id.as_str() == unit))
        };
        let several = offer.units.len() > 1;
        let mut groups = Vec::with_capacity(offer.units.len().saturating_add(1));
        for (place, unit) in offer.units.iter().enumerate() {
            let head = several.then(|| self.unit_name(unit));
            groups.push(Rows {
                head,
                rows: items.iter().filter(|item| of(item) == Some(place)).map(&row).collect(),
            });
        }
        let whole = items.iter().filter(|item| of(item).is_none()).map(&row).collect();
        groups.push(Rows { head: several.then(|| self.say("whole-job")), rows: whole });
        groups.retain(|group: &Rows| !group.rows.is_empty());
        if !several {
            let rows = groups.into_iter().flat_map(|group| group.rows).collect();
            groups = vec![Rows { head: None, rows }];
        }
        groups
    }

    pub(super) fn line(&self, offer: &OfferView, line: &LineView) -> String {
        self.phrases.line(offer, line.category, &line.id, &line.text)
    }

    /// The lines of a sale as its buyer pays them, and what they come to.
    pub(super) fn priced(&self, offer: &'a OfferView, sale: &'a SaleView) -> Block {
        let bought = |line: &LineView| {
            sale.lines
                .iter()
                .find(|bought| bought.id == line.id)
                .map_or(line.net_minor, |bought| bought.net_minor)
        };
        let row = |line: &'a LineView| {
            Row::of([self.line(offer, line), self.quantity(&line.quantity), self.amount(bought(line))])
        };
        let total = |name: String, minor| [name, String::new(), self.amount(minor)];
        let mut totals = vec![Row::of(total(self.say("net-total"), sale.net_minor))];
        totals.extend(sale.vat.iter().map(|group| Row::of(total(self.vat_name(group), group.tax_minor))));
        totals.push(Row::strong(total(self.say("gross-total"), sale.gross_minor)));
        Block::Table {
            columns: vec![
                self.column("description", Width::Wide),
                self.column("quantity", Width::Amount),
                self.amounts("net"),
            ],
            groups: self.by_unit(offer, &offer.end.lines, |line| &line.id, row),
            totals,
        }
    }

    /// `VAT 22%`, or why there is none.
    pub(super) fn vat_name(&self, group: &VatView) -> String {
        match (self.words.vat_reason(group.category), &group.rate) {
            (Some(reason), _) => reason,
            (None, Some(rate)) => self.say_with("vat-charged", &[("rate", (&self.percent(rate)).into())]),
            (None, None) => self.say("vat"),
        }
    }

    /// The VAT of a sale by category and rate.
    pub(super) fn vat_groups(&self, sale: &SaleView) -> Block {
        let row = |group: &VatView| {
            let rate = group.rate.as_deref().map_or_else(|| "–".to_owned(), |rate| self.percent(rate));
            Row::of([
                self.vat_name(group),
                group.category.code().to_owned(),
                rate,
                self.amount(group.base_minor),
                self.amount(group.tax_minor),
            ])
        };
        Block::Table {
            columns: vec![
                self.column("vat", Width::Wide),
                self.column("vat-category", Width::Short),
                self.column("rate", Width::Amount),
                self.amounts("base"),
                self.amounts("tax"),
            ],
            groups: vec![Rows { head: None, rows: sale.vat.iter().map(row).collect() }],
            totals: Vec::new(),
        }
    }

    /// What somebody should know, where there is anything.
    pub(super) fn notes(&self, offer: &OfferView, into: &mut Vec<Block>) {
        if !offer.flags.is_empty() {
            into.push(self.heading("notes"));
            let items = offer.flags.iter().map(|flag| self.words.flag(*flag)).collect();
            into.push(Block::List { items, caution: false });
        }
    }

    /// The VAT that a buyer declares himself, where he does.
    pub(super) fn declared_by_buyer(&self, offer: &OfferView, sale: &SaleView) -> Option<String> {
        let rate = offer.end.vat_rate.as_ref()?;
        let due = offer.end.vat_due_minor?;
        let charged = sale.vat.iter().any(|group| group.tax_minor != 0);
        (due != 0 && !charged).then(|| {
            let rate = self.percent(rate);
            self.say_with("vat-due-by-buyer", &[("rate", (&rate).into())])
        })
    }
}
