#!/bin/sh
# check.sh: everything of Android that a machine without an Android SDK can build, run and prove: the screens on the JVM over
# the real core, the app itself through Robolectric, its dex, the alignment check of native.sh, and the app held to the parts of
# the Gradle plugin (proof/). Installs what it needs and says so; the first run fetches about 900 MB from Maven's repository.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
. "$here/common.sh"

need_apt javac openjdk-17-jdk-headless
need_apt mvn maven
need_apt readelf binutils
need_apt fc-list fontconfig
need_apt /usr/share/fonts/truetype/dejavu/DejaVuSans.ttf fonts-dejavu
need_apt libGL.so.1 libgl1
need_apt libX11.so.6 libx11-6
need_apt aapt aapt
need_apt unzip unzip
need_apt zip zip
need_apt zipalign zipalign
need_apt python3 python3

say "native.sh: the alignment check, on libraries of this machine"
"$here/native.sh" --self-test

say "the core's library for this machine, and the workroom's program, which the phone's screens exchange with"
build_core

# clean: the Kotlin compiler would take classes of an earlier run for part of what it compiles
say "screens, app and dex on the JVM"
(cd "$here" && mvn -B -ntp clean verify)

say "the Gradle files against what every library asks for, and against the build above"
"$here/proof/versions.py" --self-test
"$here/proof/versions.py"

say "the merged manifest: what a library may not bring unseen"
"$here/proof/manifest.sh" --self-test "$here/proof/target/manifest"

say "Android's lint over the app: planted mistakes first"
"$here/proof/lint.sh" --self-test "$here/libs/target/manifest/merged.xml"
"$here/proof/lint.sh" "$here/libs/target/manifest/merged.xml"

say "the level of Android that the bytecode calls, of the app and of all that ships with it"
"$here/proof/ships.sh"
"$here/proof/api.sh"

say "the app as it ships, shrunk by R8: the bindings without a rule that they need, then all of it started"
"$here/proof/shrink.sh" --self-test
"$here/proof/shrink.sh"

say "packed, aligned, signed and verified; a changed byte and a library beside its page are refused"
"$here/proof/pack.sh"

say "pictures of every screen are in android/screens/target/pictures and android/run/target/pictures"
