#!/usr/bin/env bash
# xcframework.sh: builds the core as build/HangtrueCoreFFI.xcframework, which Package.swift takes on a Mac. Needs Xcode and
# rustup's targets; it says which is missing.
#   xcframework.sh           phones, the simulator and this Mac; profile phone, as Android's and as measured
#   xcframework.sh --host    this Mac only, for its own tests; debug
set -euo pipefail
cd "$(dirname "$0")/.."

[ "$(uname -s)" = Darwin ] || { echo "xcframework.sh: an XCFramework is made on a Mac; on Linux ios/check.sh uses the library of the host" >&2; exit 2; }
command -v xcodebuild >/dev/null || { echo "xcframework.sh: there is no xcodebuild: install Xcode" >&2; exit 2; }

# The least systems that the app and its tests run on, for the C of the SQLite that is bundled and for the linker.
export IPHONEOS_DEPLOYMENT_TARGET=17.0 MACOSX_DEPLOYMENT_TARGET=14.0

host=$(rustc -vV | sed -n 's/^host: //p')
case ${1:-all} in
  all) targets=(aarch64-apple-ios aarch64-apple-ios-sim "$host"); profile=phone; flag='--profile phone' ;;
  --host) targets=("$host"); profile=debug; flag= ;;
  *) echo "xcframework.sh: \"$1\" is not known; give nothing or --host" >&2; exit 2 ;;
esac

# The C face of the core: a header, and a map that names it as the generated Swift imports it.
headers=target/ios-headers
rm -rf "$headers"
mkdir -p "$headers"
cp bindings/generated/swift/HangtrueCoreFFI.h "$headers/"
cp bindings/generated/swift/HangtrueCoreFFI.modulemap "$headers/module.modulemap"

libraries=()
for target in "${targets[@]}"; do
  [ -d "$(rustc --print sysroot)/lib/rustlib/$target" ] || { echo "xcframework.sh: Rust has no $target: rustup target add $target" >&2; exit 2; }
  # shellcheck disable=SC2086  # no flag is no argument
  cargo build -p hangtrue-bindings --lib --target "$target" $flag
  libraries+=(-library "target/$target/$profile/libhangtrue_bindings.a" -headers "$headers")
done

rm -rf ios/build/HangtrueCoreFFI.xcframework
mkdir -p ios/build
xcodebuild -create-xcframework "${libraries[@]}" -output ios/build/HangtrueCoreFFI.xcframework
