#!/bin/sh
# golden.sh: draws the pictures that the tests compare every screen with anew (android/screens/src/test/golden). Look at each
# that changed before it is committed: what is kept is what the next test takes for right.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
. "$here/common.sh"
need_apt mvn maven
need_apt /usr/share/fonts/truetype/dejavu/DejaVuSans.ttf fonts-dejavu
build_core
(cd "$here" && mvn -B -ntp -pl screens clean test -Dtest=PicturesTest -Dgolden=renew)
git -C "$here" status --short screens/src/test/golden
