"""Measures the order of work beside MiniZinc with Gecode and CBC; bench/order.sh starts it.

    order.py PROGRAM ROUNDS CAP > result

PROGRAM is the measuring program in Go, CAP how many seconds a peer may take.
"""
import json
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time

program, rounds, cap = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
here = os.path.dirname(os.path.abspath(__file__))
missed = []

# 30 operations: proven in 50 ms, and 1,000 times as quick as the quicker peer.
SMALL, SMALL_SEEDS, LIMIT, TIMES = 30, (1, 2, 3), 0.050, 1000
# 45 operations, a stretch: 10 s.
MIDDLE, MIDDLE_SEEDS, MIDDLE_LIMIT = 45, (1, 2, 4, 5), 10
# 300 operations in a second: within 3 % of the best known, 25 % below the greedy list.
LARGE, LARGE_MOVES, NEAR, BELOW = 300, 10_000_000, 0.03, 0.25


def go(what, size, seed, *more):
    out = subprocess.run([program, "-test.run=^TestMeasure$", f"-what={what}", f"-size={size}", f"-seed={seed}", *more], stdout=subprocess.PIPE, check=True, text=True).stdout
    return json.loads(out.splitlines()[0])


def minizinc(model):
    n = model["size"]
    rows = ",".join(str(c) for row in model["cost"] for c in row)
    most = max(max(row) for row in model["cost"])
    text = [f'include "alldifferent.mzn";\nint: n = {n};\narray[1..n,1..n] of int: d = array2d(1..n,1..n,[{rows}]);',
            "array[1..n] of var 1..n: o; array[1..n] of var 1..n: p;",
            "constraint alldifferent(o); constraint alldifferent(p); constraint forall(i in 1..n)(o[p[i]] = i);"]
    text += [f"constraint p[{a + 1}] < p[{b + 1}];" for b, list_ in enumerate(model["before"]) for a in list_ or []]
    text += [f"array[1..n-1] of var 0..{most}: c; constraint forall(i in 1..n-1)(c[i] = d[o[i],o[i+1]]);",
             f"var 0..{most * n}: z = sum(c);\nsolve :: int_search(o,first_fail,indomain_min) minimize z;", 'output ["z=\\(z)\\n"];']
    with tempfile.NamedTemporaryFile("w", suffix=".mzn", delete=False) as f:
        f.write("\n".join(text))
    began = time.monotonic()
    out = subprocess.run(["minizinc", "--solver", "gecode", "--time-limit", str(1000 * cap), f.name], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True).stdout
    seconds = time.monotonic() - began
    os.unlink(f.name)
    found = [int(x) for x in re.findall(r"z=(\d+)", out)]
    return {"cost": found[-1] if found else None, "proven": "==========" in out, "seconds": seconds}


