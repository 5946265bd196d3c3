#!/usr/bin/env bash
# Fuzzes what is read from outside with libFuzzer, on the stable compiler: each target for HANGTRUE_FUZZ_SECONDS (20).
#   fuzz/run.sh                 every target
#   fuzz/run.sh segment         one of: segment offer request
#   fuzz/run.sh --keep segment  afterwards keeps what found new ground, as long as it is text, in fuzz/corpus
# What broke a reader is left in target/fuzz-broken; run the target on that file to see it again.
set -euo pipefail
cd "$(dirname "$0")/.."
keep=; if [ "${1:-}" = --keep ]; then keep=yes; shift; fi
targets=("$@"); if [ ${#targets[@]} = 0 ]; then targets=(segment offer request); fi
seconds=${HANGTRUE_FUZZ_SECONDS:-20}

# The compiler's own marks for coverage; --target keeps them out of build scripts and derives.
host=$(rustc -vV | sed -n 's/^host: //p')
marks="--cfg fuzzing -Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=4"
marks+=" -Cllvm-args=-sanitizer-coverage-inline-8bit-counters -Cllvm-args=-sanitizer-coverage-pc-table"
marks+=" -Cllvm-args=-sanitizer-coverage-trace-compares"
RUSTFLAGS="$marks" cargo build --quiet --release --manifest-path fuzz/Cargo.toml --target "$host" --target-dir target/fuzz

work=target/fuzz-corpus
mkdir -p target/fuzz-broken
fuzz/seeds.py "$work"
for target in "${targets[@]}"; do
  program=target/fuzz/$host/release/$target
  mkdir -p "$work/$target" "fuzz/corpus/$target"
  log=target/fuzz-$target.log
  if ! "$program" -max_total_time="$seconds" -timeout=10 -rss_limit_mb=2048 -print_final_stats=1 \
    -artifact_prefix="target/fuzz-broken/$target-" "$work/$target" "fuzz/corpus/$target" 2>"$log"; then
    tail -n 60 "$log" >&2
    exit 1
  fi
  printf '%s: %s inputs in %s s, %s\n' "$target" "$(sed -n 's/^stat::number_of_executed_units: *//p' "$log")" "$seconds" \
    "$(grep -o 'cov: [0-9]*' "$log" | tail -n 1)"
  if [ -n "$keep" ]; then
    small=target/fuzz-small/$target; rm -rf "$small"; mkdir -p "$small"
    "$program" -merge=1 "$small" "fuzz/corpus/$target" "$work/$target" 2>>"$log"
    for file in "$small"/*; do
      # Short and plain text, and few: a corpus to begin from, not a store.
      if [ "$(find "fuzz/corpus/$target" -type f | wc -l)" -lt 60 ] && [ "$(wc -c <"$file")" -lt 700 ] &&
        iconv -f utf-8 -t utf-8 "$file" >/dev/null 2>&1 && ! LC_ALL=C grep -qP '[\x00-\x08\x0e-\x1f]' "$file"; then
        cp "$file" "fuzz/corpus/$target/"
      fi
    done
    printf '%s: %s files kept\n' "$target" "$(find "fuzz/corpus/$target" -type f | wc -l)"
  fi
done
