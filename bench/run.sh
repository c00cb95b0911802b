#!/bin/bash
# Measures propagation of uncertainty against python3-uncertainties and numpy, both
# sides in one run, and keeps the result in bench/results. ROUNDS=5 rounds.
set -eu -o pipefail
cd "$(dirname "$0")/.."
unset OPENBLAS_CORETYPE OPENBLAS_L2_SIZE
python=
for p in /usr/bin/python3 python3; do
	if command -v "$p" >/dev/null && "$p" -c 'import numpy, scipy, uncertainties' 2>/dev/null; then python=$p; break; fi
done
if [ -z "$python" ]; then
	echo 'The benchmark compares with numpy, scipy and uncertainties, which are not here; install the Debian packages python3-numpy, python3-scipy and python3-uncertainties.' >&2
	exit 1
fi
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
go test -c -o "$folder/bench.test" ./bench
"$folder/bench.test" -test.run='^TestWriteModels$' -write="$folder" >/dev/null
mkdir -p bench/results
result=bench/results/$(date +%F).txt
{
	date +%F
	go version
	"$python" -c 'import platform, numpy, uncertainties; print("Python", platform.python_version(), "numpy", numpy.__version__, "uncertainties", uncertainties.__version__)'
	grep -m1 'model name' /proc/cpuinfo 2>/dev/null || uname -m
	echo "$(nproc 2>/dev/null || echo '?') cores, load $(cut -d' ' -f1-3 /proc/loadavg 2>/dev/null || echo '?'); built with plain go test -c"
	grep -m1 '^flags' /proc/cpuinfo 2>/dev/null | grep -o -w -e avx -e avx2 -e avx512f -e fma | tr '\n' ' '; echo
} >"$folder/result"
code=0
"$python" bench/compare.py "$folder/bench.test" "$folder" "${ROUNDS:-5}" >>"$folder/result" || code=$?
{
	echo
	echo 'One reading of the demo rebuild changed, everything judged again; 5 ms of 99 in 100 to first order, 25 ms with samples'
	go test ./assess -run '^$' -bench EditReading -benchtime 1034x | grep '^Benchmark'
} >>"$folder/result"
cp "$folder/result" "$result"
cat "$result"
exit $code
