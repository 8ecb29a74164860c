//! How much memory a case may take.

use peak_alloc::PeakAlloc;

#[global_allocator]
static COUNTED: PeakAlloc = PeakAlloc;

/// Whatever a case is about: tables of the engine, buffers of readers.
const ANYWAY: usize = 64 << 20;
/// For each byte of a case: a value of a tree, its mistake, and its way out again.
const FOR_A_BYTE: usize = 1 << 10;

/// Runs a case and holds what it took at once against its length.
pub fn bounded(length: usize, case: impl FnOnce()) {
    COUNTED.reset_peak_usage();
    let before = COUNTED.current_usage();
    case();
    let taken = COUNTED.peak_usage().saturating_sub(before);
    let most = length.saturating_mul(FOR_A_BYTE).saturating_add(ANYWAY);
    assert!(taken <= most, "{length} bytes have taken {taken} bytes of memory, more than {most}");
}
