//! Closed lists of words: categories of lines, works a partner may take over, units of parts.

/// What a text in the place of one of these words has to be: what is given for that, else the words themselves.
macro_rules! expected {
    ([$given:literal] $($word:literal)+) => { $given };
    ([] $last:literal) => { $last };
    ([] $one:literal $last:literal) => { concat!($one, " or ", $last) };
    ([] $one:literal $($word:literal)+) => { concat!($one, ", ", $crate::category::expected!([] $($word)+)) };
}

pub(crate) use expected;

/// Closed lists of words: each an enum, and the word that stands for each of its values.
macro_rules! words {
    ($($(#[$doc:meta])* $name:ident $(, $expected:literal)? { $($(#[$variant_doc:meta])* $variant:ident = $word:literal,)* })*) => { $(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$variant_doc])* $variant,)* }

        impl $name {
            /// All of them, in order.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];

            /// What a text in its place has to be, for messages.
            pub const EXPECTED: &'static str = $crate::category::expected!([$($expected)?] $($word)+);

            /// The word that stands for it in files and answers.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word,)* }
            }
        }

        impl std::str::FromStr for $name {
            type Err = $crate::category::UnknownWord;

            fn from_str(text: &str) -> Result<Self, Self::Err> {
                match text {
                    $($word => Ok(Self::$variant),)*
                    _ => Err($crate::category::UnknownWord { found: text.chars().take(40).collect(), expected: Self::EXPECTED }),
                }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad(self.word())
            }
        }

        crate::text::serde_as_text!($name);
    )* };
}

pub(crate) use words;

/// A word that is none of those expected.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{found}` is not known; expected {expected}")]
pub struct UnknownWord {
    /// What stood there.
    pub found: String,
    /// What was expected.
    pub expected: &'static str,
}

words! {
    /// What a line of the end price is for. Markups, discounts and surcharges go by it.
    Category {
        /// Parts replaced.
        Part = "part",
        /// Work at the bench.
        Labour = "labour",
        /// The test on a matching drive.
        Test = "test",
        /// Courier legs and packaging.
        Courier = "courier",
        /// A fixed price for a class of work.
        Flat = "flat",
        /// An exchange unit: a supply of goods.
        Exchange = "exchange",
        /// The inspection of a unit that is then declined.
        Inspection = "inspection",
        /// Surcharges for extras.
        Surcharge = "surcharge",
        /// What raises a small job to the minimum charge.
        Minimum = "minimum",
        /// What takes the end price to its ending.
        Ending = "ending",
    }

    /// A piece of work that a partner may take over from the workshop, for a fixed credit.
    Work {
        /// Taking the unit out of the machine.
        Removal = "removal",
        /// Putting it back and starting up.
        Refitting = "refitting",
        /// The first diagnosis on site.
        Diagnosis = "diagnosis",
        /// The courier leg to the workshop.
        LegIn = "leg_in",
        /// The courier leg back.
        LegOut = "leg_out",
    }

    /// What a part is counted in.
    PartUnit {
        /// Pieces (UN/ECE Recommendation 20: H87).
        Piece = "pc",
        /// Sets (SET).
        Set = "set",
        /// Metres (MTR).
        Metre = "m",
        /// Centimetres (CMT).
        Centimetre = "cm",
        /// Millilitres (MLT).
        Millilitre = "ml",
        /// Grams (GRM).
        Gram = "g",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::Severity;
    use crate::role::Role;

    #[test]
    fn what_is_expected_is_the_words_unless_it_is_said_otherwise() {
        assert_eq!(Work::EXPECTED, "removal, refitting, diagnosis, leg_in or leg_out");
        assert_eq!(Severity::EXPECTED, "error or warning");
        assert_eq!(Role::EXPECTED, "the name of what goes into a figure");
    }
}
