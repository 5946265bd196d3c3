#!/usr/bin/env bash
# Builds the phone library for this machine with the features that ship, strips a copy and says its size.
# Fails at 6 MB (6,000,000 bytes). The library itself keeps its symbols: the generator reads them.
set -euo pipefail
cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-target}
cargo rustc --quiet -p hangtrue-bindings --lib --crate-type cdylib --profile phone
library=$target/phone/libhangtrue_bindings.so
copy=$(mktemp)
trap 'rm -f "$copy"' EXIT
strip --strip-all -o "$copy" "$library"
size=$(stat -c %s "$copy")
echo "phone library, stripped: $size bytes; most allowed: 6000000"
[ "$size" -lt 6000000 ]
