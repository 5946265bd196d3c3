#!/usr/bin/env bash
# Writes bindings/generated/{kotlin,swift,python} out of the built library; with --check, says whether they are as committed.
# The library must not be stripped: the names of what it exports are read from it.
set -euo pipefail
cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-target}
cargo build --quiet --workspace --lib --bins --test walk_scenario
case "$(uname -s)" in Darwin) library=libhangtrue_bindings.dylib ;; *) library=libhangtrue_bindings.so ;; esac
out=bindings/generated
if [ "${1:-}" = --check ]; then out=$(mktemp -d); trap 'rm -rf "$out"' EXIT; fi
for language in kotlin swift python; do
  rm -rf "${out:?}/$language"
  "$target/debug/hangtrue-bindgen" generate --language "$language" --no-format \
    --out-dir "$out/$language" "$target/debug/$library"
done
# The generator ends some lines in blanks; a checkout should not differ by them.
find "$out" -type f -exec sed -i.bak 's/[[:blank:]]*$//' {} + && find "$out" -name '*.bak' -delete
if [ "${1:-}" = --check ]; then
  diff -r "$out" bindings/generated >&2 || { echo "bindings/generated differs: run bindings/generate.sh and commit" >&2; exit 1; }
  echo "bindings/generated is as the library says"
fi
