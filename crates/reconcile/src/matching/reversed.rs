//! Payments that the bank takes back.

use std::cmp::{Ordering, Reverse};
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::iter::Peekable;
use std::ops::Range;
use std::slice::Iter;

use super::open::For;
use super::payments::{Matching, State, TOLD};
use super::question::Why;
use super::undone::Did;
use super::written::deal_of;
use crate::error::Unreconciled;
use crate::loaded::{Loaded, Received};
use crate::reference::normal;
use crate::sorted::run_of;
use crate::terms::{Decision, Part, PaymentId};

/// By what the other side of a payment and of what takes it back is known as one.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
enum By {
    /// Both tell its account.
    Account,
    /// What takes back tells its name alone, or nothing.
    Name,
    /// The payment tells its name alone.
    NameAlone,
}

/// By what the other side is known and as what, the account, and the amount of what is taken back.
type Key = (By, String, String, i64);

/// What may be taken back by that, and the payments that take something back of which nothing else is known.
type Alike = (Vec<Earlier>, Vec<u32>);

/// What is taken back at once: a payment, or all of an entry.
struct Earlier {
    /// The payments, which stand one after the other.
    places: Range<u32>,
    did: Did,
}

impl Earlier {
    fn is_left(&self, taken: &HashSet<u32>) -> bool {
        !self.places.clone().any(|place| taken.contains(&place))
    }

    /// What the bank had kept back of it, where a reversal takes back what came in.
    fn kept_back(&self, matching: &Matching<'_, '_>, reversal: u32) -> i64 {
        let all = self.places.clone().chain([reversal]).filter_map(|place| matching.payment(place));
        all.fold(0, |sum, one| sum.saturating_add(one.cleared()))
    }

    /// What it did, as far as that comes to what the bank took back: without what it had kept back.
    fn answer(&self, matching: &Matching<'_, '_>, reversal: u32) -> Result<Did, Unreconciled> {
        let kept_back = self.kept_back(matching, reversal).saturating_neg();
        Ok(self.did.and(&self.did.more(matching, reversal, kept_back)?))
    }
}

/// What is taken back by what a reversal names, or by a decision.
struct Back<'e> {
    reversal: u32,
    /// What the reversal does by that.
    did: Did,
    one: &'e Earlier,
    is_decided: bool,
}

impl Back<'_> {
    /// Lets the reversal do the opposite of what the payment did, whatever it names of that. What was decided stays as it is,
    /// and what the bank had kept back comes back beside it. Of a payment that named nothing the reversal says what it was
    /// for.
    fn act(&self, matching: &mut Matching<'_, '_>) -> Result<(), Unreconciled> {
        let Self { reversal, did, one, is_decided } = self;
        let kept_back = one.kept_back(matching, *reversal);
        let more = did.more(matching, *reversal, kept_back.saturating_neg())?;
        if one.did.is_nothing() {
            let was_for = did.and(&more).opposite();
            if !was_for.act_together(matching, one.places.clone())? {
                return self.cancel(matching);
            }
            more.act(matching, *reversal)?;
        } else if *is_decided && *did != one.answer(matching, *reversal)?.opposite() {
            more.act(matching, *reversal)?;
        } else {
            one.did.and(did).opposite().act(matching, *reversal)?;
        }
        matching.keep_back(*reversal, kept_back);
        Ok(())
    }

    /// Of an entry of which nothing says what each of its payments was for, nothing is left but what a person decided.
    fn cancel(&self, matching: &mut Matching<'_, '_>) -> Result<(), Unreconciled> {
        let places = self.one.places.clone();
        if self.is_decided {
            places.for_each(|place| matching.set(place, State::Unknown));
            return Ok(());
        }
        self.did.opposite().act(matching, self.reversal)?;
        places.chain([self.reversal]).for_each(|place| matching.set(place, State::Other));
        Ok(())
    }
}

/// What may be taken back by a key, as far as it came before a reversal.
struct Before<'e> {
    coming: Peekable<Iter<'e, Earlier>>,
    /// What did something, by each of what it was for.
    by_what: HashMap<For, Vec<&'e Earlier>>,
    /// Of which nothing is known.
    new: Vec<&'e Earlier>,
    /// Of which a person said that they are for nothing.
    other: Vec<&'e Earlier>,
}

impl<'e> Before<'e> {
    fn new(earlier: &'e [Earlier]) -> Self {
        let (new, other) = (Vec::new(), Vec::new());
        Self { coming: earlier.iter().peekable(), by_what: HashMap::new(), new, other }
    }

