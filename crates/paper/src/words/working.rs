//! Rules, inputs and roundings of figures by the words that a language has for them.

use evenfare_engine::role::Role;
use evenfare_engine::trail::{Rounding, Rule};

use super::Words;

impl Words {
    /// The rule that a figure follows.
    ///
    /// # Examples
    /// ```
    /// use evenfare_engine::language::Language;
    /// use evenfare_engine::trail::Rule;
    /// use evenfare_paper::words::Words;
    /// assert_eq!(Words::of(Language::German).rule(Rule::EndNet), "die Summe der Posten");
    /// ```
    pub fn rule(&self, rule: Rule) -> String {
        self.say(&["rule-", &rule.code().replace('_', "-")].concat())
    }

    /// What an input is to its figure; a name that is none of those stands as it is.
    ///
    /// # Examples
    /// ```
    /// use evenfare_engine::language::Language;
    /// use evenfare_paper::words::Words;
    /// assert_eq!(Words::of(Language::Polish).role("unit cost"), "koszt jednostkowy");
    /// ```
    pub fn role(&self, name: &str) -> String {
        match name.parse::<Role>() {
            Ok(role) => {
                let id = role.word().to_ascii_lowercase().replace(',', "").replace(' ', "-");
                self.say(&["input-", &id].concat())
            }
            Err(_) => name.to_owned(),
        }
    }

    /// How a figure was rounded; nothing where it was not.
    pub fn rounding(&self, rounding: Rounding) -> Option<String> {
        let id = match rounding {
            Rounding::None => return None,
            Rounding::HalfUp => "rounding-half-up",
            Rounding::LargestRemainder => "rounding-largest-remainder",
            Rounding::Ending => "rounding-ending",
        };
        Some(self.say(id))
    }
}
