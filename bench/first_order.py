"""First-order propagation of a model with the package uncertainties.

    first_order.py MODEL ROUNDS

Prints the least seconds of the rounds, from numbers with their standard deviations to
the standard deviations of the outputs, and those. Formulas are compiled outside the
clock.
"""
import json
import sys
import time

from uncertainties import ufloat, umath


def sq(x):
    return x * x


if __name__ == "__main__":
    with open(sys.argv[1]) as file:
        model = json.load(file)
    # The inputs come as arguments, and the body is the model as it stands.
    lines = ["def f(given):", " " + ", ".join(i["name"] for i in model["inputs"]) + " = given"]
    lines += [f" {q['name']} = {q['formula']}" for q in model["quantities"]]
    lines.append(" return [" + ", ".join(model["outputs"]) + "]")
    scope = {"sqrt": umath.sqrt, "sq": sq}
    exec("\n".join(lines), scope)
    f = scope["f"]
    best = float("inf")
    for _ in range(int(sys.argv[2])):
        began = time.perf_counter()
        y = f([ufloat(i["mean"], i["standard"]) for i in model["inputs"]])
        standard = [x.std_dev for x in y]
        best = min(best, time.perf_counter() - began)
    print(json.dumps({"seconds": best, "standard": standard, "value": [x.nominal_value for x in y]}))