    /// Reversals are asked for one after the other.
    fn go_on_to(&mut self, reversal: u32, matching: &Matching<'_, '_>) {
        while let Some(one) = self.coming.next_if(|one| one.places.end <= reversal) {
            let mut places = one.places.clone();
            match () {
                () if !one.did.is_nothing() => {
                    one.did.of().into_iter().for_each(|of| self.by_what.entry(of).or_default().push(one));
                }
                () if places.clone().all(|place| matching.is_new(place)) => self.new.push(one),
                () if places.all(|place| matching.is_other(place)) => self.other.push(one),
                () => {}
            }
        }
    }

    /// What is left of what was for all of that: the last of those that were for the least besides, else the last of which
    /// nothing is known.
    fn take(&mut self, of: &BTreeSet<For>, taken: &HashSet<u32>) -> Option<&'e Earlier> {
        let named = of.first().and_then(|first| self.by_what.get(first)).into_iter().flatten().copied();
        let is_it = |one: &&Earlier| one.is_left(taken) && of.is_subset(&one.did.of());
        let fits = |one: &&Earlier| (Reverse(one.did.of().len()), one.places.end);
        named.filter(is_it).max_by_key(fits).or_else(|| last_left(&mut self.new, taken))
    }
}

fn last_left<'e>(stack: &mut Vec<&'e Earlier>, taken: &HashSet<u32>) -> Option<&'e Earlier> {
    while let Some(one) = stack.pop() {
        if one.is_left(taken) {
            return Some(one);
        }
    }
    None
}

/// Payments that take back an earlier one: of the same account and other side, and of the opposite amount; or all payments
/// of an entry, by their sum. What repeats the reference of one from end to end takes back that. Of several that did the
/// same it makes no difference which is taken back, but that it was before; of others it is asked, unless all are. What a
/// payment that names nothing was for is not known yet: beside others, and beside one that is asked about, it is asked as
/// well. What is taken back by its number, or by a decision, is taken back no second time.
pub(super) fn reversals(
    matching: &mut Matching<'_, '_>,
    loaded: &Loaded<'_>,
    decisions: &[Decision],
) -> Result<(), Unreconciled> {
    let payments = matching.payments;
    let reversals = || (0_u32..).zip(payments).filter(|(_, one)| one.reversal);
    // What one of them takes back by a number another may know by another key: with all of its entry, or alone.
    let mut alike: BTreeMap<Key, Alike> =
        reversals().flat_map(|(_, one)| looked_for(one)).map(|key| (key, Alike::default())).collect();
    if alike.is_empty() {
        return Ok(());
    }
    matching.allocations.sort_unstable();
    matching.held.sort_unstable();
    note_earlier(matching, &mut alike);
    for (place, one) in reversals().filter(|(place, _)| matching.is_new(*place)) {
        let is_known = |key: &Key| {
            let first = alike.get(key).and_then(|(earlier, _)| earlier.first());
            first.is_some_and(|first| first.places.end <= place)
        };
        let key = looked_for(one).find(is_known);
        if let Some((_, reversals)) = key.and_then(|key| alike.get_mut(&key)) {
            reversals.push(place);
        }
    }
    let (mut taken, named) = taken_by_name(matching, &alike, decisions);
    named.iter().try_for_each(|back| back.act(matching))?;
    for ((.., minor), (earlier, reversals)) in &alike {
        for (mut earlier, mut reversals) in rounds(matching, earlier, reversals) {
            earlier.retain(|one| one.is_left(&taken));
            reversals.retain(|place| matching.is_new(*place));
            let (pairs, left) = pairs(&earlier, &reversals);
            let all = || pairs.iter().map(|(one, _)| *one).chain(left.iter().copied());
            let asked = |one: &Earlier| one.places.clone().any(|place| matching.is_asked(place));
            let is_other =
                |one: &Earlier, first: &Earlier| one.did != first.did || asked(one) != asked(first);
            let differ = || all().any(|one| all().next().is_some_and(|first| is_other(one, first)));
            if !left.is_empty() && differ() {
                ask(matching, loaded, (all().collect(), *minor > 0), &reversals)?;
                continue;
            }
            for (one, reversal) in pairs {
                taken.extend(one.places.clone());
                take_back(matching, one, reversal)?;
            }
        }
    }
    Ok(())
}

/// What a reversal takes back is known by: the account of the other side, else its name where the payment tells no more.
fn looked_for(reversal: &Received<'_>) -> impl Iterator<Item = Key> {
    let (account, name) = other_side(reversal);
    let sides = match account {
        Some(account) => [Some((By::Account, account)), name.map(|name| (By::NameAlone, name))],
        None => [Some((By::Name, name.unwrap_or_default())), None],
    };
    let (own, minor) = (normal(&reversal.statement.account), reversal.cleared().saturating_neg());
    sides.into_iter().flatten().map(move |(by, side)| (by, side, own.clone(), minor))
}

