//! Lines, VAT and totals of a sale.

use evenfare_engine::money::Quantity;
use evenfare_engine::view::{LineView, OfferView, SaleView, UnitView, VatView};

use super::pen::Pen;
use super::{Block, Row, Rows, Tone, Width};
use crate::words::Addressee;

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
        self.by_named_unit(offer, items, id, row, |unit| self.unit_name(unit))
    }

    /// The same, with units named so.
    fn by_named_unit<'b, T>(
        &self,
        offer: &OfferView,
        items: &'b [T],
        id: impl Fn(&T) -> &str,
        row: impl Fn(&'b T) -> Row,
        name: impl Fn(&UnitView) -> String,
    ) -> Vec<Rows> {
        let of = |item: &T| {
            let unit = id(item).split_once('/').map(|(unit, _)| unit);
            unit.and_then(|unit| offer.units.iter().position(|other| other.id.as_str() == unit))
        };
        let several = offer.units.len() > 1;
        let mut groups = Vec::with_capacity(offer.units.len().saturating_add(1));
        for (place, unit) in offer.units.iter().enumerate() {
            let head = several.then(|| name(unit));
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

    /// What is supplied, above the lines of one unit alone; of several units each group of lines says it.
    pub(super) fn supplied(&self, offer: &OfferView) -> Option<Block> {
        let [unit] = offer.units.as_slice() else { return None };
        Some(Block::Text { text: self.supplied_name(unit), tone: Tone::Strong })
    }

    /// The lines of a sale as an invoice has them: what is supplied, each with the price of one, and its VAT
    /// category where the sale has several (Directive 2006/112/EC Art. 226(6) and (8)); and what they come to.
    pub(super) fn charged(&self, offer: &'a OfferView, sale: &'a SaleView) -> Block {
        let several = sale.vat.len() > 1;
        let vat = several.then(|| self.given.view.groups_of_lines(offer, sale)).flatten();
        let code = |group: &VatView| group.category.code().to_owned();
        let codes = vat.map(|groups| sale.lines.iter().zip(groups));
        let codes: Option<Vec<_>> =
            codes.map(|codes| codes.map(|(line, group)| (line.id.as_str(), code(group))).collect());
        let code_of = |line: &LineView| {
            let found = codes.as_ref()?.iter().find(|(id, _)| *id == line.id);
            Some(found.map(|(_, code)| code.clone()).unwrap_or_default())
        };
        let row = |line: &'a LineView| {
            let net = bought(sale, line);
            let mut cells = vec![self.line(offer, line), self.quantity(&line.quantity)];
            cells.push(self.unit_price(net, &line.quantity));
            cells.extend(code_of(line));
            cells.push(self.amount(net));
            Row { cells, strong: false, note: None }
        };
        let mut columns =
            vec![self.column("description", Width::Wide), self.column("quantity", Width::Amount)];
        columns.push(self.amounts("unit-price"));
        columns.extend(codes.as_ref().map(|_| self.column("vat-category", Width::Short)));
        columns.push(self.amounts("net"));
        let name = |unit: &UnitView| self.supplied_name(unit);
        let groups = self.by_named_unit(offer, &offer.end.lines, |line| &line.id, row, name);
        Block::Table { totals: self.totals(&[sale], columns.len()), columns, groups }
    }

    /// The price of one; where no price of one is exact, that of the whole quantity.
    fn unit_price(&self, net: i64, quantity: &str) -> String {
        let of_one = quantity.split_once(' ').and_then(|(count, _)| count.parse::<Quantity>().ok());
        match of_one.filter(|count| !count.is_zero()) {
            None => self.amount(net),
            Some(count) => self.price_of_one(net, count).unwrap_or_else(|| {
                let (price, quantity) = (self.amount(net), self.quantity(quantity));
                let told = [("price", (&price).into()), ("quantity", (&quantity).into())];
                self.say_with("price-of-quantity", &told)
            }),
        }
    }

    /// What the lines of sales come to, in a table of this many columns whose last are theirs: net, VAT by category
    /// and rate, and with it.
    pub(super) fn totals(&self, sales: &[&SaleView], columns: usize) -> Vec<Row> {
        let blank = columns.saturating_sub(sales.len()).saturating_sub(1);
        let total = |name: String, amounts: Vec<String>, strong| {
            let blanks = std::iter::repeat_n(String::new(), blank);
            let cells = std::iter::once(name).chain(blanks).chain(amounts).collect();
            Row { cells, strong, note: None }
        };
        let of_each = |minor: fn(&SaleView) -> i64| -> Vec<String> {
            sales.iter().map(|sale| self.amount(minor(sale))).collect()
        };
        let mut groups: Vec<&VatView> = Vec::new();
        for group in sales.iter().flat_map(|sale| &sale.vat) {
            if !groups.iter().any(|other| is_charged_alike(other, group)) {
                groups.push(group);
            }
        }
        let tax_of = |sale: &SaleView, group: &VatView| {
            let own = sale.vat.iter().find(|own| is_charged_alike(own, group));
            own.map(|own| self.amount(own.tax_minor)).unwrap_or_default()
        };
        let mut totals = vec![total(self.say("net-total"), of_each(|sale| sale.net_minor), false)];
        for group in groups {
            let taxes = sales.iter().map(|sale| tax_of(sale, group)).collect();
            totals.push(total(self.vat_name(group), taxes, false));
        }
        totals.push(total(self.say("gross-total"), of_each(|sale| sale.gross_minor), true));
        totals
    }

    /// The lines of a sale as its buyer pays them, and what they come to.
    pub(super) fn priced(&self, offer: &'a OfferView, sale: &'a SaleView) -> Block {
        let row = |line: &'a LineView| {
            let net = self.amount(bought(sale, line));
            Row::of([self.line(offer, line), self.quantity(&line.quantity), net])
        };
        let columns = vec![
            self.column("description", Width::Wide),
            self.column("quantity", Width::Amount),
            self.amounts("net"),
        ];
        let groups = self.by_unit(offer, &offer.end.lines, |line| &line.id, row);
        Block::Table { totals: self.totals(&[sale], columns.len()), columns, groups }
    }

    /// `VAT 22%`, or why there is none.
    pub(super) fn vat_name(&self, group: &VatView) -> String {
        match (self.words.vat_reason(group.category), &group.rate) {
            (Some(reason), _) => reason,
            (None, Some(rate)) => self.say_with("vat-charged", &[("rate", (&self.percent(rate)).into())]),
            (None, None) => self.say("vat"),
        }
    }

    /// The VAT of sales that have several categories or rates, by each, under that heading where it has one. Of one
    /// alone the totals say it all: it is charged on the net above it.
    pub(super) fn vat_breakdown(&self, sales: &[(Option<&str>, &SaleView)]) -> Vec<Block> {
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
        let several = sales.iter().filter(|(_, sale)| sale.vat.len() > 1);
        let groups: Vec<Rows> = several
            .map(|(head, sale)| Rows {
                head: head.map(|id| self.say(id)),
                rows: sale.vat.iter().map(row).collect(),
            })
            .collect();
        if groups.is_empty() {
            return Vec::new();
        }
        let table = Block::Table {
            columns: vec![
                self.column("vat", Width::Wide),
                self.column("vat-category", Width::Short),
                self.column("rate", Width::Amount),
                self.amounts("base"),
                self.amounts("tax"),
            ],
            groups,
            totals: Vec::new(),
        };
        vec![self.subheading("vat-breakdown"), table]
    }

    /// What somebody should know of an offer, where there is anything, in words for who reads it.
    pub(super) fn notes(&self, offer: &OfferView, reader: Addressee, heading: Block) -> Vec<Block> {
        if offer.flags.is_empty() {
            return Vec::new();
        }
        let items = offer.flags.iter().map(|flag| self.words.flag(*flag, reader, &offer.sales)).collect();
        vec![heading, Block::List { items, caution: false }]
    }

    /// The VAT that a buyer declares himself, where he does, in the words for who reads it.
    pub(super) fn declared_by_buyer(&self, offer: &OfferView, sale: &SaleView, id: &str) -> Option<Block> {
        let rate = offer.end.vat_rate.as_ref()?;
        let due = offer.end.vat_due_minor?;
        let charged = sale.vat.iter().any(|group| group.tax_minor != 0);
        (due != 0 && !charged).then(|| {
            let rate = self.percent(rate);
            Block::Text { text: self.say_with(id, &[("rate", (&rate).into())]), tone: Tone::Plain }
        })
    }

    /// What the VAT that is stated rests on; it stands with that of the job itself and holds for the alternatives too.
    pub(super) fn vat_note(&self) -> Block {
        Block::Text { text: self.say("vat-note"), tone: Tone::Quiet }
    }
}

/// Is VAT of the same category and rate charged, by whomever?
fn is_charged_alike(a: &VatView, b: &VatView) -> bool {
    a.category == b.category && a.rate == b.rate
}

/// What the buyer of a sale pays for a line.
pub(super) fn bought(sale: &SaleView, line: &LineView) -> i64 {
    let bought = sale.lines.iter().find(|bought| bought.id == line.id);
    bought.map_or(line.net_minor, |bought| bought.net_minor)
}
