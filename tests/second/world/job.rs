//! A job as the text of its file.

use std::fmt::Write;

use super::draws::{Draws, nth};
use super::{COUNTRIES, Names, WORKS};

pub fn job(draws: &mut Draws, names: &Names) -> String {
    let mut text = String::from("reference = \"J-1\"\n");
    head(draws, names, &mut text);
    customer(draws, names, &mut text);
    let units = draws.pick(&[1, 1, 1, 2, 3]);
    let mut families = Vec::new();
    for index in 0..units {
        families.push(unit(draws, names, index, &mut text));
    }
    for index in 0..draws.pick(&[0, 0, 0, 1, 2]) {
        alternative(draws, names, index, &families, &mut text);
    }
    text
}

/// A day of 2026, now and then the one before or after it.
fn day(draws: &mut Draws) -> String {
    let month = draws.between(1, 12);
    let last = match month {
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    };
    let day = draws.pick(&[1, 2, 15, 27, 28, last, last]);
    format!("2026-{month:02}-{day:02}")
}

fn head(draws: &mut Draws, names: &Names, text: &mut String) {
    let received = if draws.below(200) == 199 { "2027-01-01".into() } else { day(draws) };
    writeln!(text, "received = \"{received}\"").unwrap();
    if draws.chance(10) {
        // Later than most days of receipt, so that few of them contradict each other.
        writeln!(text, "quoted = \"2026-12-{}\"", draws.between(10, 31)).unwrap();
    }
    if draws.chance(10) {
        writeln!(text, "dispatch = \"2027-0{}-{}\"", draws.between(1, 9), draws.between(10, 28)).unwrap();
    }
    if draws.chance(15) {
        let early = draws.chance(10).then(|| day(draws));
        writeln!(text, "tax_date = \"{}\"", early.unwrap_or_else(|| "2026-12-31".into())).unwrap();
    }
    if draws.chance(40) {
        writeln!(text, "currency = \"{}\"", draws.pick(&["EUR", "CHF", "JPY", "KWD", "USD", "GBP"])).unwrap();
    }
    let extra = |index| format!("\"{}\"", nth("X", index));
    let mut extras: Vec<String> = (0..names.extras).filter(|_| draws.chance(40)).map(extra).collect();
    if draws.below(300) == 299 {
        extras.extend([extra(0), extra(0)]);
    }
    writeln!(text, "extras = [{}]", extras.join(", ")).unwrap();
    route(draws, names, text);
}

/// Up to some partner, with all whom he buys from.
fn route(draws: &mut Draws, names: &Names, text: &mut String) {
    let partners = names.partners.len() as u32;
    if partners == 0 || !draws.chance(75) {
        return;
    }
    // The last ones have the longer chains.
    let last = partners - 1 - draws.below(partners);
    let mut chain = vec![last];
    if draws.below(150) != 149 {
        while let Some(before) = names.partners[*chain.last().unwrap() as usize].0 {
            chain.push(before);
        }
    }
    chain.reverse();
    let mut free = WORKS.to_vec();
    let stops: Vec<String> = chain
        .iter()
        .map(|&place| {
            let partner = nth("S", place);
            match draws.below(4) {
                0 | 1 => format!("\"{partner}\""),
                2 => format!("{{ partner = \"{partner}\" }}"),
                _ => {
                    let mistaken = draws.below(40) == 39;
                    let credited = &names.partners[place as usize].1;
                    let works: Vec<&str> = WORKS
                        .into_iter()
                        .filter(|work| {
                            (mistaken || (credited.contains(work) && free.contains(work))) && draws.chance(60)
                        })
                        .collect();
                    free.retain(|work| !works.contains(work));
                    let works: Vec<String> = works.iter().map(|work| format!("\"{work}\"")).collect();
                    format!("{{ partner = \"{partner}\", takes_over = [{}] }}", works.join(", "))
                }
            }
        })
        .collect();
    writeln!(text, "route = [{}]", stops.join(", ")).unwrap();
}

