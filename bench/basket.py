"""Measures the baskets of parts/basket beside CBC, GLPK and HiGHS; bench/basket.sh
starts it.

    basket.py PROGRAM FOLDER SEEDS LIMIT > result

PROGRAM is the test program of parts/basket, FOLDER room for the models, SEEDS how many
of each family, LIMIT the seconds that a peer may take: one that takes longer counts as
LIMIT, and as not proven. CBC and GLPK read the model inside the clock, ours and HiGHS
have it in memory.
"""
import json
import math
import os
import re
import subprocess
import sys
import time

program, folder, seeds, limit = sys.argv[1], sys.argv[2], int(sys.argv[3]), float(sys.argv[4])
here = os.path.dirname(os.path.abspath(__file__))
missed = []


def timed(*command):
    start = time.perf_counter()
    out = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True).stdout
    return out, time.perf_counter() - start


def cbc(name):
    out, seconds = timed("cbc", name + ".lp", "ratio", "0", "allow", "0", "sec", str(limit), "solve", "quit")
    found = re.search(r"Optimal solution found\s+Objective value:\s+([0-9.]+)", out)
    return (round(float(found[1])) if found else "infeasible" if "infeasible" in out else None), seconds


def glpk(name):
    out, seconds = timed("glpsol", "--lp", name + ".lp", "--cuts", "--tmlim", str(int(limit)), "-o", name + ".txt")
    said = open(name + ".txt").read() if os.path.exists(name + ".txt") else ""
    found = re.search(r"INTEGER OPTIMAL\s+Objective:\s+obj = ([0-9.e+]+)", said)
    return (round(float(found[1])) if found else "infeasible" if "NO PRIMAL FEASIBLE" in out or "NO INTEGER FEASIBLE" in out else None), seconds


def highs(name):
    out, _ = timed(sys.executable, f"{here}/basket_milp.py", name + ".json", str(limit))
    answer = json.loads(out.splitlines()[-1])
    return (answer["total"] if answer["status"] == 0 else "infeasible" if answer["status"] == 2 else None), answer["seconds"]


def family(name, count, ours_at_most=None, ratio_at_least=None):
    print(f"\n{name}")
    ratios, slowest = [], 0.0
    for seed in range(1, count + 1):
        subprocess.run([program, "-test.run=^TestWrite$", f"-write={folder}", f"-family={name}", f"-seed={seed}"], check=True, stdout=subprocess.PIPE)
        path = f"{folder}/{name}-{seed}"
        ours = json.load(open(path + ".ours"))
        mine = "infeasible" if ours["Status"] == "infeasible" else ours["Total"] if ours["Status"] == "optimal" else None
        slowest = max(slowest, ours["Seconds"])
        line, best = [], math.inf
        if ratio_at_least is not None:
            for peer in (cbc, glpk, highs):
                total, seconds = peer(path)
                line.append(f"{peer.__name__} {seconds:.3f} s" + ("" if total is not None else " (not proven)"))
                best = min(best, seconds)
                if total is not None and mine is not None and total != mine:
                    missed.append(f"{name} {seed}: {peer.__name__} says {total}, we say {mine}")
            ratios.append(best / ours["Seconds"])
            line.append(f"ratio {ratios[-1]:.1f}")
        if mine is None:
            missed.append(f"{name} {seed}: no proof")
        print(f"  {seed}: {mine}, {ours['Reasons'] or ''}{' reasons, ' if ours['Reasons'] else ''}{ours['Steps']} nodes, ours {1e3 * ours['Seconds']:.2f} ms; {', '.join(line)}", flush=True)
        for ending in (".lp", ".json", ".ours", ".txt"):
            if os.path.exists(path + ending):
                os.remove(path + ending)
    print(f"  slowest of ours {1e3 * slowest:.1f} ms")
    if ours_at_most is not None and slowest > ours_at_most:
        missed.append(f"{name}: {1e3 * slowest:.1f} ms, at most {1e3 * ours_at_most:.0f} ms allowed")
    if ratios:
        mean = math.exp(sum(map(math.log, ratios)) / len(ratios))
        print(f"  geometric mean against the fastest of the three {mean:.1f}, worst {min(ratios):.1f}")
        if mean < ratio_at_least or min(ratios) < 1:
            missed.append(f"{name}: mean ratio {mean:.1f}, worst {min(ratios):.1f}; wanted {ratio_at_least} and never below 1")


family("shop", seeds, ours_at_most=0.020, ratio_at_least=0)
family("sparse", seeds, ratio_at_least=10)
family("free", seeds, ratio_at_least=10)
family("dense", seeds, ratio_at_least=10)
family("many", seeds, ratio_at_least=10)
family("impossible", seeds, ratio_at_least=0)
family("large", min(seeds, 3), ours_at_most=1)
for what in missed:
    print("MISSED", what)
sys.exit(bool(missed))
