"""References for the Monte Carlo of package formula, made once.

    make.py > references.json
    make.py 1 > one lot of 10^6 only, for a test that runs it

Samples every model of models.json 10^8 times with a generator that has nothing in
common with the program's: numpy's Philox 4x64, a counter that is enciphered, with
numpy's own way to each shape. The random numbers of model k come from the seed
20261125 + k. The quantiles are those of all samples, sorted. "sd" is the standard
deviation of the quantile of 10^6 samples, from 100 lots of them, so that of the
reference itself is a tenth of it.
"""
import json
import os
import sys

import numpy as np

LOTS, LOT, BLOCK = int(sys.argv[1]) if len(sys.argv) > 1 else 100, 10**6, 10**5
PROBABILITIES = [0.005, 0.025, 0.975, 0.995]
SEED = 20261125


def draw(g, shape, value, u, n):
    if shape == "normal":
        return g.normal(value, u, n)
    if shape == "rectangular":
        h = u * 3**0.5
        return g.uniform(value - h, value + h, n)
    if shape == "triangular":
        h = u * 6**0.5
        return g.triangular(value - h, value, value + h, n)
    if shape == "arcsine":
        return value + u * 2**0.5 * np.cos(g.uniform(0, np.pi, n))
    raise ValueError(shape)


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    with open(os.path.join(here, "models.json")) as file:
        models = json.load(file)
    out = {"generator": "numpy Philox 4x64", "numpy": np.__version__, "seed": SEED, "samples": LOTS * LOT, "models": []}
    for k, m in enumerate(models):
        g = np.random.Generator(np.random.Philox(SEED + k))
        code = compile(m["formula"], m["name"], "eval")
        y = np.empty(LOTS * LOT)
        lots = []
        for lot in range(LOTS):
            for at in range(lot * LOT, (lot + 1) * LOT, BLOCK):
                scope = {i["name"]: draw(g, i["shape"], i["value"], i["standard"], BLOCK) for i in m["inputs"]}
                y[at : at + BLOCK] = eval(code, {"max": np.maximum}, scope)
            lots.append(np.quantile(y[lot * LOT : (lot + 1) * LOT], PROBABILITIES))
        sd = np.std(lots, axis=0, ddof=1) if LOTS > 1 else np.zeros(len(PROBABILITIES))
        mean, standard = y.mean(), y.std(ddof=1)
        quantiles = np.quantile(y, PROBABILITIES, overwrite_input=True)
        out["models"].append({
            "name": m["name"], "mean": mean, "standard": standard,
            "quantiles": [{"probability": p, "value": q, "sd": s} for p, q, s in zip(PROBABILITIES, quantiles, sd)],
        })
        print(m["name"], file=sys.stderr)
    json.dump(out, sys.stdout, indent=1)
    print()


if __name__ == "__main__":
    main()
