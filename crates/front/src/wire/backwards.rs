//! Messages written from their end to their beginning.
//!
//! Before each message that stands in another stands its length. Forwards, all lengths have to be known before the
//! first byte is written, and what lies deep is counted once for each message around it. Backwards, a message
//! is there when its length is asked for.

use std::cell::Cell;

/// Keys of fields end in how their value is written.
const VARINT: u32 = 0;
const LENGTH_DELIMITED: u32 = 2;
/// Room for a quote of a few units; more is made where it is needed.
const ROOM: usize = 8 << 10;
/// A thread keeps no more room than that from one message to the next.
const KEPT: usize = 256 << 10;

thread_local! {
    /// Room that the last message was written in. Room of one's own would have to be cleared for each message.
    static LAST: Cell<Vec<u8>> = const { Cell::new(Vec::new()) };
}

/// A message that is being written. Its fields are put with their numbers falling, the entries of a list from
/// the last to the first; then they stand as every other writer leaves them.
pub(crate) struct Backwards {
    /// What is written stands at the end.
    room: Vec<u8>,
    begin: usize,
}

impl Backwards {
    /// The bytes of a message.
    pub(crate) fn written(fields: impl FnOnce(&mut Self)) -> Vec<u8> {
        let mut room = LAST.take();
        if room.is_empty() {
            room = vec![0; ROOM];
        }
        let mut message = Self { begin: room.len(), room };
        fields(&mut message);
        let written = message.room.get(message.begin..).unwrap_or_default().to_vec();
        if message.room.len() <= KEPT {
            LAST.set(message.room);
        }
        written
    }

    /// A number; zero says nothing.
    #[inline]
    pub(crate) fn number(&mut self, field: u32, number: impl Into<u64>) {
        self.some_number(field, Some(number.into()).filter(|number| *number != 0));
    }

    /// A number that may be below zero; zero says nothing.
    #[inline]
    pub(crate) fn signed(&mut self, field: u32, number: impl Into<i64>) {
        self.number(field, number.into().cast_unsigned());
    }

    /// A word by its number.
    #[inline]
    pub(crate) fn word(&mut self, field: u32, word: impl Into<i32>) {
        self.signed(field, word.into());
    }

    /// A number that may be left out; zero is one.
    #[inline]
    pub(crate) fn some_number(&mut self, field: u32, number: Option<u64>) {
        if let Some(number) = number {
            self.keyed(field, VARINT, number);
        }
    }

    /// A text; an empty one says nothing.
    #[inline(always)]
    pub(crate) fn text(&mut self, field: u32, text: &str) {
        self.some_text(field, Some(text).filter(|text| !text.is_empty()));
    }

    /// A text of so many letters. To copy what is as long always, nobody has to be called.
    #[inline]
    pub(crate) fn letters<const COUNT: usize>(&mut self, field: u32, letters: [u8; COUNT]) {
        self.put(&letters);
        self.delimited(field, COUNT);
    }

    /// A text that may be left out; an empty one is one.
    #[inline(always)]
    pub(crate) fn some_text(&mut self, field: u32, text: Option<&str>) {
        if let Some(text) = text {
            self.put(text.as_bytes());
            self.delimited(field, text.len());
        }
    }

    /// A message.
    #[inline]
    pub(crate) fn message(&mut self, field: u32, fields: impl FnOnce(&mut Self)) {
        let behind = self.length();
        fields(self);
        self.delimited(field, self.length().saturating_sub(behind));
    }

    /// A message that may be left out.
    #[inline]
    pub(crate) fn some_message<T>(&mut self, field: u32, of: Option<T>, fields: impl FnOnce(&mut Self, T)) {
        if let Some(of) = of {
            self.message(field, |message| fields(message, of));
        }
    }

    /// A list of messages.
    #[inline]
    pub(crate) fn messages<T>(&mut self, field: u32, list: &[T], fields: impl Fn(&mut Self, &T)) {
        for entry in list.iter().rev() {
            self.message(field, |message| fields(message, entry));
        }
    }

    /// A list of words by their numbers, packed.
    pub(crate) fn words(&mut self, field: u32, words: impl DoubleEndedIterator<Item = i32>) {
        let behind = self.length();
        words.rev().for_each(|word| self.varint(i64::from(word).cast_unsigned()));
        if self.length() > behind {
            self.delimited(field, self.length().saturating_sub(behind));
        }
    }

    fn length(&self) -> usize {
        self.room.len().saturating_sub(self.begin)
    }

    #[inline]
    fn delimited(&mut self, field: u32, length: usize) {
        self.keyed(field, LENGTH_DELIMITED, length as u64);
    }

