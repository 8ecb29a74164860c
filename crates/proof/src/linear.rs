//! Formulas without products.

use z3::DeclKind;
use z3::ast::{Ast, AstKind, Bool, Dynamic, Int};

/// The same formulas, where every product of unknowns is an unknown of its own, in all of them the same.
///
/// Whatever follows from them, follows from the formulas as they were: it holds whatever the products are.
pub fn products_as_unknowns(formulas: &[&Bool]) -> Vec<Bool> {
    let mut products = Vec::new();
    formulas.iter().for_each(|formula| find_products(&Dynamic::from_ast(*formula), &mut products));
    let unknowns: Vec<Int> = products.iter().map(|_| Int::fresh_const("product")).collect();
    let each: Vec<(&Int, &Int)> = products.iter().zip(&unknowns).collect();
    formulas.iter().map(|formula| formula.substitute(&each)).collect()
}

fn find_products(of: &Dynamic, into: &mut Vec<Int>) {
    let parts = of.children();
    let unknown = |part: &&Dynamic| part.kind() != AstKind::Numeral;
    let multiplies = of.kind() == AstKind::App && of.decl().kind() == DeclKind::Mul;
    match of.as_int().filter(|_| multiplies && parts.iter().filter(unknown).count() > 1) {
        Some(product) if into.contains(&product) => {}
        Some(product) => into.push(product),
        None => parts.iter().for_each(|part| find_products(part, into)),
    }
}
