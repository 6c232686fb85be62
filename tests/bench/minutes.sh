#!/usr/bin/env bash
# How long a person waits for the builds, two trees in turns: bash tests/bench/minutes.sh [-n ROUNDS] [-w WHAT] BEFORE AFTER
# A tree is a folder or a commit of this repository. WHAT is one of: cold word tests; all without it.
#   cold   empty target, downloads apart: `cargo run --release` until the page's code is served
#   word   a word of the page changed: the same until the new code is served
#   tests  empty target, tools and downloads there: `bash tests/run`
# Prints seconds and ratios; asserts nothing. Wants a quiet machine.
set -euo pipefail

here=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)
rounds=1 wanted="cold word tests"
while getopts n:w: flag; do
  case $flag in
    n) rounds=$OPTARG ;;
    w) wanted=$OPTARG ;;
    *) exit 2 ;;
  esac
done
shift $((OPTIND - 1))
[ $# = 2 ] || { sed -n '2,7s/^# //p' "${BASH_SOURCE[0]}" >&2; exit 2; }

work=$(mktemp -d)
server=
cleanup() {
  [ -z "$server" ] || kill "$server" 2>/dev/null || true
  rm -rf "$work"
}
trap cleanup EXIT

# tree NAME WHAT: a fresh copy of a folder's last commit, or of a commit.
tree() {
  if [ -d "$2" ]; then git clone -q "$2" "$work/$1"; else
    git clone -q "$here" "$work/$1"
    git -C "$work/$1" checkout -q --detach "$2"
  fi
  (cd "$work/$1" && cargo fetch -q --locked)
}

now() { date +%s.%N; }

since() { echo "$(now) $1" | awk '{ printf "%.1f", $1 - $2 }'; }

# serve NAME: seconds from the command until the page's code is served.
serve() {
  local start said address
  said=$work/said.$1
  start=$(now)
  (cd "$work/$1" && exec cargo run --release --quiet -- --no-open --port 0) >"$said" 2>"$said.errors" &
  server=$!
  until address=$(grep -o 'http://[^ ]*' "$said"); do
    kill -0 "$server" 2>/dev/null || { tail -5 "$said.errors" >&2; exit 1; }
    sleep 0.1
  done
  curl -sf -o /dev/null "${address}pkg/fanlap_bg.wasm"
  since "$start"
  kill "$server"
  wait "$server" 2>/dev/null || true
  server=
}

cold() { rm -rf "$work/$1/target" "$work/$1/www/pkg"; serve "$1"; }

# Changes what a place of the page says, so that its code has to be made anew.
word() {
  local file
  file=$(cd "$work/$1" && ls src/page/spray_outs.rs src/web/spray_outs.rs 2>/dev/null | head -1)
  sed -i "s/\"no more cards[^\"]*\"/\"no more cards $RANDOM\"/" "$work/$1/$file"
  [ -n "$(git -C "$work/$1" status --porcelain "$file")" ] || { echo "no word to change in $file" >&2; exit 1; }
  serve "$1"
}

tests() {
  local start
  rm -rf "$work/$1/target" "$work/$1/www/pkg"
  start=$(now)
  (cd "$work/$1" && CARGO_INCREMENTAL=0 bash tests/run >"$work/run.$1" 2>&1) || echo "$1: $(tail -1 "$work/run.$1")" >&2
  since "$start"
}

tree before "$1"
tree after "$2"
for what in $wanted; do
  for ((round = 1; round <= rounds; round++)); do
    before=$($what before)
    after=$($what after)
    echo "$what $before $after" | awk '{ printf "%-6s before %6.1f s, after %6.1f s: %3.0f per cent\n", $1, $2, $3, 100 * $3 / $2 }'
  done
done
