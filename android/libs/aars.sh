#!/bin/sh
# aars.sh BUILD_DIR CLASSES_DIR FRAMEWORK_JAR APP_MAIN: unpacks the AARs, makes their R classes and the app's resource
# file with Debian's aapt. It stands in for the Android Gradle plugin where there is no Android SDK.
set -e
build=$1; classes=$2; framework=$3; app=$4
proof=$(cd "$(dirname "$0")/../proof" && pwd)
mkdir -p "$classes"
cd "$build"
rm -rf ex gen fw fw.apk
mkdir -p ex gen fw
unzip -qo "$framework" resources.arsc AndroidManifest.xml -d fw
(cd fw && zip -q0 ../fw.apk resources.arsc AndroidManifest.xml)
sources="-S ex/app"
packages=""
cp -r "$app/res" ex/app
for aar in aars/*.aar; do
    name=$(basename "$aar" .aar)
    mkdir -p "ex/$name"
    unzip -qo "$aar" -d "ex/$name"
    # unzip answers up to 11 where a jar holds nothing but what is left out
    unzip -qo "ex/$name/classes.jar" -x 'META-INF/MANIFEST.MF' -d "$classes" || [ $? -le 11 ]
    if [ -d "ex/$name/res" ]; then sources="$sources -S ex/$name/res"; fi
    if [ -s "ex/$name/R.txt" ]; then
        packages="$packages:$(grep -o 'package="[^"]*"' "ex/$name/AndroidManifest.xml" | head -1 | cut -d'"' -f2)"
    fi
done
# aapt 1 wants <item type="id">, and the newest framework it can read (API 29) lacks android:lStar (API 31)
find ex -path '*/res/values*' -name '*.xml' -print0 | xargs -0 sed -i -E 's#<id name="([^"]*)" */>#<item name="\1" type="id"/>#g; s#<attr name="android:lStar"[^/>]*/>##g'
# The manifest as it ships, merged with the libraries'. Robolectric runs it with what Debian's aapt can read: without what is
# newer than API 29; and a test starts Compose in a plain ComponentActivity, which the shipped manifest does not name.
"$proof/manifest.sh" manifest
sed -E -e 's# android:dataExtractionRules="[^"]*"##' \
    -e 's#</application>#<activity android:name="androidx.activity.ComponentActivity" android:exported="true"/></application>#' \
    manifest/merged.xml > AndroidManifest.xml
# shellcheck disable=SC2086 # sources is a list of words
aapt package -f -m --auto-add-overlay -M AndroidManifest.xml $sources -I fw.apk -J gen \
    --extra-packages "${packages#:}" -F res.apk > aapt.log 2>&1 || { cat aapt.log; exit 1; }
