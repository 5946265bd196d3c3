#!/bin/sh
# api.sh: runs Api.java over what ships (ships.sh first), with the signatures of the least Android that the app declares.
#   api.sh --keep   writes newer.txt anew, to be read and committed
set -eu
here=$(cd "$(dirname "$0")/.." && pwd)
eval "$("$here/proof/versions.py" --say)"
# shellcheck disable=SC2154,SC2086 # the number comes from versions.py; --keep is one word or none
java -cp "$here/proof/target/tools/*" "$here/proof/Api.java" "$here/proof/target/parts/gummy-bears-api-$minSdk.signature" "$here/proof/newer.txt" \
    ${1:-} "$here"/proof/target/ships/*.jar
