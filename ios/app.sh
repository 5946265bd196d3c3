#!/usr/bin/env bash
# app.sh: builds the app for a simulator, unsigned. Needs a Mac with Xcode 16 or newer; makes the XCFramework when it is not there.
set -euo pipefail
cd "$(dirname "$0")"

[ "$(uname -s)" = Darwin ] || { echo "app.sh: the app is built on a Mac; ios/check.sh runs what can be run elsewhere" >&2; exit 2; }
[ -d build/HangtrueCoreFFI.xcframework/ios-arm64-simulator ] || ./xcframework.sh
xcodebuild -project App/Hangtrue.xcodeproj -scheme Hangtrue -configuration Debug -destination 'generic/platform=iOS Simulator' \
  -derivedDataPath App/build ARCHS=arm64 ONLY_ACTIVE_ARCH=NO CODE_SIGNING_ALLOWED=NO build
ls -d App/build/Build/Products/Debug-iphonesimulator/Hangtrue.app
