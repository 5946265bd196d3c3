#!/bin/sh
# ships.sh: puts what the app ships, and nothing of the tests, as jars into proof/target/ships: the app with the screens and the
# generated Kotlin, the AARs' classes, and the plain jars. JNA's are those of its AAR: the jar's own is for desktops.
set -eu
here=$(cd "$(dirname "$0")/.." && pwd)
out="$here/proof/target/ships"
rm -rf "$out"
mkdir -p "$out"
tr ':' '\n' < "$here/run/target/classpath.txt" | grep . | while read -r part; do
    case $part in
        *android-all*|*/jna-[0-9]*.jar|*.aar) ;;  # the AARs' classes are in libs.jar
        */libs/target/*|*/libs-*.jar) cp "$here"/libs/target/libs-*.jar "$out/libs.jar" ;;
        *.jar) cp "$part" "$out/" ;;
        *) echo "ships.sh: what is $part?"; exit 1 ;;
    esac
done
zip -qd "$out/libs.jar" 'androidx/test/*' 'androidx/compose/ui/test/*' 'META-INF/*'
(cd "$here/run/target/classes" && zip -qr0 "$out/app.jar" .)
unzip -p "$here/proof/target/parts/jna.aar" classes.jar > "$out/jna.jar"
# what each jar says of itself would stand twice in the app; zip answers 12 where there is none of it
for jar in "$out"/*.jar; do
    zip -qd "$jar" 'META-INF/MANIFEST.MF' 'META-INF/versions/*' 'META-INF/com.android.tools/*' 'META-INF/proguard/*' > "$out/said.txt" 2>&1 || [ $? = 12 ] || { cat "$out/said.txt"; exit 1; }
done
rm -f "$out/said.txt"
