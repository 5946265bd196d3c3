#!/bin/sh
# dex.sh BUILD_DIR FRAMEWORK_JAR CLASSPATH: turns what ships - the app, the shared screens, the generated Kotlin and the
# libraries, without those of the tests - into dex for Android 8 and newer, and says how large it is.
set -eu
build=$1
framework=$2
out="$build/dex"
rm -rf "$out"
mkdir -p "$out"
ships=""
old=$IFS
IFS=:
for part in $3; do
    case $part in
        *android-all*) ;;
        */libs/target/*|*/libs-*.jar)
            # the libraries' jar, or their classes in the same build
            if [ -d "$part" ]; then (cd "$part" && zip -qr0 "$out/libs.jar" .); else cp "$part" "$out/libs.jar"; fi
            zip -qd "$out/libs.jar" 'androidx/test/*' 'androidx/compose/ui/test/*' 'META-INF/*' || true
            ships="$ships:$out/libs.jar" ;;
        */run/target/classes) (cd "$part" && zip -qr0 "$out/app.jar" .); ships="$ships:$out/app.jar" ;;
        *.jar) ships="$ships:$part" ;;
    esac
done
# shellcheck disable=SC2086 # one argument a jar
java -Xmx3g -cp "$build/d8/builder.jar" com.android.tools.r8.D8 --release --min-api 26 --lib "$framework" --output "$out" ${ships#:}
IFS=$old
rm -f "$out/libs.jar" "$out/app.jar"
for dex in "$out"/classes*.dex; do
    [ "$(head -c 3 "$dex")" = dex ] || { echo "dex.sh: $dex is no dex file"; exit 1; }
done
# a class of the app itself must be in there
grep -qa 'Lhangtrue/app/MainActivity;' "$out"/classes*.dex || { echo "dex.sh: the app is not in its dex"; exit 1; }
ls -l "$out"/classes*.dex
