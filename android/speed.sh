#!/bin/sh
# speed.sh [HOUSES]: prints how long a key press and the first screen of a book with HOUSES houses (1000) take through Kotlin,
# on this machine, with the core built for release.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
. "$here/common.sh"
(cd "$root" && cargo build --quiet --release -p hangtrue-bindings --lib)
build_core
screens_classes test
cd "$here/screens"
exec java -Djna.library.path="$root/target/release" -cp "$classpath" hangtrue.screens.SpeedKt "$@"
