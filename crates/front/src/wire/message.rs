//! A message while it is read: its fields one after the other.

use chrono::NaiveDate;
use evenfare_engine::compact_str::CompactString;
use evenfare_engine::problem::Place;

use super::date::InvalidDate;
use super::field::{Field, quoted};
use super::mistakes::{Mistakes, Objection};
use super::pb;

const A_DAY: &str = "a whole day of the calendar: year, month and day";
const A_LINE: &str = "one line without control characters";

/// Where a message stands, spelt out only for its mistakes.
enum Where<'p> {
    Outermost,
    Field(&'p Where<'p>, &'static str),
    Entry(&'p Where<'p>, usize),
}

impl Where<'_> {
    fn place(&self) -> Place {
        match self {
            Self::Outermost => Place::default(),
            Self::Field(within, field) => within.place().at(field),
            Self::Entry(list, index) => list.place().nth(*index),
        }
    }
}

/// A message, or an entry of a list: where it stands, and where its mistakes go.
///
/// Where a field cannot be read, that is noted and something stands for it, so that what else is wrong with the
/// whole can be found. Whether it may be used is for its mistakes to say: there have to be none.
pub(crate) struct Message<'m> {
    stands: Where<'m>,
    mistakes: &'m mut Mistakes,
}

impl<'m> Message<'m> {
    /// The message that all others are in.
    pub(crate) fn outermost(mistakes: &'m mut Mistakes) -> Self {
        Self { stands: Where::Outermost, mistakes }
    }

    pub(crate) fn at(&mut self, field: &'static str) -> Message<'_> {
        Message { stands: Where::Field(&self.stands, field), mistakes: self.mistakes }
    }

    /// Not as it stands.
    pub(crate) fn refuse<T>(&mut self, objection: Objection) -> Option<T> {
        self.mistakes.push(self.stands.place(), objection);
        None
    }

    /// What is read from the text of this entry itself.
    pub(crate) fn entry<T: Field>(&mut self, text: &str) -> Option<T> {
        match T::read(text) {
            Ok(value) => Some(value),
            Err(objection) => self.refuse(objection).or_else(T::stand_in),
        }
    }

    /// A field that has to be there.
    pub(crate) fn needed<T: Field>(&mut self, field: &'static str, text: &str) -> Option<T> {
        match T::read(text) {
            Ok(value) => Some(value),
            Err(objection) => self.at(field).refuse(objection).or_else(T::stand_in),
        }
    }

    /// A field that may be left out; one that is empty says nothing, as in a file.
    pub(crate) fn if_said<T: Field>(&mut self, field: &'static str, text: Option<&str>) -> Option<Option<T>> {
        match text {
            None | Some("") => Some(None),
            Some(text) => self.needed(field, text).map(Some),
        }
    }

    /// A line that the engine wrote: of any length, without control characters.
    pub(crate) fn line(&mut self, field: &'static str, text: &str) -> Option<CompactString> {
        match text.chars().any(char::is_control) {
            true => self.at(field).refuse(Objection::new("not_a_line", quoted(text), A_LINE)),
            false => Some(text.into()),
        }
    }

    /// The same where it may be left out.
    pub(crate) fn line_if_said(
        &mut self,
        field: &'static str,
        text: Option<&str>,
    ) -> Option<Option<CompactString>> {
        match text {
            Some(text) => self.line(field, text).map(Some),
            None => Some(None),
        }
    }

    /// A day that has to be there.
    pub(crate) fn day(&mut self, field: &'static str, date: Option<&pb::Date>) -> Option<NaiveDate> {
        match date {
            Some(_) => self.day_if_said(field, date)?.or(Some(NaiveDate::default())),
            None => self.at(field).refuse(Objection::missing(A_DAY)).or(Some(NaiveDate::default())),
        }
    }

    /// A day that may be left out.
    pub(crate) fn day_if_said(
        &mut self,
        field: &'static str,
        date: Option<&pb::Date>,
    ) -> Option<Option<NaiveDate>> {
        let Some(date) = date else { return Some(None) };
        let code = match NaiveDate::try_from(date) {
            Ok(day) => return Some(Some(day)),
            Err(InvalidDate::Partial) => "partial_date",
            Err(InvalidDate::NotInTheCalendar) => "not_a_date",
        };
        let pb::Date { year, month, day } = date;
        let objection = Objection::new(code, format!("{year:04}-{month:02}-{day:02}"), A_DAY);
        self.at(field).refuse(objection).or(Some(None))
    }

    /// A message that has to be there.
    pub(crate) fn message<W, T>(
        &mut self,
        field: &'static str,
        wire: Option<&W>,
        expected: &'static str,
        read: impl FnOnce(Message<'_>, &W) -> Option<T>,
    ) -> Option<T> {
        match wire {
            Some(wire) => read(self.at(field), wire),
            None => self.at(field).refuse(Objection::missing(expected)),
        }
    }

    /// A message that may be left out.
    pub(crate) fn message_if_said<W, T>(
        &mut self,
        field: &'static str,
        wire: Option<&W>,
        read: impl FnOnce(Message<'_>, &W) -> Option<T>,
    ) -> Option<Option<T>> {
        match wire {
            Some(wire) => read(self.at(field), wire).map(Some),
            None => Some(None),
        }
    }

    /// Each entry of a list; all of them are read, though one is refused.
    pub(crate) fn list<W, T>(
        &mut self,
        field: &'static str,
        wires: &[W],
        read: impl FnMut(Message<'_>, &W) -> Option<T>,
    ) -> Option<Vec<T>> {
        self.at(field).entries(wires, read)
    }

    /// The same where this is the list.
    pub(crate) fn entries<W, T>(
        &mut self,
        wires: &[W],
        mut read: impl FnMut(Message<'_>, &W) -> Option<T>,
    ) -> Option<Vec<T>> {
        let mut whole = Some(Vec::with_capacity(wires.len()));
        for (index, wire) in wires.iter().enumerate() {
            let entry = Message { stands: Where::Entry(&self.stands, index), mistakes: self.mistakes };
            match (read(entry, wire), &mut whole) {
                (Some(value), Some(list)) => list.push(value),
                _ => whole = None,
            }
        }
        whole
    }

    /// A word that is a number on the wire.
    pub(crate) fn word<W: TryFrom<i32>>(
        &mut self,
        field: &'static str,
        number: i32,
        expected: &'static str,
    ) -> Option<W> {
        match W::try_from(number) {
            Ok(word) => Some(word),
            // Zero says nothing, so that it says nothing wrong.
            Err(_) => self.at(field).refuse(unknown(number, expected)).or_else(|| W::try_from(0).ok()),
        }
    }

    /// A word that has to be said.
    pub(crate) fn said<W: TryFrom<i32>, T>(
        &mut self,
        field: &'static str,
        number: i32,
        said: impl FnOnce(W) -> Option<T>,
        expected: &'static str,
    ) -> Option<T> {
        let word = W::try_from(number).ok().and_then(said);
        word.or_else(|| self.at(field).refuse(unknown(number, expected)))
    }
}

/// A number that stands for no word.
pub(crate) fn unknown(number: i32, expected: &'static str) -> Objection {
    Objection::new("unknown_number", number.to_string(), expected)
}
