//! Stands for PDF where the program was built without it.

use evenfare_engine::text::Code;
use evenfare_paper::Invoice;

use super::kind::Kind;
use super::refused::NotMade;
use super::source::Setting;

pub(super) fn of_quote(_: Setting<'_>, _: Kind, _: &str, _: Option<&Code>) -> Result<Vec<u8>, NotMade> {
    Err(NotMade::NoPdf)
}

pub(super) fn of_sale(_: Setting<'_>, _: Kind, _: &Invoice<'_>) -> Result<Vec<u8>, NotMade> {
    Err(NotMade::NoPdf)
}
