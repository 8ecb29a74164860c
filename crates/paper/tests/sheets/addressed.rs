//! Each sheet speaks to who reads it.

use evenfare_engine::flag::Flag;
use evenfare_engine::language::Language;
use evenfare_engine::supply::VatCategory;
use evenfare_engine::view::{VatView, View};
use evenfare_paper::sheet::{self, Block, Sheet};
use evenfare_paper::words::{Addressee, Words};

use crate::world::{given, quote, seen, stationery};

const READERS: [Addressee; 3] = [Addressee::Office, Addressee::Partner, Addressee::Customer];

/// A sheet of a job for that reader; the view may be another before it is written.
fn told(number: u32, reader: Addressee, language: Language, change: impl Fn(&mut View)) -> Sheet {
    let (quote, stationery) = (quote(number).unwrap(), stationery());
    let partner = quote.route.last().map(|party| party.code.clone());
    let mut view = match (reader, &partner) {
        (Addressee::Office, _) => seen(&quote, "office"),
        (Addressee::Partner, Some(code)) => seen(&quote, &format!("partner:{code}")),
        (Addressee::Partner, None) => panic!("job {number} has no partner"),
        (Addressee::Customer, _) => seen(&quote, "customer"),
    };
    change(&mut view);
    let given = given(&view, &stationery, language);
    match reader {
        Addressee::Office => sheet::office(&given),
        Addressee::Partner => sheet::partner(&given, &partner.unwrap()),
        Addressee::Customer => sheet::quote(&given),
    }
    .unwrap()
}

/// The sentences of its lists.
fn sentences(sheet: &Sheet) -> Vec<&str> {
    let lists = sheet.blocks.iter().filter_map(|block| match block {
        Block::List { items, .. } => Some(items),
        _ => None,
    });
    lists.flatten().map(String::as_str).collect()
}

/// A job whose shares were scaled down.
const SCALED: u32 = 8;

#[test]
fn a_partner_is_told_of_his_own_share() {
    let his = [
        "Your share was scaled down to keep the workshop’s minimum.",
        "Ihr Anteil wurde gekürzt, damit die Untergrenze der Werkstatt gewahrt bleibt.",
        "Państwa udział zmniejszono, aby zachować minimalną kwotę dla serwisu.",
        "Votre part a été réduite afin de préserver le minimum qui revient à l’atelier.",
        "Váš podíl byl krácen, aby servisu zůstalo stanovené minimum.",
    ];
    for (&language, his) in Language::ALL.iter().zip(his) {
        let of_all = Words::of(language).flag(Flag::SharesScaled, Addressee::Office, &[]);
        assert_ne!(of_all, his);
        let says = |reader| {
            let sheet = told(SCALED, reader, language, |_| {});
            [his, of_all.as_str()].map(|words| sentences(&sheet).contains(&words))
        };
        assert_eq!(says(Addressee::Partner), [true, false], "{language}");
        assert_eq!(says(Addressee::Office), [false, true], "{language}");
        assert_eq!(says(Addressee::Customer), [false, false], "{language}");
    }
}

/// What that reader may be told of.
fn noticed(reader: Addressee) -> Vec<Flag> {
    let may = |flag: &&Flag| match flag {
        Flag::UnderFloor => reader == Addressee::Office,
        Flag::SharesScaled => reader != Addressee::Customer,
        _ => true,
    };
    Flag::ALL.iter().filter(may).copied().collect()
}

#[test]
fn whatever_is_noted_is_in_words_for_its_reader() {
    for &language in Language::ALL {
        for reader in READERS {
            // Nothing in that job is outside of VAT: which sale is of several invoices is told below.
            let sheet = told(SCALED, reader, language, |view| view.main.flags = noticed(reader));
            let said = sentences(&sheet);
            for flag in noticed(reader) {
                let words = Words::of(language).flag(flag, reader, &[]);
                assert!(said.contains(&words.as_str()), "{reader:?}, {language}: `{words}`");
            }
            // Of others only the office is told.
            if language == Language::English && reader != Addressee::Office {
                for words in ["The partners’", "each sale"] {
                    assert!(said.iter().all(|said| !said.contains(words)), "{reader:?} reads `{words}`");
                }
            }
        }
    }
}

