#!/bin/sh
# shrink.sh (ships.sh first): shrinks what ships with R8, as a release build does - the plugin's own rules, those that the
# libraries bring, what the manifest needs, and the app's (app/keep.pro) - but to class files, and starts the shrunk app
# (Shrunk.java) with nothing of the app or its libraries on the class path that is not shrunk, but Android's test monitor.
#   shrink.sh --self-test   the bindings alone, shrunk with the app's rules and without one of them: the book must open and not open
set -eu
here=$(cd "$(dirname "$0")/.." && pwd)
. "$here/common.sh"
out="$here/proof/target/shrunk"
[ "${1:-}" != --self-test ] || out="$here/proof/target/shrunk-bindings"
rm -rf "$out"
mkdir -p "$out/classes/com/android/tools" "$out/jna" "$out/pictures" "$out/core"
classpath=$(cat "$here/run/target/classpath.txt")
framework=$(echo "$classpath" | tr ':' '\n' | grep '/android-all-')
jdk=$(dirname "$(dirname "$(readlink -f "$(command -v javac)")")")
# the library of JNA for this machine, which the phone's classes do not bring
unzip -qoj "$(echo "$classpath" | tr ':' '\n' | grep '/jna-[0-9.]*[.]jar')" 'com/sun/jna/linux-x86-64/*' -d "$out/jna"
natives="-Djna.library.path=$root/target/debug -Djna.boot.library.path=$out/jna -Djna.nosys=true"

for part in header optimizations common; do
    unzip -p "$here/proof/target/parts/gradle.jar" "com/android/build/gradle/proguard-$part.txt"
    echo
done > "$out/plugin.pro"

# r8 OUT.jar R8'S-ARGUMENTS..: a warning is an error
r8() {
    made=$1
    shift
    java -Xmx3g -cp "$here/run/target/d8/builder.jar" com.android.tools.r8.R8 --classfile --release --lib "$jdk" --pg-conf "$out/plugin.pro" \
        --output "$made" "$@" > "$out/r8.txt" 2>&1 || { grep -v '^Info' "$out/r8.txt"; exit 1; }
    if grep -q '^Warning' "$out/r8.txt"; then grep -A3 '^Warning' "$out/r8.txt"; echo "shrink.sh: R8 warns"; exit 1; fi
}

if [ "${1:-}" = --self-test ]; then
    unzip -qo "$here/proof/target/ships/app.jar" 'hangtrue/core/*' -d "$out/core"
    (cd "$out/core" && zip -qr0 ../core.jar .)
    cat > "$out/open.pro" <<'END'
-keep class hangtrue.core.HouseBook, hangtrue.core.HouseBook$Companion, hangtrue.core.Screen { public *; }
-dontwarn android.**,kotlinx.**,org.jetbrains.annotations.**
END
    grep -v 'com.sun.jna.Structure' "$here/app/keep.pro" > "$out/planted.pro"
    if cmp -s "$here/app/keep.pro" "$out/planted.pro"; then echo "shrink.sh: the rule that is to be missing is not there"; exit 1; fi
    for rules in "$here/app/keep.pro" "$out/planted.pro"; do
        r8 "$out/bindings.jar" --pg-conf "$out/open.pro" --pg-conf "$rules" "$out/core.jar" "$here"/proof/target/ships/jna.jar "$here"/proof/target/ships/kotlin-stdlib-*.jar
        rm -rf "$out/book"
        mkdir "$out/book"
        status=0
        # shellcheck disable=SC2086 # natives is a list of words
        java $natives -cp "$out/bindings.jar" "$here/proof/Open.java" "$out/book" > "$out/said.txt" 2>&1 || status=$?
        case "$rules$status" in
            *planted.pro0) echo "shrink.sh: the bindings without a rule that they need opened the book all the same"; exit 1 ;;
            *planted.pro*) grep -q 'Structure' "$out/said.txt" || { cat "$out/said.txt"; echo "shrink.sh: it failed for another reason"; exit 1; } ;;
            *keep.pro0) cat "$out/said.txt" ;;
            *) cat "$out/said.txt"; echo "shrink.sh: the shrunk bindings do not open the book"; exit 1 ;;
        esac
    done
    echo "shrink.sh: a rule that was missing was found: $(grep -m1 Structure "$out/said.txt" | cut -c1-160)"
    exit 0
fi

{
    cat "$here/libs/target/resources/keep-manifest.pro"
    for aar in $("$here/proof/versions.py" --ships); do
        if unzip -Z1 "$aar" | grep -qx proguard.txt; then unzip -p "$aar" proguard.txt; echo; fi
    done
    # of a plain jar, the rules that are for this R8, or else those for all
    echo "$classpath" | tr ':' '\n' | grep '[.]jar$' | grep -v -e android-all -e '/libs/' -e '/libs-' | while read -r jar; do
        names=$(unzip -Z1 "$jar" | grep -E '^META-INF/com[.]android[.]tools/r8(-from-[0-9.]+)?/.*[.]pro$' || unzip -Z1 "$jar" | grep -E '^META-INF/proguard/.*[.]pro$' || true)
        for name in $names; do unzip -p "$jar" "$name"; echo; done
    done
} > "$out/libraries.pro"
r8 "$out/merged.jar" --lib "$framework" --pg-conf "$out/libraries.pro" --pg-conf "$here/app/keep.pro" --pg-map-output "$out/map.txt" "$here"/proof/target/ships/*.jar

# Robolectric and what it needs, from the tests' class path: nothing of the app's own libraries
tests=$(tr ':' '\n' < "$here/run/target/test-classpath.txt" | grep '[.]jar$' | grep -E '/(org/(robolectric|ow2|bouncycastle|conscrypt|yaml|hamcrest)|com/(google|almworks|ibm)|javax|junit)/' | paste -sd:)
for name in monitor tracing; do tests="$tests:$(echo "$here/libs/target/ex/$name"-*/classes.jar)"; done
java -cp "$tests" "$here/proof/Concat.java" "$out/merged.jar" "$out/app.jar"
cp "$here/run/target/test-classes/com/android/tools/test_config.properties" "$out/classes/com/android/tools/"
javac -d "$out/classes" -cp "$tests" "$here/proof/Shrunk.java"
# shellcheck disable=SC2086 # natives is a list of words
java -Xmx2g --add-opens=java.base/java.io=ALL-UNNAMED $natives -Drobolectric.offline=true -Drobolectric.dependency.dir="$here/run/target/robolectric" \
    -Dpictures="$out/pictures" -cp "$out/classes:$out/app.jar:$tests" org.junit.runner.JUnitCore Shrunk > "$out/said.txt" 2>&1 \
    || { cat "$out/said.txt"; echo "shrink.sh: the shrunk app does not start"; exit 1; }
echo "shrink.sh: $(cat "$here"/proof/target/ships/*.jar | wc -c) bytes of classes shrunk to $(wc -c < "$out/app.jar"); the shrunk app started, read and remembered"
