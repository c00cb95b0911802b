#!/bin/bash
# Measures the best baskets against CBC, GLPK and HiGHS and keeps the result in
# bench/results. SEEDS=10 problems a family, a peer gets LIMIT=60 seconds.
set -eu -o pipefail
cd "$(dirname "$0")/.."
unset OPENBLAS_CORETYPE OPENBLAS_L2_SIZE
python=
for p in /usr/bin/python3 python3; do
	if command -v "$p" >/dev/null && "$p" -c 'from scipy.optimize import milp' 2>/dev/null; then python=$p; break; fi
done
if [ -z "$python" ] || ! command -v cbc >/dev/null || ! command -v glpsol >/dev/null; then
	echo 'The benchmark compares with CBC, GLPK and HiGHS, and not all are here; install the Debian packages coinor-cbc, glpk-utils and python3-scipy.' >&2
	exit 1
fi
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
go test -c -o "$folder/basket.test" ./parts/basket
mkdir -p bench/results
result=bench/results/basket-$(date +%F).txt
{
	date +%F
	go version
	"$python" -c 'import platform, scipy; print("Python", platform.python_version(), "scipy", scipy.__version__)'
	grep -m1 'model name' /proc/cpuinfo 2>/dev/null || uname -m
	echo "$(nproc 2>/dev/null || echo '?') cores, load $(cut -d' ' -f1-3 /proc/loadavg 2>/dev/null || echo '?'); built with plain go test -c"
} >"$folder/result"
code=0
"$python" bench/basket.py "$folder/basket.test" "$folder" "${SEEDS:-10}" "${LIMIT:-60}" | tee -a "$folder/result" || code=$?
cp "$folder/result" "$result"
exit $code
