//! stub
use crate::cli::args::keeping::ServeArgs;
use crate::cli::outcome::{Answer, Failure};
pub(in crate::cli) fn run(a: &ServeArgs) -> Result<Answer, Failure> {
    super::place::wait(async {
        let s = super::place::open(&a.place).await?;
        crate::serve::stub(s, a.listen).await;
        Ok(Answer::new(""))
    })
}
