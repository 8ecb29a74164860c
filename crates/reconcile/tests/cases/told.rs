//! What a party is told of differences, line by line.

use evenfare_reconcile::columns;
use evenfare_reconcile::told::Told;

use crate::booked::booked;
use crate::own::sold;
use crate::world::{day, invoice_number, payment};

/// On the last of June the first customer paid 3.00 too much; the second has paid nothing.
#[test]
fn a_party_is_told_what_is_his_and_counts_by_the_end_of_the_month() {
    let inputs = sold(&[5_000, 6_000]);
    let paid = payment(5_300, &inputs.agreed[0].sales[0].buyer, &invoice_number(0));
    let (inputs, books) = booked(inputs, &[(29, paid)]);
    let told = |customer: usize, month: &str| -> Vec<String> {
        let party = &inputs.agreed[customer].sales[0].buyer.id;
        let told = Told::to(party, month.parse().unwrap(), &books.differences);
        let lines = columns::told(party, &told).unwrap();
        assert_eq!((told.is_empty(), told.iter().count()), (lines.is_empty(), lines.len()));
        lines.iter().map(|line| line.join(",")).collect()
    };
    let first = "FR000000000,2026-06-30,overpaid,Q-2026-0000,50.00,53.00,3.00,EUR,\
                 quote Q-2026-0000; invoice R-2026-00000; payment S2026-06/1.1";
    let second = "FR000000001,2026-06-18,unpaid,Q-2026-0001,60.00,0.00,-60.00,EUR,quote Q-2026-0001; invoice R-2026-00001";
    assert_eq!(books.differences.last().unwrap().posted, day(29));
    for (customer, line) in [(0, first), (1, second)] {
        assert_eq!([told(customer, "2026-06"), told(customer, "2026-07")], [[line], [line]]);
        assert_eq!(told(customer, "2026-05"), [""; 0]);
    }
}
