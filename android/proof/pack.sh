#!/bin/sh
# pack.sh (shrink.sh first): turns the shrunk app into dex and packs it with its resources and libraries, signs it with a key that
# is made here and thrown away, and verifies what came of it, all by the plugin's own parts. Everything in the APK is what would
# ship but the core: that of lib/x86_64 is this machine's library (Linux, not Android), and the other two ABIs have none.
# Then planted: a byte changed after the signing, a library beside its page; both must be refused.
set -eu
here=$(cd "$(dirname "$0")/.." && pwd)
. "$here/common.sh"
out="$here/proof/target/packed"
rm -rf "$out"
mkdir -p "$out/dex" "$out/lib"
eval "$("$here/proof/versions.py" --say)"
# shellcheck disable=SC2154 # the numbers come from versions.py
[ -s "$here/proof/target/shrunk/app.jar" ] || { echo "pack.sh: run shrink.sh first"; exit 1; }

framework=$(tr ':' '\n' < "$here/run/target/classpath.txt" | grep '/android-all-')
java -Xmx3g -cp "$here/run/target/d8/builder.jar" com.android.tools.r8.D8 --release --min-api "$minSdk" --lib "$framework" --output "$out/dex" "$here/proof/target/shrunk/app.jar"
# the libraries that AARs bring, for the ABIs of the app
for aar in $("$here/proof/versions.py" --ships); do
    for abi in $abis; do
        if unzip -Z1 "$aar" | grep -q "^jni/$abi/.*[.]so$"; then mkdir -p "$out/lib/$abi"; unzip -qoj "$aar" "jni/$abi/*.so" -d "$out/lib/$abi"; fi
    done
done
strip --strip-unneeded -o "$out/lib/x86_64/libhangtrue_bindings.so" "$root/target/debug/libhangtrue_bindings.so"
# phones with 16 KB pages have 64 bits
"$here/native.sh" --check "$out"/lib/arm64-v8a/*.so "$out"/lib/x86_64/libjnidispatch.so "$out"/lib/x86_64/libandroidx.graphics.path.so

run() { java -cp "$here/proof/target/tools/*" "$here/proof/Pack.java" "$@"; }
run pack "$here/libs/target/resources/resources.apk" "$out/dex" "$out/lib" "$out/unsigned.apk"
password=$(od -An -N16 -tx1 /dev/urandom | tr -d ' \n')
keytool -genkeypair -keystore "$out/test.p12" -storetype PKCS12 -storepass "$password" -alias test -keyalg EC -groupname secp256r1 -dname CN=test -validity 1 2> "$out/said.txt" \
    || { cat "$out/said.txt"; exit 1; }
run sign "$out/unsigned.apk" "$out/test.p12" "$password" "$minSdk" "$out/hangtrue.apk"
rm -f "$out/test.p12"
run verify "$out/hangtrue.apk" "$minSdk"

aapt dump badging "$out/hangtrue.apk" > "$out/badging.txt"
for line in "package: name='$applicationId' versionCode='$versionCode'" "sdkVersion:'$minSdk'" "launchable-activity: name='hangtrue.app.MainActivity'" "native-code:"; do
    grep -qF "$line" "$out/badging.txt" || { cat "$out/badging.txt"; echo "pack.sh: the APK does not say $line"; exit 1; }
done
for abi in $abis; do grep native-code "$out/badging.txt" | grep -qF "'$abi'" || { echo "pack.sh: the APK has nothing for $abi"; exit 1; }; done

# planted
python3 - "$out/hangtrue.apk" "$out/changed.apk" <<'END'
import sys
import zipfile

data = bytearray(open(sys.argv[1], "rb").read())
dex = zipfile.ZipFile(sys.argv[1]).getinfo("classes.dex")
data[dex.header_offset + 30 + len("classes.dex") + dex.compress_size // 2] ^= 1
open(sys.argv[2], "wb").write(data)
END
if run verify "$out/changed.apk" "$minSdk" > "$out/said.txt"; then echo "pack.sh: a changed byte was not found"; exit 1; fi
grep -qi 'digest' "$out/said.txt" || { cat "$out/said.txt"; echo "pack.sh: refused for another reason"; exit 1; }
python3 - "$out/unsigned.apk" "$out/beside.apk" <<'END'
import sys
import zipfile

with zipfile.ZipFile(sys.argv[1]) as packed, zipfile.ZipFile(sys.argv[2], "w") as beside:
    for entry in packed.infolist():
        beside.writestr(entry.filename, packed.read(entry), zipfile.ZIP_STORED if entry.filename.endswith(".so") else zipfile.ZIP_DEFLATED)
END
if run verify "$out/beside.apk" "$minSdk" > "$out/said.txt"; then echo "pack.sh: a library beside its page was not found"; exit 1; fi
grep -q 'no page of 16384' "$out/said.txt" || { cat "$out/said.txt"; echo "pack.sh: refused for another reason"; exit 1; }
echo "pack.sh: an APK of $(wc -c < "$out/hangtrue.apk") bytes, signed and verified; a changed byte and a library beside its page were refused"
