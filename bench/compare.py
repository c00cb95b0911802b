"""Runs both sides in turn and writes what came out; bench/run.sh starts it.

    compare.py PROGRAM MODELS ROUNDS > result

PROGRAM is the measuring program in Go, MODELS the folder of the models.
"""
import json
import os
import statistics
import subprocess
import sys

program, models, rounds = sys.argv[1], sys.argv[2], int(sys.argv[3])
here = os.path.dirname(os.path.abspath(__file__))
missed = []


def run(*command):
    out = subprocess.run(command, stdout=subprocess.PIPE, check=True, text=True).stdout
    return json.loads(out.splitlines()[0])


def go(what, size=1, samples=10**6, workers=1):
    return run(program, "-test.run=^TestMeasure$", f"-what={what}", f"-model={models}/model-{size}.json", f"-samples={samples}", f"-workers={workers}")


def python(script, size, *arguments):
    return run(sys.executable, f"{here}/{script}", f"{models}/model-{size}.json", *map(str, arguments))


def shown(seconds):
    return f"{1e6 * seconds:.2f} us" if seconds < 1e-4 else f"{1e3 * seconds:.2f} ms" if seconds < 0.1 else f"{seconds:.3f} s"


def compare(title, goal, peer, ours, check, clock):
    """Peer, ours, peer, ours in every round; the quicker of the two of each counts."""
    print(f"\n{title}")
    theirs, own, ratios = [], [], []
    for r in range(rounds):
        scaling = go("quiet")["scaling"]
        a, b, c, d = peer(), ours(), peer(), ours()
        worst = check(a, b)
        x, y = min(a[clock], c[clock]), min(b[clock], d[clock])
        theirs.append(x)
        own.append(y)
        ratios.append(x / y)
        noise = "" if scaling >= 1.8 else f"   noisy: two cores did {scaling:.2f} times the work of one"
        print(f"  round {r + 1}: peer {shown(x)}, ours {shown(y)}, ratio {x / y:.1f}; {worst}{noise}")
    ratio = statistics.median(ratios)
    met = ratio >= goal and min(ratios) >= 0.8 * goal
    print(f"  median peer {shown(statistics.median(theirs))} ({shown(min(theirs))} to {shown(max(theirs))}), ours {shown(statistics.median(own))} ({shown(min(own))} to {shown(max(own))})")
    print(f"  median ratio {ratio:.1f}, worst round {min(ratios):.1f}, goal {goal}: {'met' if met else 'MISSED'}")
    if not met:
        missed.append(title)


def same(a, b):
    worst = max(abs(x / y - 1) for key in ("value", "standard") for x, y in zip(a[key], b[key]))
    if worst > 1e-12:
        missed.append(f"equal to 1e-12: {worst}")
    return f"values and standard uncertainties differ by {worst:.1e} at most"


def near(a, b):
    # Both ends scatter; 4.5 times √2·√(p(1 − p)/n)/f, with f of a normal distribution,
    # is 1.2 % of the half-width. Bounded shapes have steeper ends and scatter less.
    worst = max(abs(x - y) / (p[1] - p[0]) * 2 for p, q in zip(a["ends"], b["ends"]) for x, y in zip(p, q))
    if worst > 0.012:
        missed.append(f"end points within 1.2 %: {worst}")
    return f"end points differ by {100 * worst:.2f} % of the half-width at most"


compare("First order, 20 outputs of 400 inputs and 300 quantities, against python3-uncertainties, processor time", 400,
        lambda: python("first_order.py", 1, 50, "all"), lambda: go("first"), same, "processor")
compare("The same, uncertainties computes only what the outputs need, as ours does", 400,
        lambda: python("first_order.py", 1, 50, "needed"), lambda: go("first"), same, "processor")
compare("Monte Carlo, 10^6 samples of it, one core: numpy computes all 300 quantities in blocks, processor time", 4,
        lambda: python("monte_carlo.py", 1, 10**6, "all", 1), lambda: go("monte"), near, "processor")
compare("The same, numpy computes only what the outputs need, as ours does", 4,
        lambda: python("monte_carlo.py", 1, 10**6, "needed", 1), lambda: go("monte"), near, "processor")
compare("The same on two cores, by the wall: all quantities", 4,
        lambda: python("monte_carlo.py", 1, 10**6, "all", 2), lambda: go("monte", workers=2), near, "seconds")
compare("The same on two cores, by the wall: only what is needed", 4,
        lambda: python("monte_carlo.py", 1, 10**6, "needed", 2), lambda: go("monte", workers=2), near, "seconds")

def over(a, b):
    """The peer sees a tenth of a degree, ours the curves between."""
    above = max(y - x for x, y in zip(a["gap"], b["gap"]))
    below = max(x - y for x, y in zip(a["gap"], b["gap"]))
    before = sum(x < 0 for x in b["angle"]) / len(b["angle"])
    if above > 1e-6 or below > 1e-3:
        missed.append(f"gaps: {above} mm above the sweep, {below} mm below")
    return f"at most {above:.1e} mm above and {below:.1e} mm below the sweep, {100 * before:.0f} % before the top"


def case(name):
    def peer():
        return run(sys.executable, f"{here}/gap.py", f"{models}/gaps.json", name)

    def ours():
        return run(program, "-test.run=^TestMeasure$", "-what=gap", f"-model={models}/gaps.json", f"-case={name}")

    compare(f"Smallest gap of valve and piston, 10,000 engines of four valves, case \"{name}\", against numpy, one core, processor time", 200, peer, ours, over, "processor")


for name in ("clear", "tight", "two minima"):
    case(name)

print("\nGrowth, processor time, the quickest of the rounds; twice the inputs, quantities and outputs may take 2.2 times as long")
for what in ("first", "monte"):
    took = [min(go(what, size)["processor"] for _ in range(rounds)) for size in (1, 2, 4)]
    steps = [took[1] / took[0], took[2] / took[1]]
    print(f"  {what}: {', '.join(map(shown, took))}: {steps[0]:.2f} and {steps[1]:.2f} times")
    if max(steps) > 2.2:
        missed.append(f"growth of {what}")

print("\nMemory, the peak of the process")
small, large = (go("monte", samples=n)["megabytes"] for n in (10**6, 16 * 10**6))
print(f"  10^6 samples {small:.0f} MB, 16 times as many {large:.0f} MB")
if large > 1.2 * small + 5:
    missed.append("memory flat in samples")

print("\n" + ("All goals are met." if not missed else "Missed: " + "; ".join(missed)))
sys.exit(bool(missed))
