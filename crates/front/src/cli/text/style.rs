//! The few styles there are. Standard output takes them out where it is no terminal.

use anstyle::{AnsiColor, Style};

/// As it comes.
pub(in crate::cli) const PLAIN: Style = Style::new();
/// Headings and totals.
pub(in crate::cli) const STRONG: Style = Style::new().bold();
/// What explains, beside what matters.
pub(in crate::cli) const FAINT: Style = Style::new().dimmed();
/// Refusals and mistakes.
pub(in crate::cli) const BAD: Style = AnsiColor::Red.on_default().bold();
/// What somebody should look at.
pub(in crate::cli) const CARE: Style = AnsiColor::Yellow.on_default();
/// Bars.
pub(in crate::cli) const BAR: Style = AnsiColor::Cyan.on_default();
