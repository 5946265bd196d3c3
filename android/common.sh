# common.sh: what the scripts of this folder share; they source it with $here set to this folder.
# shellcheck shell=sh
root=$(dirname "$here")

say() { printf '\n== %s\n' "$*"; }

# need_apt PROBE PACKAGE...: installs Debian packages when the command, file or shared library is not there, saying so.
need_apt() {
    probe=$1
    shift
    if command -v "$probe" >/dev/null 2>&1 || [ -e "$probe" ] || ldconfig -p 2>/dev/null | grep -q "$probe"; then return; fi
    say "installing from apt: $*"
    sudo=
    [ "$(id -u)" = 0 ] || sudo=sudo
    $sudo apt-get update -qq
    DEBIAN_FRONTEND=noninteractive $sudo apt-get install -y -qq --no-install-recommends "$@" >/dev/null
}

# The core's library for this machine, which JNA loads.
build_core() {
    (cd "$root" && cargo build --quiet --workspace --lib --bins --test walk_scenario)
}

# screens_classes main|test: compiles the screens, and sets $classpath to them and all they need.
screens_classes() {
    need_apt mvn maven
    goal=compile
    scope=runtime
    if [ "$1" = test ]; then
        goal=test-compile
        scope=test
    fi
    mkdir -p "$root/target"
    (cd "$here" && mvn -B -ntp -q -pl screens clean "$goal" dependency:build-classpath -Dmdep.outputFile="$root/target/screens-classpath.txt" -Dmdep.includeScope="$scope")
    classpath="$here/screens/target/classes:$here/screens/target/test-classes:$(cat "$root/target/screens-classpath.txt")"
}