    /// A number behind its key. Nearly always each of them is one byte, and both are put at once.
    #[inline(always)]
    fn keyed(&mut self, field: u32, value: u32, number: u64) {
        let key = field << 3 | value;
        if key < 0x80 && number < 0x80 {
            return self.put(&[key as u8, number as u8]);
        }
        self.varint(number);
        self.varint(key.into());
    }

    /// Seven bits a byte, the lowest first; the highest bit says that more follow.
    #[inline]
    fn varint(&mut self, number: u64) {
        match number {
            ..0x80 => self.put(&[number as u8]),
            0x80..0x4000 => self.put(&[number as u8 | 0x80, (number >> 7) as u8]),
            0x4000..0x20_0000 => {
                self.put(&[number as u8 | 0x80, (number >> 7) as u8 | 0x80, (number >> 14) as u8]);
            }
            _ => self.long_varint(number),
        }
    }

    #[inline(never)]
    fn long_varint(&mut self, number: u64) {
        let highest = number.checked_ilog2().unwrap_or(0) / 7;
        self.put(&[(number >> (7 * highest)) as u8]);
        for place in (0..highest).rev() {
            self.put(&[(number >> (7 * place)) as u8 | 0x80]);
        }
    }

    #[inline]
    fn put(&mut self, bytes: &[u8]) {
        let Some(begin) = self.begin.checked_sub(bytes.len()) else {
            self.make_room(bytes.len());
            return self.put(bytes);
        };
        if let Some(room) = self.room.get_mut(begin..self.begin) {
            room.copy_from_slice(bytes);
        }
        self.begin = begin;
    }

    /// Twice as much room, and for so many bytes more at least.
    #[cold]
    fn make_room(&mut self, more: usize) {
        let more = self.room.len().max(more);
        let mut larger = vec![0; more];
        larger.extend_from_slice(&self.room);
        self.begin = self.begin.saturating_add(more);
        self.room = larger;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::pb;
    use prost::Message;

    #[test]
    fn numbers_of_every_length() {
        let powers = (0..64).flat_map(|bit| [1_u64 << bit, (1 << bit) - 1, u64::MAX >> bit]);
        for number in powers.chain([0, u64::MAX]) {
            let signed = number.cast_signed();
            let bytes = Backwards::written(|money| {
                money.letters(2, *b"EUR");
                money.signed(1, signed);
            });
            let expect = pb::Money { amount_minor: signed, currency_code: "EUR".into() };
            assert_eq!(bytes, expect.encode_to_vec(), "{number}");
        }
    }

    #[test]
    fn texts_of_every_length() {
        for length in [0, 1, 127, 128, ROOM - 3, ROOM - 2, ROOM, 2 * ROOM, 5 * ROOM, 300_000] {
            let text = "é".repeat(length);
            let bytes = Backwards::written(|party| {
                party.text(2, &text);
                party.text(1, "workshop");
            });
            let expect = pb::Party { code: "workshop".into(), name: text, ..pb::Party::default() };
            assert_eq!(bytes, expect.encode_to_vec(), "{length}");
        }
    }

    #[test]
    fn a_message_in_the_room_of_another_is_as_in_its_own() {
        let long = "x".repeat(KEPT);
        for text in ["a", &long, "", "bread", &long, "b"] {
            let bytes = Backwards::written(|party| {
                // One that is written meanwhile has room of its own.
                let within = Backwards::written(|other| other.text(2, text));
                party.text(2, text);
                party.number(1, within.len() as u64);
            });
            let within = pb::Party { name: text.into(), ..pb::Party::default() }.encode_to_vec();
            let number = pb::Money { amount_minor: within.len() as i64, ..pb::Money::default() };
            assert_eq!(bytes, [number.encode_to_vec(), within].concat());
        }
    }

    #[test]
    fn lists_and_what_is_left_out() {
        let expect = pb::TakenOver { works: vec![3, 1, 300, -1] };
        let bytes = Backwards::written(|over| over.words(1, expect.works.iter().copied()));
        assert_eq!(bytes, expect.encode_to_vec());
        assert!(Backwards::written(|over| over.words(1, [].into_iter())).is_empty());

        let party = |code: &str| pb::Party { code: code.into(), ..pb::Party::default() };
        let expect = pb::Route { partners: vec![party("P-1"), party(""), party("P-2")] };
        let bytes = Backwards::written(|route| {
            route.messages(1, &expect.partners, |at, party| at.text(1, &party.code));
        });
        assert_eq!(bytes, expect.encode_to_vec());

        let expect = pb::Warranty { cycles: Some(0), ..pb::Warranty::default() };
        let bytes = Backwards::written(|warranty| {
            warranty.some_number(3, Some(0));
            warranty.some_message(2, None::<()>, |_, ()| {});
        });
        assert_eq!(bytes, expect.encode_to_vec());
    }
}
