#!/bin/sh
# native.sh: builds the core's library for phones and puts it where Gradle packs it from.
#
#   native.sh                 all ABIs, as bindings/size.sh builds and measures it; needs the NDK (ANDROID_NDK_HOME) and rustup's
#                             Android targets
#   native.sh arm64-v8a       one ABI
#   native.sh --check FILE..  are all loadable parts of these libraries aligned to 16 KB? (phones with 16 KB pages refuse others)
#   native.sh --self-test     the check, tried on host libraries that it must pass and must refuse
set -eu
here=$(cd "$(dirname "$0")" && pwd)
root=$(dirname "$here")
page=16384
api=26

# Prints each loadable segment that is aligned to less than a page; fails if there is one, or if there is none at all.
aligned() {
    readelf -lW "$1" | awk -v page="$page" -v file="$1" '
        function value(hex,   n, i) {
            n = 0
            for (i = 3; i <= length(hex); i++) n = n * 16 + index("0123456789abcdef", substr(hex, i, 1)) - 1
            return n
        }
        $1 == "LOAD" { seen++; if (value($NF) < page) { bad++; print file ": a loadable segment is aligned to " $NF ", wanted at least 0x4000" } }
        END { if (!seen) print file ": no loadable segment: is it a library?"; exit (bad > 0 || !seen) }'
}

self_test() {
    dir="$here/target/native-self-test"
    mkdir -p "$dir"
    printf 'int answer(void) { return 42; }\n' > "$dir/a.c"
    cc -shared -fPIC -Wl,-z,max-page-size=16384 -o "$dir/wide.so" "$dir/a.c"
    cc -shared -fPIC -Wl,-z,max-page-size=4096 -o "$dir/narrow.so" "$dir/a.c"
    aligned "$dir/wide.so" || { echo "native.sh: refused a library that is aligned to 16 KB"; exit 1; }
    if aligned "$dir/narrow.so" > "$dir/refusal.txt"; then echo "native.sh: passed a library that is aligned to 4 KB"; exit 1; fi
    grep -q 0x1000 "$dir/refusal.txt" || { echo "native.sh: refused for another reason:"; cat "$dir/refusal.txt"; exit 1; }
    if aligned "$dir/a.c" > "$dir/refusal.txt" 2>&1; then echo "native.sh: passed a file that is no library"; exit 1; fi
    # the core itself, linked with the very argument that the phone libraries get
    (cd "$root" && cargo rustc --quiet -p hangtrue-bindings --lib --crate-type cdylib -- -C "link-arg=-Wl,-z,max-page-size=$page")
    aligned "$root/target/debug/libhangtrue_bindings.so" || { echo "native.sh: the core's host library is not aligned"; exit 1; }
    echo "native.sh: alignment check passes 16 KB, refuses 4 KB, and the core's host library is aligned to 16 KB"
}

build() {
    abi=$1
    case $abi in
        arm64-v8a) target=aarch64-linux-android; clang=aarch64-linux-android$api ;;
        armeabi-v7a) target=armv7-linux-androideabi; clang=armv7a-linux-androideabi$api ;;
        x86_64) target=x86_64-linux-android; clang=x86_64-linux-android$api ;;
        *) echo "native.sh: no such ABI: $abi (arm64-v8a, armeabi-v7a or x86_64)"; exit 2 ;;
    esac
    : "${ANDROID_NDK_HOME:?native.sh: set ANDROID_NDK_HOME to the folder of the Android NDK (r27 or newer)}"
    host=$(ls "$ANDROID_NDK_HOME/toolchains/llvm/prebuilt" | head -1)
    bin="$ANDROID_NDK_HOME/toolchains/llvm/prebuilt/$host/bin"
    [ -x "$bin/$clang-clang" ] || { echo "native.sh: no $clang-clang in $bin: is this an NDK?"; exit 2; }
    upper=$(printf '%s' "$target" | tr 'a-z-' 'A-Z_')
    under=$(printf '%s' "$target" | tr - _)
    # the linker for Rust; the compiler and archiver for the SQLite that is bundled
    env "CARGO_TARGET_${upper}_LINKER=$bin/$clang-clang" \
        "CARGO_TARGET_${upper}_RUSTFLAGS=-C link-arg=-Wl,-z,max-page-size=$page" \
        "CC_$under=$bin/$clang-clang" "AR_$under=$bin/llvm-ar" \
        cargo rustc --manifest-path "$root/Cargo.toml" -p hangtrue-bindings --lib --crate-type cdylib --profile phone --target "$target"
    out="$here/app/src/main/jniLibs/$abi"
    mkdir -p "$out"
    "$bin/llvm-strip" --strip-unneeded -o "$out/libhangtrue_bindings.so" "$root/target/$target/phone/libhangtrue_bindings.so"
    aligned "$out/libhangtrue_bindings.so"
    ls -l "$out/libhangtrue_bindings.so"
}

case ${1:-all} in
    --self-test) self_test ;;
    --check) shift; for file in "$@"; do aligned "$file"; done ;;
    all) for abi in arm64-v8a armeabi-v7a x86_64; do build "$abi"; done ;;
    *) build "$1" ;;
esac
