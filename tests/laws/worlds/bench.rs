//! The bench: grades, parts, operations, tests, findings and what they add.

use evenfare_engine::category::PartUnit;
use evenfare_engine::money::{Quantity, UnitPrice};
use evenfare_engine::tariff::{
    Adds, Cover, FindingRow, FindingStepRow, GradeRow, OperationRow, PartRow, PriceBreakRow, TestRow,
};
use evenfare_engine::text::Code;

use super::figures::{Coins, named, numbered, quantity};
use super::{code, kind};
use crate::tape::{Draw, Tape};

/// Everything a step can add.
pub struct Bench {
    pub grades: Vec<GradeRow>,
    pub parts: Vec<PartRow>,
    pub breaks: Vec<PriceBreakRow>,
    pub operations: Vec<OperationRow>,
    pub tests: Vec<TestRow>,
}

pub fn bench(tape: &Tape, coins: Coins) -> Bench {
    let mut draw = tape.draw(kind::GRADES, 0);
    let grades: Vec<GradeRow> = (0..1 + draw.below(3) as usize)
        .map(|number| GradeRow {
            code: named(&mut draw, "G", number),
            text: numbered("Grade", number),
            rate_per_hour: coins.unit_price(&mut draw),
        })
        .collect();
    let parts = parts(tape, coins, &grades);
    let breaks = parts.iter().enumerate().flat_map(|(number, part)| breaks(tape, number, part)).collect();
    let operations = operations(tape, &grades);
    let tests = tests(tape, coins, &grades);
    Bench { grades, parts, breaks, operations, tests }
}

fn parts(tape: &Tape, coins: Coins, grades: &[GradeRow]) -> Vec<PartRow> {
    let count = 1 + tape.draw(kind::PARTS, 15).below(7) as usize;
    let part = |number: usize| {
        let mut draw = tape.draw(kind::PARTS, number);
        let fitted = draw.chance(60);
        PartRow {
            code: named(&mut draw, "P", number),
            text: numbered("Part", number),
            unit_cost: coins.unit_price(&mut draw),
            fit_minutes: if fitted { draw.within(1, 95) as u32 } else { 0 },
            fit_grade: fitted.then(|| draw.pick(grades).code.clone()),
            unit: *draw.pick(PartUnit::ALL),
        }
    };
    (0..count).map(part).collect()
}

/// A ladder as deep as five, each step at most as dear as the one before.
fn breaks(tape: &Tape, number: usize, part: &PartRow) -> Vec<PriceBreakRow> {
    let mut draw = tape.draw(kind::BREAKS, number);
    let depth = if draw.chance(50) { draw.below(6) } else { 0 };
    let mut from = 0;
    let mut cost = part.unit_cost.scaled();
    let mut ladder = Vec::new();
    for _ in 0..depth {
        from += if draw.chance(20) { draw.within(1, 9_999) } else { draw.within(1, 12) * 1_000 };
        cost = if draw.chance(10) { cost } else { draw.within(cost / 3, cost) };
        ladder.push(PriceBreakRow {
            part: part.code.clone(),
            from_quantity: Quantity::from_scaled(from).unwrap(),
            unit_cost: UnitPrice::from_scaled(cost).unwrap(),
        });
    }
    ladder
}

fn operations(tape: &Tape, grades: &[GradeRow]) -> Vec<OperationRow> {
    let mut draw = tape.draw(kind::OPERATIONS, 0);
    (0..draw.below(5) as usize)
        .map(|number| OperationRow {
            code: named(&mut draw, "O", number),
            text: numbered("Operation", number),
            grade: draw.pick(grades).code.clone(),
            minutes: draw.within(0, 130) as u32,
            once: draw.chance(40),
        })
        .collect()
}

fn tests(tape: &Tape, coins: Coins, grades: &[GradeRow]) -> Vec<TestRow> {
    let count = 1 + tape.draw(kind::TESTS, 15).below(3) as usize;
    let test = |number: usize| {
        let mut draw = tape.draw(kind::TESTS, number);
        TestRow {
            code: named(&mut draw, "T", number),
            text: numbered("Test", number),
            bench_hours: quantity(&mut draw, 0, 24_000),
            bench_rate: coins.unit_price(&mut draw),
            attended_minutes: draw.within(0, 400) as u32,
            grade: draw.pick(grades).code.clone(),
            power_kw: quantity(&mut draw, 0, 22_000),
        }
    };
    (0..count).map(test).collect()
}

pub fn position(draw: &mut Draw<'_>) -> Code {
    code(*draw.pick(&["C1", "C2", "K1", "K2", "X9"]))
}

/// A part, an operation or, where `tested`, a test; with a quantity above zero or none.
pub fn step(
    draw: &mut Draw<'_>,
    bench: &Bench,
    tested: bool,
) -> (Adds, Code, Option<Quantity>, Option<Code>) {
    let mut kinds = vec![Adds::Part, Adds::Part, Adds::Part];
    if !bench.operations.is_empty() {
        kinds.extend([Adds::Operation, Adds::Operation]);
    }
    if tested {
        kinds.push(Adds::Test);
    }
    let adds = *draw.pick(&kinds);
    let quantity = draw.chance(60).then(|| quantity(draw, 1, 12_000));
    match adds {
        Adds::Part => {
            let at = draw.chance(40).then(|| position(draw));
            (adds, draw.pick(&bench.parts).code.clone(), quantity, at)
        }
        Adds::Operation => (adds, draw.pick(&bench.operations).code.clone(), quantity, None),
        Adds::Test => (adds, draw.pick(&bench.tests).code.clone(), quantity, None),
    }
}

pub fn findings(tape: &Tape, bench: &Bench) -> (Vec<FindingRow>, Vec<FindingStepRow>) {
    let mut findings = Vec::new();
    let mut steps = Vec::new();
    for number in 0..1 + tape.draw(kind::FINDINGS, 15).below(6) as usize {
        let mut draw = tape.draw(kind::FINDINGS, number);
        let finding = named(&mut draw, "F", number);
        let warranty = if draw.chance(40) { Cover::Excluded } else { Cover::Covered };
        let mut draw = tape.draw(kind::STEPS, number);
        for _ in 0..draw.below(5) {
            let (adds, code, quantity, position) = step(&mut draw, bench, true);
            steps.push(FindingStepRow { finding: finding.clone(), adds, code, quantity, position });
        }
        findings.push(FindingRow { code: finding, text: numbered("Finding", number), warranty });
    }
    (findings, steps)
}
