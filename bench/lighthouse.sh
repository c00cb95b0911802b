#!/usr/bin/env bash
# Lighthouse over the main pages of the demo bench, one line a page. It is no part of the
# program and of no test: npm brings it into a folder of its own outside the project.
#
#   bench/lighthouse.sh > figures.md
#
# BUTTONUP_CHROMIUM names another browser. docs/lighthouse-results.md holds dated figures.
set -euo pipefail
top=$(cd "$(dirname "$0")/.." && pwd)
version=12.8.2
work=$(mktemp -d)
trap 'kill "${server:-}" 2>/dev/null || true; rm -rf "$work"' EXIT
(cd "$top" && CGO_ENABLED=0 go build -o "$work/buttonup" ./cmd/buttonup)
npm install --prefix "$work" --no-audit --no-fund --silent "lighthouse@$version"
port=8797
"$work/buttonup" serve --demo --data "$work/data" --addr "127.0.0.1:$port" >"$work/log" 2>&1 &
server=$!
for _ in $(seq 100); do (exec 3<>"/dev/tcp/127.0.0.1/$port") 2>/dev/null && break; sleep 0.2; done
export CHROME_PATH=${BUTTONUP_CHROMIUM:-/usr/bin/chromium}
echo "| page | performance | accessibility | best practices | first paint | largest paint | blocking | shift | weight |"
echo "|---|---|---|---|---|---|---|---|---|"
for page in / /job/0412 "/job/0415/read/bore?place=front" /job/0412/do/carrier_on/front /job/0412/wrench/head_nuts/front /job/0415/numbers; do
  measured=
  for _ in 1 2 3; do # now and then a trace has no beginning, and Lighthouse asks to be run again
    if (cd "$work" && npx lighthouse "http://127.0.0.1:$port$page" --quiet --chrome-flags="--headless=new --no-sandbox" --only-categories=performance,accessibility,best-practices --output=json --output-path="$work/one.json" >/dev/null); then measured=1; break; fi
  done
  [ -n "$measured" ] || { echo "$page was not measured" >&2; exit 1; }
  node -e '
    const r = JSON.parse(require("fs").readFileSync(process.argv[1])), c = r.categories, a = r.audits;
    const share = (k) => Math.round(100 * c[k].score), says = (k) => a[k].displayValue;
    console.log("| " + [process.argv[2], share("performance"), share("accessibility"), share("best-practices"), says("first-contentful-paint"), says("largest-contentful-paint"), says("total-blocking-time"), says("cumulative-layout-shift"), says("total-byte-weight").replace("Total size was ", "")].join(" | ") + " |");
  ' "$work/one.json" "\`$page\`"
done