/// Who buys or sells what is in part outside of VAT reads which of his sales it is, and nobody of another's.
#[test]
fn who_needs_two_invoices_reads_for_which_sale() {
    const PURCHASE: &str =
        "Your purchase needs two invoices: what is not subject to VAT stands on one of its own.";
    const SALE: &str = "Your sale needs two invoices: what is not subject to VAT stands on one of its own.";
    const BOTH: &str = "Your purchase and your sale need two invoices each: what is not subject to VAT stands on one of its own.";
    let of = |category, rate: Option<&str>| VatView {
        category,
        rate: rate.map(str::to_owned),
        base_minor: 0,
        tax_minor: 0,
        reason: category.reason(),
    };
    let alone = vec![of(VatCategory::O, None)];
    let mixed = vec![of(VatCategory::G, Some("0")), of(VatCategory::O, None)];
    let with = |reader, vat: [&Vec<VatView>; 2]| {
        let sheet = told(SCALED, reader, Language::English, |view| {
            view.main.flags = vec![Flag::SeveralInvoices];
            for (sale, vat) in view.main.sales.iter_mut().zip(vat) {
                sale.vat.clone_from(vat);
            }
        });
        let said: Vec<String> = sentences(&sheet).into_iter().map(str::to_owned).collect();
        [PURCHASE, SALE, BOTH].map(|words| said.iter().any(|said| said == words))
    };
    assert_eq!(with(Addressee::Partner, [&mixed, &alone]), [true, false, false]);
    assert_eq!(with(Addressee::Partner, [&alone, &mixed]), [false, true, false]);
    assert_eq!(with(Addressee::Partner, [&mixed, &mixed]), [false, false, true]);
    assert_eq!(with(Addressee::Customer, [&mixed, &mixed]), [true, false, false]);
}

/// What was noted of the job alone was all that a customer and a partner ever read.
#[test]
fn what_is_noted_of_an_alternative_is_told() {
    let noted = |reader, number| {
        let sheet = told(number, reader, Language::English, |view| {
            let mut other = view.main.clone();
            other.offer = "other".into();
            other.flags = vec![Flag::Uneconomic];
            view.alternatives = vec![other];
            view.main.flags.clear();
        });
        let words = Words::of(Language::English).flag(Flag::Uneconomic, reader, &[]);
        sentences(&sheet).iter().filter(|said| **said == words).count()
    };
    for reader in READERS {
        assert_eq!(noted(reader, SCALED), 1, "{reader:?}");
    }
}

/// The bench is the workshop's, whoever's paper says so.
#[test]
fn cautions_are_nobodys_own() {
    for &language in Language::ALL {
        let said = Words::of(language).say("caution-safety");
        let mut words = said.split(' ');
        assert!(
            !words.any(|word| ["our", "unserem", "naszym", "notre", "našem"].contains(&word)),
            "{language}: {said}"
        );
    }
}

/// What goes abroad named no country of its sender, and what a partner sent to a customer of his own country named
/// theirs.
#[test]
fn an_address_has_its_country_where_it_is_read_in_another() {
    let stationery = stationery();
    let mut went = [0, 0];
    for quote in (1..=12).filter_map(quote) {
        for &language in Language::ALL {
            let view = seen(&quote, "customer");
            let sale = view.main.sales.iter().find(|sale| sale.buyer == view.customer.code).unwrap();
            let (seller, buyer) = (view.party(&sale.seller).unwrap(), &view.customer);
            let [own, other] = [seller, buyer].map(|party| Words::of(language).country(party.country));
            let is_abroad = own != other;
            let sheet = sheet::quote(&given(&view, &stationery, language)).unwrap();
            let named = [sheet.head.sender.ends_with(&own), sheet.head.foot[0].contains(&own)];
            assert_eq!(named, [is_abroad; 2], "{}: {:?}", quote.reference, sheet.head);
            assert_eq!(sheet.recipient.contains(&other), is_abroad, "{}", quote.reference);
            went[usize::from(is_abroad)] += 1;
        }
    }
    assert!(went.iter().all(|sheets| *sheets >= Language::ALL.len()), "{went:?}");
}

/// The number alone is that of any Swiss firm, whether it charges VAT or not.
#[test]
fn a_swiss_sellers_identifier_has_the_suffix_of_the_tax() {
    let swiss = "CHE107787577";
    let buy = |view: &mut View| view.customer.vat_id = Some(swiss.into());
    for (language, suffix) in [(Language::English, "MWST"), (Language::French, "TVA")] {
        let sheet = told(4, Addressee::Customer, language, buy);
        let expect = format!("\u{a0}CHE-083.016.613\u{a0}{suffix}");
        assert!(
            sheet.head.foot.iter().flatten().any(|line| line.ends_with(&expect)),
            "{:?}",
            sheet.head.foot
        );
        // Whether a buyer charges VAT nobody has said.
        assert!(sheet.facts.iter().any(|fact| fact.value == swiss), "{:?}", sheet.facts);
    }
}
