#!/usr/bin/env bash
# Cuts the power, a good ten thousand times. A seed other than the usual one may be given.
set -euo pipefail
cd "$(dirname "$0")"
# What the workspace beside this one has built is not built again.
export CARGO_TARGET_DIR=${CARGO_TARGET_DIR:-$PWD/../../target}
cargo fmt --check -- --config-path ../../rustfmt.toml
cargo clippy --locked --all-targets --quiet -- -D warnings
cargo test --locked --release --quiet
cargo run --locked --release --quiet -- "$@"
