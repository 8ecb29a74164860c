#!/usr/bin/env bash
# Proves the theorems. The solver's library comes with its package for Python, into a folder of its own.
set -euo pipefail
cd "$(dirname "$0")"
solver=${EVENFARE_SOLVER:-target/solver}
if [ ! -x "$solver/bin/z3" ]; then
  python3 -m venv "$solver"
  "$solver/bin/pip" install --quiet --disable-pip-version-check z3-solver==5.4.1.0
fi
lib=$("$solver/bin/python" -c 'import os, z3; print(os.path.join(os.path.dirname(z3.__file__), "lib"))')
# The build asks the solver for its version.
export PATH="$solver/bin:$PATH" Z3_LIBRARY_PATH_OVERRIDE="$lib" LD_LIBRARY_PATH="$lib"
cargo fmt --check -- --config-path ../../rustfmt.toml
cargo clippy --locked --all-targets --quiet -- -D warnings
cargo test --locked --release -- --nocapture --test-threads 2
