#!/usr/bin/env bash
# stub/check.sh: type-checks what Linux has no SDK for - HangtrueScreens, the app, PinnedHttp - against the signatures in this
# folder (README.md says what they are), in language mode 6 with warnings as errors; then plants errors in copies and holds the
# check to refusing each with the words that it deserves. ios/check.sh runs it where its Swift is; by itself it wants a swiftc on
# the PATH, and nothing of Rust.
set -euo pipefail
cd "$(dirname "$0")/../.."
here=ios/stub
out=target/stub
rm -rf "$out"
mkdir -p "$out"

die() { echo "stub/check.sh: $*" >&2; exit 1; }

# The least systems that the app and its package say they run on.
phone=$(sed -n 's/.*IPHONEOS_DEPLOYMENT_TARGET = \([0-9.]*\);.*/\1/p' ios/App/Hangtrue.xcodeproj/project.pbxproj | sort -u)
read -r package mac < <(sed -n 's/.*\.iOS(\.v\([0-9]*\)), \.macOS(\.v\([0-9]*\)).*/\1 \2/p' ios/Package.swift)
[ "${phone%.0}" = "$package" ] || die "the app is for iOS $phone, its package for iOS $package"

# A compiler for Linux passes over what is said of iOS. It does heed what a package's description says of the version of its
# tools: so "iOS 17" in the stub becomes 17 of those, and the app is compiled by the version that its project names.
as_seen_by() { # SYSTEM FILE...: the stub's files as SYSTEM (phone or mac) sees them, under $out/SYSTEM
  local system=$1 file seen; shift
  case $system in
    phone) seen='s/@available\(iOS ([0-9.]+)(, macOS [0-9.]+)?, \*\)/@available(_PackageDescription, introduced: \1)/
                 s/@available\(macOS, unavailable\)//' ;;
    mac) seen='s/@available\(iOS [0-9.]+, macOS ([0-9.]+), \*\)/@available(_PackageDescription, introduced: \1)/
               s/@available\(iOS [0-9.]+, \*\)//
               s/@available\(macOS, unavailable\)/@available(*, unavailable)/' ;;
  esac
  for file; do
    mkdir -p "$(dirname "$out/$system/$file")"
    sed -E "$seen" "$here/$file" >"$out/$system/$file"
  done
}

# As Apple's frameworks are built: their enums may get more cases, and a switch over one must say what happens then.
stub() { # SYSTEM MODULE...
  local system=$1 module files; shift
  for module; do
    files=("$module.swift")
    [ ! -d "$here/$module" ] || files=("$here/$module"/*.swift)
    files=("${files[@]#"$here/"}")
    as_seen_by "$system" "${files[@]}"
    swiftc -emit-module -parse-as-library -enable-library-evolution -suppress-warnings -swift-version 6 \
      -package-description-version 99 -I "$out/$system" -module-name "$module" -o "$out/$system/$module.swiftmodule" \
      "${files[@]/#/$out/$system/}"
  done
}

core=(-Xcc -fmodule-map-file=ios/Sources/HangtrueCoreFFI/module.modulemap)

# Down to SIL: values used before they are set and values sent where they may not go are found no earlier.
held() { # SYSTEM VERSION MODULE FACE FILE...: compiles MODULE for SYSTEM from VERSION on, and leaves its face in the folder FACE
  local system=$1 version=$2 module=$3 face=$4; shift 4
  # what is written replaces what is there: never a device
  swiftc -emit-sil -o "$face/$module.sil" -emit-module -emit-module-path "$face/$module.swiftmodule" -wmo -parse-as-library \
    -swift-version 6 -warnings-as-errors -package-description-version "$version" \
    -Xfrontend -import-module -Xfrontend AppleFoundation \
    "${core[@]}" -I "$out/core" -I "$out/$system" -module-name "$module" "$@"
}

common=(Security AppleFoundation Accessibility CryptoKit UniformTypeIdentifiers CoreTransferable Combine SwiftUI)
stub phone "${common[@]}" UIKit WebKit Vision VisionKit
stub mac "${common[@]}"
mkdir "$out/core"
swiftc -emit-module -parse-as-library -suppress-warnings -swift-version 6 -Xfrontend -experimental-skip-all-function-bodies \
  "${core[@]}" -module-name HangtrueCore -o "$out/core/HangtrueCore.swiftmodule" ios/Sources/HangtrueCore/*.swift

state=(ios/Sources/HangtrueState/*.swift)
screens=(ios/Sources/HangtrueScreens/*.swift)
app=(ios/App/Hangtrue/*.swift)
held phone "$phone" HangtrueState "$out/phone" "${state[@]}"
held phone "$phone" HangtrueScreens "$out/phone" "${screens[@]}"
held phone "$phone" Hangtrue "$out/phone" "${app[@]}"
echo "the state with PinnedHttp, the screens and the app: for iOS $phone and newer"
held mac "$mac" HangtrueState "$out/mac" "${state[@]}"
held mac "$mac" HangtrueScreens "$out/mac" "${screens[@]}"
echo "the state and the screens, as a Mac builds them for the tests: for macOS $mac and newer"

# What is planted must be refused, in the words that are given: a stub that lets anything pass proves nothing.
planted=0
refused() { # WHAT SYSTEM VERSION MODULE WORDS FILE...
  local what=$1 system=$2 version=$3 module=$4 words=$5; shift 5
  mkdir -p "$out/wrong"
  if held "$system" "$version" "$module" "$out/wrong" "$@" >"$out/wrong/said" 2>&1; then die "was let pass: $what"; fi
  grep -qiF -- "$words" "$out/wrong/said" || { cat "$out/wrong/said" >&2; die "refused, but not by \"$words\": $what"; }
  planted=$((planted + 1))
}

plant() { # WHAT FILE SED WORDS [SYSTEM VERSION]: FILE as SED makes it wrong, among the others of its module
  local what=$1 file=$2 wrong=$3 words=$4 system=${5:-phone} version=${6:-$phone} module each files=()
  case $file in
    ios/Sources/HangtrueState/*) module=HangtrueState; files=("${state[@]}") ;;
    ios/Sources/HangtrueScreens/*) module=HangtrueScreens; files=("${screens[@]}") ;;
    *) module=Hangtrue; files=("${app[@]}") ;;
  esac
  rm -rf "$out/wrong"
  mkdir -p "$out/wrong"
  sed -E "$wrong" "$file" >"$out/wrong/${file##*/}"
  ! cmp -s "$file" "$out/wrong/${file##*/}" || die "nothing to plant in $file: $what"
  local others=()
  for each in "${files[@]}"; do [ "$each" = "$file" ] || others+=("$each"); done
  refused "$what" "$system" "$version" "$module" "$words" "${others[@]}" "$out/wrong/${file##*/}"
}