def cbc(model):
    n, before = model["size"], [set(list_ or []) for list_ in model["before"]]
    after = [set() for _ in range(n)]  # all that come after, directly or not
    for _ in range(n):
        for b in range(n):
            for a in before[b]:
                after[a] |= {b} | after[b]
    arcs = [(a, b) for a in range(n) for b in range(n) if a != b and a not in after[b] and not any(b in after[m] for m in after[a])]
    text = ["Minimize\n obj: " + "\n + ".join(f"{model['cost'][a][b]} a{a}_{b}" for a, b in arcs), "Subject To"]
    for a in range(n):
        text.append(f" o{a}: " + "\n + ".join([f"a{x}_{y}" for x, y in arcs if x == a] + [f"e{a}"]) + " = 1")
        text.append(f" i{a}: " + "\n + ".join([f"a{x}_{y}" for x, y in arcs if y == a] + [f"s{a}"]) + " = 1")
    text.append(" S: " + " + ".join(f"s{a}" for a in range(n)) + " = 1\n E: " + " + ".join(f"e{a}" for a in range(n)) + " = 1")
    text += [f" m{a}_{b}: t{b} - t{a} - {n} a{a}_{b} >= {1 - n}" for a, b in arcs]
    text += [f" p{a}_{b}: t{b} - t{a} >= 1" for b in range(n) for a in before[b]]
    text.append("Bounds\n" + "\n".join(f" 0 <= t{a} <= {n - 1}" for a in range(n)))
    text.append("Binary\n" + "\n".join(f" a{a}_{b}" for a, b in arcs) + "\n" + "\n".join(f" s{a}\n e{a}" for a in range(n)) + "\nEnd\n")
    with tempfile.NamedTemporaryFile("w", suffix=".lp", delete=False) as f:
        f.write("\n".join(text))
    began = time.monotonic()
    out = subprocess.run(["cbc", f.name, "sec", str(cap), "solve"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True).stdout
    seconds = time.monotonic() - began
    os.unlink(f.name)
    found = re.search(r"Objective value:\s+([\d.]+)", out)
    return {"cost": round(float(found[1])) if found else None, "proven": "Result - Optimal solution found" in out, "seconds": seconds}


def shown(peer):
    return f"{peer['cost']}, {'proven' if peer['proven'] else 'not proven'}, {peer['seconds']:.1f} s"


def goal(name, ok):
    print(f"  {name}: {'met' if ok else 'MISSED'}")
    if not ok:
        missed.append(name)


def agree(size, seeds):
    """Every side proves the same least cost, where they all can."""
    print(f"\n{size} operations, all sides proven")
    for seed in seeds:
        model = go("models", size, seed)
        ours, a, b = go("solve", size, seed), minizinc(model), cbc(model)
        print(f"  seed {seed}: ours {ours['cost']} in {1e3 * ours['processor']:.1f} ms; MiniZinc/Gecode {shown(a)}; CBC {shown(b)}")
        proven = [x["cost"] for x in (a, b) if x["proven"]]
        if not ours["proven"] or not proven or any(c != ours["cost"] for c in proven):
            missed.append(f"equal least cost of {size} operations, seed {seed}")


def small():
    print(f"\n{SMALL} operations, proven; peers with plain, untuned models, {cap} s at most, one run each; ours the median of {rounds}")
    for seed in SMALL_SEEDS:
        model = go("models", SMALL, seed)
        runs = [go("solve", SMALL, seed) for _ in range(rounds)]
        ours = statistics.median(r["processor"] for r in runs)
        a, b = minizinc(model), cbc(model)
        theirs = min(x["seconds"] if x["proven"] else max(x["seconds"], cap) for x in (a, b))
        print(f"  seed {seed}: ours {runs[0]['cost']} in {1e3 * ours:.1f} ms; MiniZinc/Gecode {shown(a)}; CBC {shown(b)}; ratio {theirs / ours:.0f}")
        goal(f"seed {seed}, proven in {1e3 * LIMIT:.0f} ms", all(r["proven"] for r in runs) and ours <= LIMIT)
        goal(f"seed {seed}, {TIMES} times as quick", theirs / ours >= TIMES)
        for x in (a, b):
            if x["cost"] is not None and x["cost"] < runs[0]["cost"]:
                missed.append(f"a peer found less than what was proven, seed {seed}")


def middle():
    print(f"\n{MIDDLE} operations, proven; a stretch")
    for seed in MIDDLE_SEEDS:
        r = go("solve", MIDDLE, seed, "-moves=500000", "-states=6000000")
        print(f"  seed {seed}: {r['cost']}, bound {r['bound']}, {'proven' if r['proven'] else 'not proven'} in {r['processor']:.2f} s; {MIDDLE_LIMIT} s: {'reached' if r['proven'] and r['processor'] <= MIDDLE_LIMIT else 'not reached'}")


def large():
    print(f"\n{LARGE} operations in a second of one core")
    for line in open(f"{here}/order-best.txt"):
        if line.startswith("#"):
            continue
        size, seed, best = map(int, line.split()[:3])
        runs = [go("solve", size, seed, f"-moves={LARGE_MOVES}") for _ in range(rounds)]
        r, greedy, seconds = runs[0], go("greedy", size, seed)["cost"], statistics.median(x["processor"] for x in runs)
        print(f"  seed {seed}: {r['cost']} in {seconds:.2f} s, best known {best} ({100 * (r['cost'] / best - 1):+.1f} %), greedy list {greedy} ({100 * (1 - r['cost'] / greedy):.1f} % below), bound {r['bound']}")
        goal(f"seed {seed}, a second, within {100 * NEAR:.0f} % and {100 * BELOW:.0f} % below greedy", seconds <= 1 and r["cost"] <= (1 + NEAR) * best and r["cost"] <= (1 - BELOW) * greedy)
        if r["cost"] < best:
            print(f"  a new best: write {r['cost']} into bench/order-best.txt")


agree(12, (1, 2))
small()
middle()
large()
print("\nmissed: " + "; ".join(missed) if missed else "\nall goals met")
sys.exit(1 if missed else 0)
