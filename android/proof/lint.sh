#!/bin/sh
# lint.sh MERGED_MANIFEST: Android's lint, of the plugin's version and with the checks that the libraries bring, over the app's
# manifest, resources and Kotlin; a warning is an error. The generated Kotlin of the core is taken as classes (as sources it took
# two minutes, and nothing was found). What needs the SDK's table of API levels (NewApi) is proven by api.sh.
#   lint.sh --self-test MERGED_MANIFEST   planted mistakes of each kind must be found
set -eu
here=$(cd "$(dirname "$0")/.." && pwd)
planted=
if [ "$1" = --self-test ]; then planted=1; shift; fi
merged=$(cd "$(dirname "$1")" && pwd)/$(basename "$1")
work="$here/proof/target/lint$planted"
rm -rf "$work"
mkdir -p "$work"
manifest="$here/app/src/main/AndroidManifest.xml"
res="$here/app/src/main/res"
sources="$here/app/src/main/kotlin $here/screens/src/main/kotlin"

if [ -n "$planted" ]; then
    sources="$work/src"
    cp -r "$res" "$work/res"
    res="$work/res"
    mkdir "$sources"
    cat > "$sources/Planted.kt" <<'END'
package hangtrue.app

import androidx.compose.runtime.Composable

fun where() = java.io.File("/sdcard/hangtrue")

@Composable
fun notNamedLikeOne() {
}
END
    sed -i 's#</resources>#<string name="nobody_reads_this">x</string></resources>#' "$res/values/strings.xml"
    sed -i 's#</resources>#<style name="Newer"><item name="android:windowSplashScreenBackground">@color/ink</item></style></resources>#' "$res/values/styles.xml"
    sed 's#android:supportsRtl="true"#android:supportsRtl="true" android:debuggable="true"#; s#android:fullBackupContent="false"##' "$manifest" > "$work/AndroidManifest.xml"
    sed 's#android:fullBackupContent="false"##' "$merged" > "$work/merged.xml"
    manifest="$work/AndroidManifest.xml"
    merged="$work/merged.xml"
fi

{
    echo "<project><root dir=\"$here\"/><module name=\"app\" android=\"true\" library=\"false\" compile-sdk-version=\"$(sed -n 's/^ *compileSdk = //p' "$here/app/build.gradle.kts")\">"
    echo "<manifest file=\"$manifest\"/><merged-manifest file=\"$merged\"/><resource file=\"$res\"/>"
    # file by file: of a folder lint would take no Kotlin
    # shellcheck disable=SC2086 # sources is a list of folders
    find $sources -name '*.kt' | sort | while read -r file; do echo "<src file=\"$file\"/>"; done
    echo "<classpath jar=\"$here/run/target/classes\"/>"
    tr ':' '\n' < "$here/run/target/classpath.txt" | grep -v '[.]aar$' | while read -r jar; do echo "<classpath jar=\"$jar\"/>"; done
    for aar in $("$here/proof/versions.py" --ships); do
        name=$(basename "$aar" .aar)
        if [ -d "$here/libs/target/ex/$name" ]; then echo "<aar file=\"$aar\" extracted=\"$here/libs/target/ex/$name\"/>"; fi
        if [ -e "$here/libs/target/ex/$name/lint.jar" ]; then echo "<lint-checks jar=\"$here/libs/target/ex/$name/lint.jar\"/>"; fi
    done
    echo "</module></project>"
} > "$work/project.xml"

# MissingVersion: Gradle gives it, and the merged manifest has it
status=0
ANDROID_USER_HOME="$work/home" java -Xmx2g -cp "$here/proof/target/tools/*" com.android.tools.lint.Main --project "$work/project.xml" \
    --disable MissingVersion -Werror --exitcode --quiet --fullpath --text "$work/found.txt" > "$work/said.txt" 2>&1 || status=$?
if [ -z "$planted" ]; then
    [ "$status" = 0 ] || { cat "$work/said.txt" "$work/found.txt"; echo "lint.sh: lint found something"; exit 1; }
    echo "lint.sh: nothing found"
    exit 0
fi
[ "$status" = 1 ] || { cat "$work/said.txt"; echo "lint.sh: lint ended with $status over planted mistakes"; exit 1; }
for id in SdCardPath ComposableNaming HardcodedDebugMode DataExtractionRules UnusedResources; do
    grep -q "\[$id[] ]" "$work/found.txt" || { cat "$work/found.txt"; echo "lint.sh: a planted mistake was not found: $id"; exit 1; }
done
echo "lint.sh: planted mistakes were found: in Kotlin, in Compose, in the manifest, in resources"
