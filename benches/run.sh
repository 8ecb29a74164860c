#!/usr/bin/env bash
# All benchmarks, each beside its peer in the same run, and the table that they make in README.md.
#
# benches/run.sh [QUOTES]: month end has a year of that many quotes, 100000 where nothing is said. A row whose peer is
# missing, or whose benchmark fails, is left out of the table's figures, and the reason stands in its place.
set -euo pipefail
cd "$(dirname "$0")/.."
quotes=${1:-100000}
out=$(mktemp -d)
touch "$out/said"
trap 'rm -rf "$out"' EXIT

# DuckDB is a package of Python; without it the other rows are made all the same.
if [ -z "${EVENFARE_DUCKDB:-}" ]; then
  venv=target/duckdb-venv
  if [ -x "$venv/bin/python" ] || python3 -m venv "$venv"; then
    if "$venv/bin/pip" install --quiet 'duckdb==1.*'; then export EVENFARE_DUCKDB=$PWD/$venv/bin/python; fi
  fi || true
fi

# What has no need of the typesetter is not built with it.
plain=(--no-default-features --features serve,workbook)
benchmarks=(
  "-p evenfare-engine --bench pricing"
  "${plain[*]} --bench loopback"
  "-p evenfare-store --bench durable"
  "-p evenfare-reconcile --bench year"
  "-p evenfare-paper --features pdf --bench paper"
)
run() {
  local benchmark=$1 arguments=()
  shift
  read -ra arguments <<<"$benchmark"
  cargo bench --locked "${arguments[@]}" "$@"
}

# All are built before anything is timed.
for benchmark in "${benchmarks[@]}"; do run "$benchmark" --no-run || echo "$benchmark is not built" >&2; done
for benchmark in "${benchmarks[@]}"; do
  printf '\n== %s\n' "$benchmark"
  more=()
  [[ $benchmark == *year ]] && more=(-- "$quotes")
  # What a benchmark said before it failed stands for nothing.
  if run "$benchmark" "${more[@]}" | tee "$out/own"; then cat "$out/own" >>"$out/said"; else echo "$benchmark failed" >&2; fi
done

# One line for each row that there is to be, with what was said of it.
awk -F'|' '
  FILENAME != "benches/rows" && $1 == "row" { ours[$2] = $3; peers[$2] = $4; ratios[$2] = $5; next }
  FILENAME != "benches/rows" && $1 == "without" { why[$2] = $3; next }
  FILENAME != "benches/rows" { next }
  FNR == 1 { print "| what | ours | beside | its figure | ratio |"; print "| --- | --- | --- | --- | --- |" }
  $1 in ours { print "| " $2 " | " ours[$1] " | " $3 " | " peers[$1] " | " ratios[$1] " |"; next }
  {
    reason = $1 in why ? why[$1] : "its benchmark did not run"
    print "left out: " $1 ": " reason >"/dev/stderr"
    print "| " $2 " | | " $3 " | left out: " reason " | |"
  }
' "$out/said" benches/rows >"$out/table"
rustc=$(rustc --version | cut -d' ' -f2)
model=$(awk -F': ' '/^model name/ { print $2; exit }' /proc/cpuinfo 2>/dev/null || true)
printf '\n%s cores%s, rustc %s, %s; month end has %s quotes.\n' \
  "$(getconf _NPROCESSORS_ONLN)" "${model:+ ($model)}" "$rustc" "$(date +%F)" "$quotes" >>"$out/table"
cat "$out/table"

# Between the two marks of README.md.
awk -v table="$out/table" '
  /^<!-- benchmarks end -->/ { inside = 0 }
  !inside { print }
  /^<!-- benchmarks begin/ { inside = 1; while ((getline line <table) > 0) print line }
' README.md >"$out/README.md"
cat "$out/README.md" >README.md
