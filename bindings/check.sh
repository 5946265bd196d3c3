#!/usr/bin/env bash
# Everything about the bindings: what is generated is as committed; one scenario gives the same screens and houses in
# Rust, Python and Kotlin (Swift: ios/); books exchange through a real hub and a folder; processes killed at every key
# come back to the same screen; the size that ships.
set -euo pipefail
cd "$(dirname "$0")/.."
bindings/generate.sh --check
cargo test --quiet --workspace --test walk_scenario --test walk_kill --test walk_touches -- --nocapture
python3 tests/python/walk_scenario.py target/debug
# Two books exchange through the program's hub and through a folder.
cargo build --quiet --workspace --lib --bins --test walk_scenario
python3 tests/python/walk_exchange.py target/debug
if ! command -v mvn >/dev/null; then
  echo "installing from apt: maven"
  sudo=; [ "$(id -u)" = 0 ] || sudo=sudo
  $sudo apt-get update -qq
  DEBIAN_FRONTEND=noninteractive $sudo apt-get install -y -qq --no-install-recommends maven >/dev/null
fi
mvn -B -ntp -f bindings/kotlin-check/pom.xml test
bindings/size.sh
