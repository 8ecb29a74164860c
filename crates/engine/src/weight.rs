//! Chargeable weight.

use crate::job::Parcel;
use crate::money::{Overflow, Quantity};
use crate::trail::thousandths;

/// The weight a courier charges for, in grams: the larger of actual and volumetric, raised to a
/// multiple of the step.
///
/// Volumetric weight is volume over divisor. A cubic millimetre over a divisor in cubic
/// centimetres per kilogram is a gram, so nothing is rounded before the step.
///
/// # Errors
/// [`Overflow`] where the weight is beyond any courier, or the divisor or step is zero.
///
/// # Examples
/// ```
/// use evenfare_engine::weight::chargeable_grams;
/// use evenfare_engine::job::Parcel;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let parcel = Parcel {
///     length_cm: "75".parse()?,
///     width_cm: "40".parse()?,
///     height_cm: "40".parse()?,
///     weight_kg: "11".parse()?,
/// };
/// assert_eq!(chargeable_grams(&[parcel], 5_000, "0.5".parse()?)?, 24_000);
/// # Ok(()) }
/// ```
pub fn chargeable_grams(parcels: &[Parcel], divisor: u32, step: Quantity) -> Result<i64, Overflow> {
    let mut actual = 0_i128;
    // Millionths of a cubic millimetre: three lengths in hundredths of a millimetre.
    let mut volume = 0_i128;
    for parcel in parcels {
        actual = actual.checked_add(i128::from(parcel.weight_kg.scaled())).ok_or(Overflow)?;
        let cube = i128::from(parcel.length_cm.scaled())
            .checked_mul(i128::from(parcel.width_cm.scaled()))
            .and_then(|area| area.checked_mul(i128::from(parcel.height_cm.scaled())))
            .ok_or(Overflow)?;
        volume = volume.checked_add(cube).ok_or(Overflow)?;
    }
    let divisor = i128::from(divisor).checked_mul(1_000_000).ok_or(Overflow)?;
    let step = i128::from(step.scaled());
    let volumetric_steps = ceiling(volume, divisor.checked_mul(step).ok_or(Overflow)?)?;
    let actual_steps = ceiling(actual, step)?;
    let grams = volumetric_steps.max(actual_steps).checked_mul(step).ok_or(Overflow)?;
    i64::try_from(grams).map_err(|_| Overflow)
}

fn ceiling(dividend: i128, divisor: i128) -> Result<i128, Overflow> {
    let quotient = dividend.checked_div(divisor).ok_or(Overflow)?;
    let rest = dividend.checked_rem(divisor).ok_or(Overflow)?;
    quotient.checked_add(i128::from(rest != 0)).ok_or(Overflow)
}

pub(crate) fn kilograms(grams: i64) -> String {
    thousandths(grams).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(parcels: &[(&str, &str, &str)], divisor: u32, step: &str, grams: i64) {
        let number = |text: &str| text.parse::<Quantity>().unwrap_or_default();
        let parcels: Vec<Parcel> = parcels
            .iter()
            .map(|(l, w, h)| Parcel {
                length_cm: number(l),
                width_cm: number(w),
                height_cm: number(h),
                weight_kg: number("0.001"),
            })
            .collect();
        assert_eq!(chargeable_grams(&parcels, divisor, number(step)), Ok(grams));
    }

    #[test]
    fn volumetric_weight_of_the_carriers_own_examples() {
        // Worked examples that carriers publish for their divisors; each names its own rounding.
        check(&[("75", "40", "40")], 5_000, "0.5", 24_000);
        check(&[("120", "80", "50"), ("120", "80", "50")], 6_000, "1", 160_000);
        check(&[("140", "100", "90")], 6_000, "1", 210_000);
        check(&[("40", "30", "60")], 7_500, "0.1", 9_600);
        check(&[("40", "30", "60")], 7_500, "1", 10_000);
    }

    #[test]
    fn weights_are_told_in_kilograms() {
        assert_eq!([24_000, 9_600, 1, 0].map(kilograms), ["24", "9.6", "0.001", "0"]);
    }
}