S=ios/Sources/HangtrueScreens
plant "a wrong argument label" $S/Root.swift 's/minimumDistance: 40/distance: 40/' \
  "extra argument 'distance' in call"
plant "a value where a binding is wanted" $S/NamingField.swift 's/text: \$typed\.text/text: typed.text/' \
  "cannot convert value of type 'String' to expected argument type 'Binding<String>'"
plant "a modifier's argument of the wrong type" $S/PadView.swift 's/\.lineLimit\(1\)/.lineLimit("1")/' \
  "cannot convert value of type 'String' to expected argument type 'Int"
plant "a modifier that there is not" $S/Page.swift 's/\.contentShape\(Rectangle\(\)\)/.contentShaped(Rectangle())/' \
  "has no member 'contentShaped'"
plant "a missing import" $S/Root.swift '/^import Accessibility$/d' "cannot find 'AccessibilityNotification' in scope"
plant "a misspelt field of a record of the core" $S/HousePage.swift 's/house\.progress/house.progres/' \
  "value of type 'HouseScreen' has no member 'progres'"
plant "a switch over an enum of the core that leaves one out" $S/Root.swift '/case \.sync\(let sync\)/d' "switch must be exhaustive"
plant "a switch over an enum of Apple's that leaves out what may come" ios/App/Hangtrue/HangtrueApp.swift \
  's/if now != \.active \{ (.*) \}/switch now { case .active: break; case .inactive, .background: \1 }/' \
  "but 'ScenePhase' may have additional unknown values"
plant "a result that nobody looks at" ios/App/Hangtrue/Device.swift 's/let ours = (url\.start.*)$/let ours = true; \1/' \
  "result of call to 'startAccessingSecurityScopedResource()' is unused"
plant "a name that is never used" $S/DrawingView.swift 's/let size = 11\.0/&; let other = 12.0/' \
  "immutable value 'other' was never used"
plant "a value used before it is set" $S/WalkPage.swift 's/case \.return: key = \.accept/case .return: break/' \
  "constant 'key' used before being initialized"
plant "what is not Sendable, taken to another thread" ios/App/Hangtrue/HangtrueApp.swift \
  's/\{ try openBook\(in: folder\) \}/{ [met = NSMutableArray()] in met.add(1); return try openBook(in: folder) }/' \
  "capture of 'met' with non-sendable type 'NSMutableArray'"
plant "a view touched from outside the main actor" $S/SyncPage.swift \
  's/exchange_folder"\) \{ (folder\(.*\)) \}/exchange_folder") { Task.detached { \1 } }/' \
  "expression is 'async' but is not marked with 'await'"
plant "a delegate's method whose signature is a little off" ios/App/Hangtrue/Device.swift \
  's/didFinish navigation: WKNavigation!/didFinished navigation: WKNavigation!/' \
  "different argument labels from those required by protocol 'WKNavigationDelegate'"
plant "a delegate of the session whose handler takes something else" ios/Sources/HangtrueState/PinnedHttp.swift \
  's/\(URLRequest\?\) -> Void/(URLRequest) -> Void/' "type 'Answer' does not conform to protocol 'URLSessionTaskDelegate'"
plant "a version of TLS that there is not" ios/Sources/HangtrueState/PinnedHttp.swift 's/\.TLSv13/.TLSv14/' "has no member 'TLSv14'"
plant "what is newer than the oldest system that the app runs on" $S/DrawingView.swift \
  's/\.clipped\(\)/&.onScrollVisibilityChange { _ in }/' "'onScrollVisibilityChange(threshold:_:)' is unavailable"
plant "what a Mac lacks, in screens that a Mac builds too" $S/Root.swift 's/\.tint\(/.statusBarHidden()&/' \
  "'statusBarHidden' is unavailable" mac "$mac"
plant "a link that shares what cannot be handed on" $S/Share.swift 's/struct HouseToHand: Transferable/struct HouseToHand/' \
  "requires that 'HouseToHand' conform to 'Transferable'"
plant "a protection of files that there is not" ios/Sources/HangtrueState/Store.swift \
  's/completeUntilFirstUserAuthentication/completeUntilUnlocked/' "has no member 'completeUntilUnlocked'"
refused "an older system than what the screens use" phone 16.0 HangtrueScreens "is unavailable" "${screens[@]}"
echo "$planted planted errors are refused, each for its own reason"
