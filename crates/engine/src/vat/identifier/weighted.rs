//! Schemes of one check digit by a weighted sum, mostly modulo 11.

use super::digits::{Checked, Fault, check, digits, digits_from_one, divisible, shape, value, weigh};

/// The UID, which an invoice completes with a suffix such as `MWST`; whether its holder is
/// registered for the tax cannot be seen without. Source: eCH-0097, from memory.
pub(super) fn switzerland(number: &[u8]) -> Checked {
    divisible(&digits::<9>(number)?, &[5, 4, 3, 2, 7, 6, 5, 4, 1], 11)
}

/// Source: the CVR number's modulus 11, from memory.
pub(super) fn denmark(number: &[u8]) -> Checked {
    divisible(&digits_from_one::<8>(number)?, &[2, 7, 6, 5, 4, 3, 2, 1], 11)
}

/// From memory.
pub(super) fn estonia(number: &[u8]) -> Checked {
    divisible(&digits::<9>(number)?, &[3, 7, 1, 3, 7, 1, 3, 7, 1], 10)
}

/// The AFM; weights are powers of two. From memory.
pub(super) fn greece(number: &[u8]) -> Checked {
    let [body @ .., last] = digits::<9>(number)?;
    let sum = weigh(&body, &[256, 128, 64, 32, 16, 8, 4, 2]);
    check(sum % 11 % 10 == u32::from(last))
}

/// The business identity code (Y-tunnus). From memory.
pub(super) fn finland(number: &[u8]) -> Checked {
    divisible(&digits::<8>(number)?, &[7, 9, 10, 5, 8, 4, 2, 1], 11)
}

/// The first eight digits of the tax number (adószám). From memory.
pub(super) fn hungary(number: &[u8]) -> Checked {
    divisible(&digits::<8>(number)?, &[9, 7, 3, 1, 9, 7, 3, 1], 10)
}

/// The organisation number of the central register. From memory.
pub(super) fn norway(number: &[u8]) -> Checked {
    divisible(&digits::<9>(number)?, &[3, 2, 7, 6, 5, 4, 3, 2, 1], 11)
}

/// The NIP; its check digit is the remainder itself, so it weighs minus one. From memory.
pub(super) fn poland(number: &[u8]) -> Checked {
    divisible(&digits::<10>(number)?, &[6, 5, 7, 2, 3, 4, 5, 6, 7, 10], 11)
}

/// The NIF; a check digit of ten is written as zero. From memory.
pub(super) fn portugal(number: &[u8]) -> Checked {
    let digits @ [.., last] = digits_from_one::<9>(number)?;
    let rest = weigh(&digits, &[9, 8, 7, 6, 5, 4, 3, 2, 1]) % 11;
    check(rest == 0 || (rest == 1 && last == 0))
}

/// The CUI: up to ten digits, weighted from the right. From memory.
pub(super) fn romania(number: &[u8]) -> Checked {
    shape((2..=10).contains(&number.len()) && number.first() != Some(&b'0'))?;
    let mut padded = [b'0'; 10];
    for (slot, byte) in padded.iter_mut().rev().zip(number.iter().rev()) {
        *slot = *byte;
    }
    let [body @ .., last] = digits::<10>(&padded)?;
    let sum = weigh(&body, &[7, 5, 3, 2, 1, 7, 5, 3, 2]);
    check(sum.saturating_mul(10) % 11 % 10 == u32::from(last))
}

/// A check digit of ten is written as zero, and of eleven not given out. From memory.
pub(super) fn slovenia(number: &[u8]) -> Checked {
    let [body @ .., last] = digits_from_one::<8>(number)?;
    let rest = weigh(&body, &[8, 7, 6, 5, 4, 3, 2]) % 11;
    check(rest != 0 && 11_u32.saturating_sub(rest) % 10 == u32::from(last))
}

/// Either the eleven-test of the RSIN or, for sole traders since 2020, ISO/IEC 7064 MOD 97-10 over
/// the whole identifier. Sources: the Dutch tax administration's notice on the VAT identification
/// number of 2020 and the eleven-test, from memory.
pub(super) fn netherlands(number: &[u8]) -> Checked {
    let [base @ .., b'B', tens, units] = number else {
        return Err(Fault::Shape);
    };
    let base = digits::<9>(base)?;
    let suffix = digits::<2>(&[*tens, *units])?;
    shape(suffix != [0, 0])?;
    let eleven_test = divisible(&base, &[9, 8, 7, 6, 5, 4, 3, 2, 10], 11);
    // Letters count from A = 10: N and L before the number, B within it.
    let [tens, units] = suffix;
    let [b1, b2, b3, b4, b5, b6, b7, b8, b9] = base;
    let whole = [2, 3, 2, 1, b1, b2, b3, b4, b5, b6, b7, b8, b9, 1, 1, tens, units];
    eleven_test.or_else(|_| check(value(&whole) % 97 == 1))
}
