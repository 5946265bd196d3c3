#!/usr/bin/env bash
# check.sh: everything of iOS that a machine can compile and prove. On Linux that is the generated Swift, the state behind the
# screens and its tests, and the scenarios with their kills, all on the real core; the screens and the app are compiled there
# against a stub of Apple's signatures (stub/README.md), because there is no SwiftUI. On a Mac the screens are compiled too.
#   check.sh             all of it; HANGTRUE_KILLS sets how many processes are killed each way (200)
# Swift on Linux is a Debian root folder under target/swift-root, made once; nothing of it is mounted outside this script's own
# processes, so nothing stays behind whatever happens. A swift that is on the PATH is used instead.
set -euo pipefail
cd "$(dirname "$0")/.."
root=$PWD
swift_root=$root/target/swift-root
kills=${HANGTRUE_KILLS:-200}

say() { printf '\n== %s\n' "$*"; }

sudo=
[ "$(id -u)" = 0 ] || sudo=sudo

# In a mount namespace of its own, with the repository at its own path: in_root AS COMMAND... runs it in the root folder as
# the user AS.
in_root() {
  # shellcheck disable=SC2016  # expanded by the inner shell
  $sudo unshare --mount --propagation private bash -euc '
    swift_root=$1 root=$2 as=$3; shift 3
    mount -t proc proc "$swift_root/proc"
    mkdir -p "$swift_root$root"
    mount --bind "$root" "$swift_root$root"
    exec chroot --userspec="$as" "$swift_root" /usr/bin/env -i HOME=/tmp PATH=/usr/bin:/bin LANG=C.UTF-8 DEBIAN_FRONTEND=noninteractive \
      LD_LIBRARY_PATH="$root/target/debug" sh -c "cd \"\$0\" && exec \"\$@\"" "$root" "$@"
  ' in_root "$swift_root" "$root" "$@"
}

# The root folder with Swift in it. It counts as made only when all of it is there.
need_swift_root() {
  [ ! -e "$swift_root/hangtrue-ready" ] || return 0
  if ! command -v debootstrap >/dev/null; then
    say "installing from apt: debootstrap debian-archive-keyring"
    $sudo apt-get update -qq
    DEBIAN_FRONTEND=noninteractive $sudo apt-get install -y -qq --no-install-recommends debootstrap debian-archive-keyring >/dev/null
  fi
  $sudo unshare --mount --propagation private true || {
    echo "ios/check.sh: this machine does not let root have a mount namespace of its own (unshare --mount), which Swift in a root" >&2
    echo "folder needs: its compiler finds its libraries through /proc. Run it where that is allowed, or put swift on the PATH." >&2
    exit 1
  }
  say "installing Swift from Debian 13 into target/swift-root (3.4 GB): debootstrap, swiftlang, libc6-dev, libstdc++-14-dev, git, curl"
  $sudo rm -rf --one-file-system "$swift_root"
  local free_kb
  free_kb=$(df -Pk "$root" | awk 'NR == 2 { print $4 }')
  if [ "$free_kb" -lt 6000000 ]; then
    echo "ios/check.sh: Swift needs 6 GB of disk while it is installed; $((free_kb / 1000)) MB are free where $root is. Make room, or" >&2
    echo "put a swift on the PATH." >&2
    exit 1
  fi
  mkdir -p "$root/target"
  local log=$root/target/swift-root.log
  $sudo debootstrap --variant=minbase trixie "$swift_root" >"$log" 2>&1 || {
    tail -20 "$log" >&2
    echo "ios/check.sh: debootstrap could not make a Debian root folder; its words are above and in target/swift-root.log" >&2
    exit 1
  }
  # What is lost with the machine is made again: no need to wait for the disk at every file.
  echo force-unsafe-io | $sudo tee "$swift_root/etc/dpkg/dpkg.cfg.d/unsafe-io" >/dev/null
  in_root 0:0 sh -c 'apt-get update -qq && apt-get install -y -qq --no-install-recommends swiftlang libc6-dev libstdc++-14-dev git curl && apt-get clean' \
    >>"$log" 2>&1 || {
    tail -20 "$log" >&2
    echo "ios/check.sh: apt could not install Swift into target/swift-root; its words are above and in target/swift-root.log" >&2
    exit 1
  }
  $sudo touch "$swift_root/hangtrue-ready"
}

say "the core's library for this machine, the program that is the workroom, and what the Rust test saw of the scenarios"
cargo build --quiet --workspace --lib --bins --test walk_scenario
cargo test --quiet --workspace --test walk_scenario

link=()
if [ "$(uname -s)" = Darwin ]; then
  run() { "$@"; }
  ios/xcframework.sh --host
else
  link=(-Xlinker "-L$root/target/debug")
  if command -v swift >/dev/null; then
    run() { LD_LIBRARY_PATH=$root/target/debug "$@"; }
  else
    need_swift_root
    run() { in_root "$(id -u):$(id -g)" "$@"; }
  fi
fi
run swift --version 2>&1 | sed -n 1p

say "the generated Swift and the state behind the screens: warnings are errors; the tests, on the real core"
run swift test --package-path ios --scratch-path target/swift -Xswiftc -warnings-as-errors "${link[@]}"

say "the same state under the rules of Swift 5.10"
run sh -c 'swiftc -typecheck -swift-version 5 -strict-concurrency=complete -warnings-as-errors -I target/swift/debug/Modules \
  -Xcc -fmodule-map-file=ios/Sources/HangtrueCoreFFI/module.modulemap ios/Sources/HangtrueState/*.swift'

say "the scenarios through Swift"
run target/swift/debug/hangtrue-scenario compare .
run target/swift/debug/hangtrue-scenario kills . "$kills"

say "the icon is the mark that Android draws"
ios/icon.py --check

if [ "$(uname -s)" != Darwin ]; then
  say "the screens, the app and PinnedHttp against the stub of Apple's signatures (there is no SDK here); planted errors"
  run ios/stub/check.sh
fi