/// What a payment is known by, with that amount.
fn known_by(payment: &Received<'_>, minor: i64) -> impl Iterator<Item = Key> {
    let (account, name) = other_side(payment);
    let sides = match account {
        Some(account) => [Some((By::Account, account)), name.map(|name| (By::Name, name))],
        None => [Some((By::Name, name.clone().unwrap_or_default())), name.map(|name| (By::NameAlone, name))],
    };
    let own = normal(&payment.statement.account);
    sides.into_iter().flatten().map(move |(by, side)| (by, side, own.clone(), minor))
}

/// The account and the name of the other side, as far as they are told.
fn other_side(one: &Received<'_>) -> (Option<String>, Option<String>) {
    let told = |text: &Option<Box<str>>| text.as_deref().map(normal).filter(|text| !text.is_empty());
    (told(&one.payment.party_account), told(&one.payment.party))
}

/// Notes what may be taken back, in the order of days.
fn note_earlier(matching: &Matching<'_, '_>, alike: &mut BTreeMap<Key, Alike>) {
    // Of a million payments few are of such an amount.
    let amounts: HashSet<i64> = alike.keys().map(|(.., minor)| *minor).collect();
    let mut note = |key: Key, places: Range<u32>| {
        if let Some((earlier, _)) = alike.get_mut(&key) {
            earlier.extend(what(matching, places));
        }
    };
    let mut end = 0_u32;
    let of_entry =
        |a: &Received<'_>, b: &Received<'_>| std::ptr::eq(a.statement, b.statement) && a.entry == b.entry;
    for entry in matching.payments.chunk_by(of_entry) {
        let begin = end;
        end = begin.saturating_add(u32::try_from(entry.len()).unwrap_or(u32::MAX));
        let Some(first) = entry.first().filter(|first| !first.reversal) else { continue };
        for (place, one) in (begin..end).zip(entry) {
            // A bank takes back what was sent, or what came in of it.
            let came_in = Some(one.payment.minor).filter(|minor| *minor != one.cleared());
            for minor in [one.cleared()].into_iter().chain(came_in).filter(|minor| amounts.contains(minor)) {
                known_by(one, minor).for_each(|key| note(key, place..place.saturating_add(1)));
            }
        }
        let sum = entry.iter().fold(0_i64, |sum, one| sum.saturating_add(one.cleared()));
        if entry.len() > 1 && amounts.contains(&sum) {
            note((By::Name, String::new(), normal(&first.statement.account), sum), begin..end);
        }
    }
}

/// What these payments did; nothing where some of them did something and others did not.
fn what(matching: &Matching<'_, '_>, places: Range<u32>) -> Option<Earlier> {
    let is_it = |payment: u32| match payment {
        payment if payment < places.start => Ordering::Less,
        payment if payment < places.end => Ordering::Equal,
        _ => Ordering::Greater,
    };
    let cleared = run_of(&matching.allocations, |part| is_it(part.payment));
    let held = run_of(&matching.held, |one| is_it(one.payment));
    let payments = cleared.iter().map(|part| part.payment).chain(held.iter().map(|one| one.payment));
    let did = payments.collect::<BTreeSet<u32>>().len();
    let cleared = cleared.iter().map(|part| (part.open, part.minor)).collect();
    let held = held.iter().map(|one| (one.deal, one.currency, one.minor)).collect();
    let is_one = did == 0 || did == places.len();
    is_one.then_some(Earlier { places, did: Did { cleared, held } })
}

/// The payments that other reversals took back, by what they name or by a decision: of each the last before it that was for
/// all of that and for the least besides, else one that names nothing. What a person said is for nothing takes back what he
/// said the same of. With how each was taken back that is for anything.
fn taken_by_name<'e>(
    matching: &Matching<'_, '_>,
    alike: &'e BTreeMap<Key, Alike>,
    decisions: &[Decision],
) -> (HashSet<u32>, Vec<Back<'e>>) {
    let (mut taken, mut named) = (HashSet::new(), Vec::new());
    let decided: HashSet<&PaymentId> = decisions.iter().filter_map(|decision| decision.about().0).collect();
    let mut before: HashMap<Key, Before<'_>> = HashMap::new();
    for (place, one) in (0_u32..).zip(matching.payments).filter(|(_, one)| one.reversal) {
        let own = what(matching, place..place.saturating_add(1)).filter(|_| !matching.is_new(place));
        let Some(Earlier { did, .. }) = own else { continue };
        let of = did.of();
        let last = looked_for(one).find_map(|key| {
            let (earlier, _) = alike.get(&key)?;
            let before = before.entry(key).or_insert_with(|| Before::new(earlier));
            before.go_on_to(place, matching);
            match () {
                () if !of.is_empty() => before.take(&of, &taken),
                () if matching.is_other(place) => last_left(&mut before.other, &taken),
                () => None,
            }
        });
        let Some(last) = last else { continue };
        taken.extend(last.places.clone());
        if !of.is_empty() {
            let is_decided = decided.contains(&one.id());
            named.push(Back { reversal: place, did, one: last, is_decided });
        }
    }
    (taken, named)
}

