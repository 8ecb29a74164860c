#!/usr/bin/env bash
# Drives every target for that many seconds each, or those that are named: `run.sh 600 job book`; 0 tries only what is
# there. Begins with what `corpus/` holds and with the demo world; what is new goes to `target/`, and finds to `target/finds/`.
# `KEEP=1 run.sh 600` puts the least that reaches as far into `corpus/` afterwards, the shortest first, as much of it
# as is worth keeping.
set -euo pipefail
cd "$(dirname "$0")"
seconds=${1:?how many seconds for each target}
shift
targets=("$@")
[ ${#targets[@]} -gt 0 ] || targets=(tariff job lists invoice statement book wire)

# Logs have bytes of cases in them.
export LC_ALL=C

# What libFuzzer needs to see: which edges are taken, and what is compared with what.
host=$(rustc -vV | sed -n 's/^host: //p')
export RUSTFLAGS="-Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=4
  -Cllvm-args=-sanitizer-coverage-inline-8bit-counters -Cllvm-args=-sanitizer-coverage-pc-table
  -Cllvm-args=-sanitizer-coverage-trace-compares"
packages=()
for target in "${targets[@]}"; do
  if [ "$target" = wire ]; then packages+=(-p evenfare-fuzz-wire); else packages+=(-p evenfare-fuzz); fi
done
cargo build --locked --release --quiet --target "$host" "${packages[@]}"
program() { echo "target/$host/release/evenfare-fuzz$([ "$1" = wire ] && echo -wire || true)"; }

# No case is longer than that: books and tariffs are several files.
longest() { case $1 in book) echo 131072 ;; tariff) echo 65536 ;; *) echo 16384 ;; esac; }

# Without time nothing new is made up.
if [ "$seconds" = 0 ]; then how_long=-runs=0; else how_long=-max_total_time=$seconds; fi

found=0
printf '%-10s %12s %9s %9s %6s\n' target executions coverage corpus finds
for target in "${targets[@]}"; do
  export EVENFARE_TARGET=$target
  fuzz=$(program "$target")
  seeds=target/seeds/$target new=target/corpus/$target finds=target/finds/$target/
  rm -rf "$seeds"
  mkdir -p "$seeds" "$new" "$finds" "corpus/$target"
  EVENFARE_SEEDS=$seeds "$fuzz"
  bounds=(-max_len="$(longest "$target")" -timeout=20 -rss_limit_mb=2048)
  "$fuzz" "$new" "corpus/$target" "$seeds" "${bounds[@]}" "$how_long" \
    -artifact_prefix="$finds" -print_final_stats=1 >"target/$target.log" 2>&1 || true
  of() { sed -n "$1" "target/$target.log" | tail -1; }
  executions=$(of 's/^stat::number_of_executed_units: *//p')
  number=$(find "$finds" -type f | wc -l)
  # A run that broke off without a case is a find as well.
  [ -n "$executions" ] || number=$((number > 0 ? number : 1))
  found=$((found + number))
  printf '%-10s %12s %9s %9s %6s\n' "$target" "${executions:--}" "$(of 's/.* cov: \([0-9]*\).*/\1/p')" \
    "$(of 's/.* corp: \([0-9]*\).*/\1/p')" "$number"
  if [ -n "${KEEP:-}" ]; then
    mkdir -p "target/kept/$target"
    "$fuzz" -merge=1 "${bounds[@]}" "target/kept/$target" "corpus/$target" "$new" >>"target/$target.log" 2>&1
    find "target/kept/$target" -type f -printf '%s %p\n' | sort -n |
      awk -v most=65536 '(all += $1) > most { print $2 }' | xargs -r rm
    rm -rf "corpus/$target"
    mv "target/kept/$target" "corpus/$target"
  fi
done
[ "$found" -eq 0 ] || { echo "finds, with the case of each, in crates/fuzz/target/finds/; logs beside it" >&2; exit 1; }
