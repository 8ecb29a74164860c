//! Steps of a plan that say the same of several places on a board, told as one.

use crate::category::Category;
use crate::money::Quantity;
use crate::quote::PlanStep;

/// Steps that differ in nothing but where on the board they are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alike<'a> {
    /// The first of them.
    pub step: &'a PlanStep,
    /// How many there are, each with the quantity of the first.
    pub count: usize,
    /// Where they are: K2 before K10. Nothing where the step is of no place.
    pub positions: Vec<&'a str>,
}

/// Steps as they are told: those that follow each other and differ only in their place are one.
///
/// # Examples
///
/// ```
/// use evenfare_engine::category::Category;
/// use evenfare_engine::quote::PlanStep;
/// use evenfare_engine::view::alike;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let at = |position: &str| -> Result<PlanStep, Box<dyn std::error::Error>> {
///     Ok(PlanStep {
///         category: Category::Part,
///         code: "CAP-470".parse()?,
///         text: "Capacitor".parse()?,
///         quantity: "1 pc".into(),
///         position: Some(position.into()),
///         why: "refresh, always".parse()?,
///     })
/// };
/// let steps = [at("C10")?, at("C2")?];
/// let told = alike(&steps);
/// assert_eq!(told.len(), 1);
/// assert_eq!((told[0].count, &*told[0].positions), (2, &["C2", "C10"][..]));
/// # Ok(()) }
/// ```
pub fn alike<'a>(steps: impl IntoIterator<Item = &'a PlanStep>) -> Vec<Alike<'a>> {
    let mut told: Vec<Alike<'a>> = Vec::new();
    for step in steps {
        match told.last_mut() {
            Some(last) if is_alike(last.step, step) => {
                last.count = last.count.saturating_add(1);
                last.positions.extend(step.position.as_deref());
            }
            _ => {
                told.push(Alike { step, count: 1, positions: step.position.as_deref().into_iter().collect() })
            }
        }
    }
    for alike in &mut told {
        alike.positions.sort_by_key(|position| counted(position));
    }
    told
}

/// The same, for the same reason, at another place.
fn is_alike(a: &PlanStep, b: &PlanStep) -> bool {
    a.category == b.category
        && a.code == b.code
        && a.why == b.why
        && a.quantity == b.quantity
        && a.position.is_some()
        && b.position.is_some()
}

/// How much of a part it is in all, with its unit, where a plan asks for it both at places and without one. The larger of
/// the two counts for both, as those without a place may be the same pieces, so the steps do not add up to it.
///
/// # Examples
///
/// ```
/// use evenfare_engine::category::Category;
/// use evenfare_engine::quote::PlanStep;
/// use evenfare_engine::view::in_all;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let step = |quantity: &str, position: Option<&str>| -> Result<PlanStep, Box<dyn std::error::Error>> {
///     Ok(PlanStep {
///         category: Category::Part,
///         code: "PASTE".parse()?,
///         text: "Heat-conducting paste".parse()?,
///         quantity: quantity.into(),
///         position: position.map(Into::into),
///         why: "refresh, always".parse()?,
///     })
/// };
/// let plan = [step("4 ml", Some("V12"))?, step("8 ml", None)?];
/// assert_eq!(in_all(&plan, &plan[0]).as_deref(), Some("8 ml"));
/// assert_eq!(in_all(&plan[..1], &plan[0]), None);
/// # Ok(()) }
/// ```
pub fn in_all(plan: &[PlanStep], step: &PlanStep) -> Option<String> {
    let (_, unit) = step.quantity.split_once(' ').filter(|_| step.category == Category::Part)?;
    let [mut placed, mut unplaced] = [None::<i64>; 2];
    for other in plan.iter().filter(|other| other.category == Category::Part && other.code == step.code) {
        let (quantity, _) = other.quantity.split_once(' ')?;
        let sum = if other.position.is_some() { &mut placed } else { &mut unplaced };
        *sum = Some(sum.unwrap_or(0).checked_add(quantity.parse::<Quantity>().ok()?.scaled())?);
    }
    let most = Quantity::from_scaled(placed?.max(unplaced?)).ok()?;
    Some(format!("{most} {unit}"))
}

/// A position by its letters and its number, so that K2 comes before K10.
///
/// # Examples
///
/// ```
/// use evenfare_engine::view::counted;
/// let mut positions = ["K10", "C7", "K2"];
/// positions.sort_by_key(|position| counted(position));
/// assert_eq!(positions, ["C7", "K2", "K10"]);
/// ```
pub fn counted(position: &str) -> (&str, usize, &str) {
    let letters = position.trim_end_matches(|c: char| c.is_ascii_digit());
    let digits = position.strip_prefix(letters).unwrap_or_default();
    (letters, digits.len(), digits)
}