/// What repeats a reference from end to end, with those that had it; then all.
fn rounds<'e>(
    matching: &Matching<'_, '_>,
    earlier: &'e [Earlier],
    reversals: &[u32],
) -> Vec<(Vec<&'e Earlier>, Vec<u32>)> {
    let reference = |place: u32| {
        let text = matching.payment(place)?.payment.end_to_end.as_deref().map(normal);
        text.filter(|text| !text.is_empty())
    };
    let mut of_reference: BTreeMap<String, (Vec<&'e Earlier>, Vec<u32>)> = BTreeMap::new();
    for place in reversals {
        if let Some(text) = reference(*place) {
            of_reference.entry(text).or_default().1.push(*place);
        }
    }
    for one in earlier.iter().filter(|one| one.places.len() == 1) {
        let text = if of_reference.is_empty() { None } else { reference(one.places.start) };
        if let Some((earlier, _)) = text.and_then(|text| of_reference.get_mut(&text)) {
            earlier.push(one);
        }
    }
    of_reference.into_values().chain([(earlier.iter().collect(), reversals.to_vec())]).collect()
}

/// Puts each to the last that is left before it; and what is left of those before the last.
fn pairs<'e>(earlier: &[&'e Earlier], reversals: &[u32]) -> (Vec<(&'e Earlier, u32)>, Vec<&'e Earlier>) {
    let mut coming = earlier.iter().copied().peekable();
    let (mut pairs, mut left) = (Vec::with_capacity(reversals.len()), Vec::new());
    for &reversal in reversals {
        while let Some(one) = coming.next_if(|one| one.places.end <= reversal) {
            left.push(one);
        }
        pairs.extend(left.pop().map(|one| (one, reversal)));
    }
    (pairs, left)
}

fn take_back(matching: &mut Matching<'_, '_>, one: &Earlier, reversal: u32) -> Result<(), Unreconciled> {
    let Earlier { places, did } = one;
    if did.is_nothing() {
        places.clone().chain([reversal]).for_each(|place| matching.set(place, State::Other));
        matching.returned.extend((places.len() == 1).then_some((places.start, reversal)));
    } else {
        matching.keep_back(reversal, one.kept_back(matching, reversal));
    }
    did.opposite().act(matching, reversal)
}

/// Asks which of these each takes back.
fn ask(
    matching: &mut Matching<'_, '_>,
    loaded: &Loaded<'_>,
    (mut among, goes_out): (Vec<&Earlier>, bool),
    reversals: &[u32],
) -> Result<(), Unreconciled> {
    among.retain(|one| !one.did.is_nothing());
    among.sort_by(|a, b| a.did.cmp(&b.did).then(a.places.start.cmp(&b.places.start)));
    among.dedup_by(|other, first| other.did == first.did);
    among.sort_by_key(|one| one.places.start);
    for &reversal in reversals {
        let before = among.iter().take_while(|one| one.places.end <= reversal).take(TOLD);
        let mut answers: Vec<Vec<Part>> = Vec::new();
        for one in before {
            let answer = parts(matching, loaded, &one.answer(matching, reversal)?);
            if !answers.contains(&answer) {
                answers.push(answer);
            }
        }
        if !answers.is_empty() {
            matching.ask_parts(reversal, Why::EquallyGood, answers);
        }
    }
    for Did { cleared, held } in among.iter().map(|one| &one.did) {
        cleared.iter().for_each(|(open, _)| matching.doubt(*open, goes_out));
        if goes_out {
            matching.deals_in_question.extend(held.iter().map(|(deal, ..)| *deal));
        }
    }
    Ok(())
}

/// What is to be said of a reversal, where it takes that back.
fn parts(matching: &Matching<'_, '_>, loaded: &Loaded<'_>, did: &Did) -> Vec<Part> {
    let part = |invoice: Option<&Box<str>>, currency, minor: i64| {
        Some(Part { invoice: invoice?.clone(), currency, minor: minor.saturating_neg() })
    };
    let of_invoices = did.cleared.iter().filter_map(|(open, minor)| {
        let open = matching.open.get(*open)?;
        part(Some(&open.invoice.number), open.currency(), *minor)
    });
    let of_quotes = did.held.iter().filter_map(|(deal, currency, minor)| {
        part(deal_of(&loaded.deals, *deal).map(|deal| &deal.number), *currency, *minor)
    });
    of_invoices.chain(of_quotes).collect()
}
