#!/bin/sh
# manifest.sh OUT: merges the app's manifest with those of its libraries by the plugin's own merger, into OUT/merged.xml, and
# holds what came of it against merged.txt: a library that brings a permission or opens a door is seen here first.
#   manifest.sh --keep OUT        writes merged.txt anew, to be read and committed
#   manifest.sh --self-test OUT   planted libraries: one with a permission, one for newer Android only; both must be refused
set -eu
here=$(cd "$(dirname "$0")/.." && pwd)
how=
case $1 in --*) how=$1; shift ;; esac
mkdir -p "$1/libs"
out=$(cd "$1" && pwd)
eval "$("$here/proof/versions.py" --say)"

# merge LIBRARY_MANIFEST:.. INTO
merge() {
    # shellcheck disable=SC2154 # the numbers come from versions.py
    java -cp "$here/proof/target/tools/*" com.android.manifmerger.Merger --main "$here/app/src/main/AndroidManifest.xml" --libs "$1" \
        --property PACKAGE="$applicationId" --property MIN_SDK_VERSION="$minSdk" --property TARGET_SDK_VERSION="$targetSdk" \
        --property VERSION_CODE="$versionCode" --property VERSION_NAME="$versionName" --out "$2.xml" --log WARNING
    [ -s "$2.xml" ] || return 1
    python3 - "$2.xml" > "$2.txt" <<'END'
import sys
import xml.etree.ElementTree as xml

android = "{http://schemas.android.com/apk/res/android}"
top = xml.parse(sys.argv[1]).getroot()
for tag in ("uses-sdk", "permission", "uses-permission", "application"):
    for node in top.findall(tag):
        print(tag, *sorted(f"{key.removeprefix(android)}={value}" for key, value in node.attrib.items()))
for node in top.find("application"):
    kept = ("name", "exported", "permission", "authorities", "required", "value", "resource")
    print("  " + node.tag, *(f"{key}={node.get(android + key)}" for key in kept if node.get(android + key)))
    for found in node.iter():
        if found is not node and found.tag in ("action", "data", "meta-data"):
            print("    " + found.tag, *(value for _, value in sorted(found.attrib.items())))
END
}

libs=
for aar in $("$here/proof/versions.py" --ships); do
    name=$(basename "$aar" .aar)
    unzip -p "$aar" AndroidManifest.xml > "$out/libs/$name.xml"
    libs="$libs:$out/libs/$name.xml"
done

if [ "$how" = --self-test ]; then
    head='<manifest xmlns:android="http://schemas.android.com/apk/res/android" package="planted">'
    echo "$head<uses-permission android:name=\"android.permission.READ_CONTACTS\"/></manifest>" > "$out/libs/nosy.xml"
    echo "$head<uses-sdk android:minSdkVersion=\"34\"/></manifest>" > "$out/libs/newer.xml"
    merge "${libs#:}:$out/libs/nosy.xml" "$out/nosy"
    if diff "$here/proof/merged.txt" "$out/nosy.txt" > "$out/said.txt"; then echo "manifest.sh: a permission more was not seen"; exit 1; fi
    grep -q READ_CONTACTS "$out/said.txt" || { cat "$out/said.txt"; echo "manifest.sh: another difference was seen"; exit 1; }
    rm -f "$out/newer.xml"
    if merge "${libs#:}:$out/libs/newer.xml" "$out/newer" > "$out/said.txt" 2>&1; then echo "manifest.sh: a library for newer Android was merged"; exit 1; fi
    grep -q "minSdkVersion" "$out/said.txt" || { cat "$out/said.txt"; echo "manifest.sh: refused for another reason"; exit 1; }
    echo "manifest.sh: a planted permission was seen, a planted library for newer Android refused"
    exit 0
fi
merge "${libs#:}" "$out/merged"
if [ "$how" = --keep ]; then cp "$out/merged.txt" "$here/proof/merged.txt"; fi
diff "$here/proof/merged.txt" "$out/merged.txt" || { echo "manifest.sh: the merged manifest is another (< proof/merged.txt, > now)"; exit 1; }
