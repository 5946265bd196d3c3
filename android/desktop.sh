#!/bin/sh
# desktop.sh [FOLDER] [WIDTHxHEIGHT]: opens the Android screens in a window of this desktop, over the real core, with the book
# in FOLDER (target/desktop-book when left out). The window has a usual phone's size, 411x891, unless another is given.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
. "$here/common.sh"
folder=${1:-$root/target/desktop-book}
need_apt libGL.so.1 libgl1
need_apt /usr/share/fonts/truetype/dejavu/DejaVuSans.ttf fonts-dejavu fontconfig
build_core
screens_classes main
exec java -Djna.library.path="$root/target/debug" -cp "$classpath" hangtrue.desktop.WindowKt "$folder" ${2:+"$2"}
