#!/bin/sh
# resources.sh MERGED_MANIFEST OUT: compiles the resources of the app and of its libraries with aapt2 and links them to the merged
# manifest, into OUT: resources.apk (what ships), test.apk (the same numbers, and the plain activity in which a test starts
# Compose), the R classes, and the rules of what the manifest needs kept. Debian's aapt2 knows Android 10 (API 29): what is newer
# is taken out of a copy, and counted, so that nothing more goes unseen. Lint reads the true files.
set -eu
here=$(cd "$(dirname "$0")/.." && pwd)
merged=$(cd "$(dirname "$1")" && pwd)/$(basename "$1")
rm -rf "$2"
mkdir -p "$2/flat" "$2/java" "$2/res"
out=$(cd "$2" && pwd)
cd "$out"
eval "$("$here/proof/versions.py" --say)"

# what is newer, and how often it stands there
newer="android:dataExtractionRules 1
android:enableOnBackInvokedCallback 1
android:localeConfig 1
<queries> 1
android:lStar 1"

list=
for aar in $("$here/proof/versions.py" --ships); do
    name=$(basename "$aar" .aar)
    mkdir -p "res/$name"
    unzip -qo "$aar" 'res/*' -d "res/$name" 2>/dev/null || rm -rf "res/$name"
done
cp -r "$here/app/src/main/res" "res/zz-app"
cp "$merged" AndroidManifest.xml
printf '%s\n' "$newer" | while read -r word count; do
    found=$(grep -rhoF "$word" res AndroidManifest.xml | wc -l)
    [ "$found" = "$count" ] || { echo "resources.sh: $word stands $found times, $count was known"; exit 1; }
done
find res -path '*/values*' -name '*.xml' -exec sed -i -E 's#<attr name="android:lStar"[^/>]*/>##g' {} +
sed -i -E -e 's#android:(dataExtractionRules|enableOnBackInvokedCallback|localeConfig)="[^"]*"##' -e '/<queries>/,/<.queries>/d' AndroidManifest.xml

for folder in res/*; do
    name=$(basename "$folder")
    [ -d "$folder/res" ] && folder="$folder/res"
    aapt2 compile --dir "$folder" -o "flat/$name.zip"
    list="$list -R flat/$name.zip"
done
packages=$(for aar in $("$here/proof/versions.py" --ships); do unzip -p "$aar" AndroidManifest.xml | grep -o ' package="[^"]*"' | head -1 | cut -d'"' -f2; done | sort -u | paste -sd:)
sed 's#</application>#<activity android:name="androidx.activity.ComponentActivity" android:exported="true"/></application>#' AndroidManifest.xml > TestManifest.xml
# link MANIFEST INTO FLAG...
link() {
    manifest=$1
    into=$2
    shift 2
    # shellcheck disable=SC2086,SC2154 # list is a list of words; the numbers come from versions.py
    aapt2 link -o "$into" --manifest "$manifest" -I "$here/libs/target/fw.apk" --auto-add-overlay --min-sdk-version "$minSdk" \
        --target-sdk-version "$targetSdk" --no-version-vectors "$@" $list > said.txt 2>&1 || { cat said.txt; exit 1; }
    if [ -s said.txt ]; then cat said.txt; echo "resources.sh: aapt2 warns"; exit 1; fi
}
link AndroidManifest.xml resources.apk --java java --extra-packages "$packages" --proguard keep-manifest.pro --emit-ids ids.txt
link TestManifest.xml test.apk --stable-ids ids.txt --emit-ids test-ids.txt
sort -o ids.txt ids.txt
sort -o test-ids.txt test-ids.txt
cmp ids.txt test-ids.txt
# what is packed says what the manifest says
aapt dump badging resources.apk > badging.txt
for line in "package: name='$applicationId' versionCode='$versionCode' versionName='$versionName'" "sdkVersion:'$minSdk'" "targetSdkVersion:'$targetSdk'" "launchable-activity: name='hangtrue.app.MainActivity'" "application-icon-160:'res/mipmap"; do
    grep -qF "$line" badging.txt || { cat badging.txt; echo "resources.sh: the linked manifest does not say $line"; exit 1; }
done
grep -q 'hangtrue.app.MainActivity' keep-manifest.pro || { echo "resources.sh: the manifest's classes are not in its keep rules"; exit 1; }
echo "resources.sh: $(find flat -name '*.zip' | wc -l) sets of resources linked, $(wc -c < resources.apk) bytes"
