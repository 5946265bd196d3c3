#!/bin/sh
# aars.sh BUILD_DIR CLASSES_DIR FRAMEWORK_JAR: unpacks the AARs, merges the manifest, and makes the R classes and the resource
# files (proof/manifest.sh, proof/resources.sh). It stands in for the Android Gradle plugin where there is no Android SDK.
set -e
build=$1; classes=$2; framework=$3
proof=$(cd "$(dirname "$0")/../proof" && pwd)
mkdir -p "$classes"
cd "$build"
rm -rf ex gen fw fw.apk
mkdir -p ex gen fw
unzip -qo "$framework" resources.arsc AndroidManifest.xml -d fw
(cd fw && zip -q0 ../fw.apk resources.arsc AndroidManifest.xml)
for aar in aars/*.aar; do
    name=$(basename "$aar" .aar)
    mkdir -p "ex/$name"
    unzip -qo "$aar" -d "ex/$name"
    # unzip answers up to 11 where a jar holds nothing but what is left out
    unzip -qo "ex/$name/classes.jar" -x 'META-INF/MANIFEST.MF' -d "$classes" || [ $? -le 11 ]
done
"$proof/manifest.sh" manifest
"$proof/resources.sh" manifest/merged.xml resources
cp -r resources/java/. gen