fn customer(draws: &mut Draws, names: &Names, text: &mut String) {
    let (mut country, mut vat_id) = draws.pick(&COUNTRIES);
    if draws.chance(25) {
        (country, vat_id) = *COUNTRIES.iter().find(|pair| pair.0 == names.country).unwrap();
    }
    match draws.below(120) {
        117 => vat_id = "DE136695977",
        118 => vat_id = "ATU13585627",
        119 => vat_id = "",
        _ => {}
    }
    let postcode = draws.pick(&["", "25938", "25001", "BT1 1AA"]);
    let (name, business) = (if draws.below(300) == 299 { "" } else { "K" }, draws.below(300) != 299);
    writeln!(
        text,
        "\n[customer]\nname = \"{name}\"\npostcode = \"{postcode}\"\ncountry = \"{country}\"\nbusiness = {business}"
    )
    .unwrap();
    if !vat_id.is_empty() {
        writeln!(text, "vat_id = \"{vat_id}\"").unwrap();
    }
}

/// One unit; its family by its place.
fn unit(draws: &mut Draws, names: &Names, index: u32, text: &mut String) -> usize {
    let family = draws.below(names.families.len() as u32) as usize;
    let id =
        if draws.below(300) == 299 { draws.pick(&["ending", "A/B", "U1"]).into() } else { nth("U", index) };
    writeln!(text, "\n[[units]]\nid = \"{id}\"\nfamily = \"{}\"\nserial = \"\"", nth("D", family as u32))
        .unwrap();
    writeln!(text, "declared_value = \"{}\"", draws.decimal(3000, 4)).unwrap();
    if draws.chance(75) {
        let (year, month, day) = match draws.below(40) {
            37 | 38 => (2016, 2, 29),
            39 => draws.pick(&[(2027, 1, 1), (1949, 12, 31)]),
            _ => (draws.between(2012, 2025), draws.between(1, 12), draws.pick(&[1, 2, 15, 27, 28])),
        };
        writeln!(text, "built = \"{year}-{month:02}-{day:02}\"").unwrap();
    }
    let cycles = draws.maybe(75, |draws| draws.below(900_000));
    if let Some(cycles) = cycles {
        writeln!(text, "cycles = {cycles}").unwrap();
    }
    if draws.chance(40) {
        writeln!(text, "hours = {}", if draws.below(200) == 199 { 2_000_001 } else { draws.below(90_000) })
            .unwrap();
    }
    if let Some(task) = task(draws, names, family) {
        writeln!(text, "task = \"{task}\"").unwrap();
    }
    if let Some(class) = class(draws, names, family) {
        writeln!(text, "class = \"{class}\"").unwrap();
    }
    parcels(draws, index, text);
    writeln!(text, "findings = [{}]", findings(draws, names, 4)).unwrap();
    if draws.chance(25) {
        returned(draws, cycles, text);
    }
    family
}

fn task(draws: &mut Draws, names: &Names, family: usize) -> Option<&'static str> {
    match draws.below(10) {
        8 => Some("decline"),
        9 if names.families[family].exchange || draws.below(30) == 29 => Some("exchange"),
        7 => Some("refresh"),
        _ => None,
    }
}

fn class(draws: &mut Draws, names: &Names, family: usize) -> Option<&'static str> {
    if names.families[family].flat {
        return match draws.below(80) {
            79 => Some("major"),
            other => [None, Some("standard"), Some("minor"), Some("minor")][other as usize % 4],
        };
    }
    (draws.below(200) == 199).then_some("standard")
}

