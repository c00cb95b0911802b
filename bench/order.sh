#!/bin/bash
# Measures the order of work against MiniZinc with Gecode and CBC and keeps the result
# in bench/results. ROUNDS=5 rounds of ours; each peer runs once, CAP=60 s at most.
set -eu -o pipefail
cd "$(dirname "$0")/.."
for program in minizinc cbc python3; do
	if ! command -v "$program" >/dev/null; then
		echo "The benchmark compares with minizinc and cbc and is driven by python3; install the Debian packages minizinc, coinor-cbc and python3." >&2
		exit 1
	fi
done
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
go test -c -o "$folder/sequence.test" ./route/sequence
mkdir -p bench/results
result=bench/results/order-$(date +%F).txt
{
	date +%F
	go version
	minizinc --version | sed -n 1p
	{ cbc -stop 2>/dev/null || true; } | sed -n 's/^Version: */CBC /p'
	grep -m1 'model name' /proc/cpuinfo 2>/dev/null || uname -m
	echo "$(nproc 2>/dev/null || echo '?') cores, load $(cut -d' ' -f1-3 /proc/loadavg 2>/dev/null || echo '?'); built with plain go test -c"
} >"$folder/result"
code=0
python3 bench/order.py "$folder/sequence.test" "${ROUNDS:-5}" "${CAP:-60}" >>"$folder/result" || code=$?
cp "$folder/result" "$result"
cat "$result"
exit $code
