//! Worlds to price: a tariff folder and some jobs, as the text of their files. They are sound for the
//! most part; jobs have mistakes now and then.

mod draws;
mod job;
mod tariff;

use proptest::collection::vec;
use proptest::prelude::*;

use draws::Draws;

/// An edition and jobs for it.
pub struct World {
    pub tariff: Vec<(&'static str, String)>,
    pub jobs: Vec<String>,
}

/// Countries of the tariffs, with a VAT identifier that is sound there, or without one.
pub(crate) const COUNTRIES: [(&str, &str); 17] = [
    ("DE", "DE136695976"),
    ("AT", "ATU13585627"),
    ("FR", "FR31241157882"),
    ("PL", "PL8567346215"),
    ("GB", "XI123456782"),
    ("CH", ""),
    ("IT", "IT00743110157"),
    ("CZ", "CZ22007431"),
    ("DE", "DE215148546"),
    ("NL", "NL004495445B01"),
    ("GB", ""),
    ("GR", "EL123456783"),
    ("CH", "CHE-083.016.613 MWST"),
    ("SE", "SE123456789701"),
    ("BE", "BE0428759497"),
    ("KW", ""),
    ("JP", ""),
];

pub(crate) const CATEGORIES: [&str; 10] =
    ["part", "labour", "test", "courier", "flat", "exchange", "inspection", "surcharge", "minimum", "ending"];

pub(crate) const WORKS: [&str; 5] = ["removal", "refitting", "diagnosis", "leg_in", "leg_out"];

/// What a tariff has that its jobs name.
pub(crate) struct Names {
    pub findings: u32,
    pub families: Vec<Family>,
    pub extras: u32,
    /// Partner, whom he buys from, and the works that all his agreements credit.
    pub partners: Vec<(Option<u32>, Vec<&'static str>)>,
    pub country: &'static str,
}

pub(crate) struct Family {
    pub flat: bool,
    pub exchange: bool,
}

/// Draws for one tariff, and for each of some jobs.
pub type Seeds = (Vec<u32>, Vec<Vec<u32>>);

pub fn draws(jobs: usize) -> impl Strategy<Value = Seeds> {
    (vec(any::<u32>(), 800), vec(vec(any::<u32>(), 160), jobs))
}

pub fn world((tariff, jobs): &Seeds) -> World {
    let (tariff, names) = tariff::tariff(&mut Draws::new(tariff));
    World { tariff, jobs: jobs.iter().map(|draws| job::job(&mut Draws::new(draws), &names)).collect() }
}

/// The same draws with as many noughts among them as it takes to stay as it is, and one job where that
/// is enough.
pub fn plainest(mut draws: Seeds, is_so: impl Fn(&Seeds) -> bool) -> Seeds {
    let alone = |job: &Vec<u32>| (draws.0.clone(), vec![job.clone()]);
    if let Some(one) = draws.1.iter().map(alone).find(&is_so) {
        draws = one;
    }
    for list in 0..=draws.1.len() {
        let mut length = 256;
        while length > 0 {
            for start in (0..800).step_by(length) {
                let mut plainer = draws.clone();
                let list = if list == 0 { &mut plainer.0 } else { &mut plainer.1[list - 1] };
                list.iter_mut().skip(start).take(length).for_each(|draw| *draw = 0);
                if plainer != draws && is_so(&plainer) {
                    draws = plainer;
                }
            }
            length /= 2;
        }
    }
    draws
}