fn parcels(draws: &mut Draws, index: u32, text: &mut String) {
    let count = if index == 0 { draws.pick(&[1, 1, 1, 2]) } else { draws.pick(&[1, 0, 1, 2]) };
    let parcels: Vec<String> = (0..count)
        .map(|_| {
            let mut side = || draws.decimal(80, 2).replace("0.00", "0.01");
            let sides = [side(), side(), side()];
            let sides = if draws.below(400) == 399 { sides.map(|_| "1000.01".into()) } else { sides };
            let weight = if draws.below(200) == 199 { draws.pick(&["950", "10000.001"]).into() } else { draws.decimal(40, 3) };
            let [length, width, height] = sides.map(|side| if side == "0" { "1".into() } else { side });
            let weight = if weight.trim_matches(['0', '.']).is_empty() { "0.5".into() } else { weight };
            format!(
                "{{ length_cm = \"{length}\", width_cm = \"{width}\", height_cm = \"{height}\", weight_kg = \"{weight}\" }}"
            )
        })
        .collect();
    writeln!(text, "parcels = [{}]", parcels.join(", ")).unwrap();
}

fn findings(draws: &mut Draws, names: &Names, most: u32) -> String {
    let count = if draws.chance(25) { 0 } else { draws.between(1, most) };
    let findings: Vec<String> = (0..count)
        .map(|_| {
            let unknown = draws.below(300) == 299;
            let code = nth("F", draws.below(names.findings + u32::from(unknown)));
            let position =
                draws.pick(&["", ", position = \"K1\"", ", position = \"K2\"", ", position = \"L9\""]);
            let quantity = match draws.below(8) {
                0..=4 => String::new(),
                7 if draws.below(30) == 29 => format!(", quantity = {}", draws.pick(&[1000, 1000, 0, 1001])),
                _ => format!(", quantity = {}", draws.between(1, 5)),
            };
            format!("{{ code = \"{code}\"{position}{quantity} }}")
        })
        .collect();
    findings.join(", ")
}

fn returned(draws: &mut Draws, cycles: Option<u32>, text: &mut String) {
    let mut dispatched = day(draws);
    if !draws.chance(5) {
        let year = if draws.below(100) == 99 { "1949" } else { "2025" };
        dispatched = dispatched.replace("2026", year);
    }
    let months = draws.pick(&[12, 24, 36, 6, 601]);
    let months = if months == 601 && draws.below(20) != 19 { 18 } else { months };
    writeln!(
        text,
        "\n[units.returned]\nquote = \"J-0\"\ndispatched = \"{dispatched}\"\nwarranty_months = {months}"
    )
    .unwrap();
    let known = cycles.is_some() || draws.chance(5);
    if known && draws.chance(50) {
        writeln!(text, "warranty_cycles = {}", draws.below(400_000)).unwrap();
    }
    if draws.chance(95) {
        let then = match cycles {
            Some(cycles) if draws.below(30) != 29 => cycles - draws.below(cycles.min(400_000) + 1),
            _ => draws.below(900_000),
        };
        writeln!(text, "cycles_at_dispatch = {then}").unwrap();
    }
}

fn alternative(draws: &mut Draws, names: &Names, index: u32, families: &[usize], text: &mut String) {
    let id = if draws.below(200) == 199 { "V1".into() } else { nth("V", index) };
    writeln!(text, "\n[[alternatives]]\nid = \"{id}\"").unwrap();
    let mut changes = Vec::new();
    for (place, &family) in families.iter().enumerate() {
        if place > 0 && !draws.chance(50) {
            continue;
        }
        let mut change = format!("unit = \"{}\"", nth("U", place as u32));
        if let Some(task) = task(draws, names, family) {
            write!(change, ", task = \"{task}\"").unwrap();
        }
        if let Some(class) = class(draws, names, family) {
            write!(change, ", class = \"{class}\"").unwrap();
        }
        write!(change, ", findings = [{}]", findings(draws, names, 2)).unwrap();
        changes.push(format!("{{ {change} }}"));
    }
    writeln!(text, "changes = [{}]", changes.join(", ")).unwrap();
}
