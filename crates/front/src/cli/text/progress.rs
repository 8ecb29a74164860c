//! How far something long has got.

use indicatif::{ProgressBar, ProgressStyle};

/// A bar on standard error, where somebody looks on.
pub(in crate::cli) struct Progress(ProgressBar);

impl Progress {
    /// Of this many things, named in words.
    pub(in crate::cli) fn new(all: u64, things: &'static str) -> Self {
        let bar = ProgressBar::new(all);
        let template = format!("{{bar:40}} {{human_pos}} of {{human_len}} {things}, {{eta}} left");
        if let Ok(style) = ProgressStyle::with_template(&template) {
            bar.set_style(style);
        }
        Self(bar)
    }

    /// Of nobody knows how many.
    #[cfg(feature = "serve")]
    pub(in crate::cli) fn of_unknown(things: &'static str) -> Self {
        let bar = ProgressBar::no_length();
        let template = format!("{{spinner}} {{human_pos}} {things}, {{elapsed}}");
        if let Ok(style) = ProgressStyle::with_template(&template) {
            bar.set_style(style);
        }
        Self(bar)
    }

    /// Of this many steps, each with words of its own.
    #[cfg(feature = "serve")]
    pub(in crate::cli) fn of_steps(all: usize) -> Self {
        let bar = ProgressBar::new(all.try_into().unwrap_or(u64::MAX));
        if let Ok(style) = ProgressStyle::with_template("{bar:40} {msg}") {
            bar.set_style(style);
        }
        Self(bar)
    }

    /// This many steps are done, and the next one is begun.
    #[cfg(feature = "serve")]
    pub(in crate::cli) fn step(&self, done: usize, words: &'static str) {
        self.0.set_message(words);
        self.0.set_position(done.try_into().unwrap_or(u64::MAX));
    }

    /// This many are done.
    #[cfg(feature = "serve")]
    pub(in crate::cli) fn at(&self, done: u64) {
        self.0.set_position(done);
    }

    /// One more is done, by whichever thread.
    pub(in crate::cli) fn one_more(&self) {
        self.0.inc(1);
    }

    /// All of it is done: what was drawn is taken away.
    pub(in crate::cli) fn end(&self) {
        self.0.finish_and_clear();
    }
}
