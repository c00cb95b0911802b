"""First-order propagation of a model with the package uncertainties.

    first_order.py MODEL ROUNDS FORM

FORM is "all" (every quantity, as the model stands) or "needed" (only what an output
needs).
Prints the median of the seconds of a round, from numbers with their standard deviations
to the standard deviations of the outputs, by the wall and of the processor, and those.
Formulas are compiled outside the clock.
"""
import json
import re
import statistics
import sys
import time

from uncertainties import ufloat, umath


def sq(x):
    return x * x


if __name__ == "__main__":
    with open(sys.argv[1]) as file:
        model = json.load(file)
    if sys.argv[3] == "needed":
        formulas = {q["name"]: q["formula"] for q in model["quantities"]}
        used, todo = set(), list(model["outputs"])
        while todo:
            name = todo.pop()
            if name not in used:
                used.add(name)
                todo += re.findall(r"\b[xq]\d+\b", formulas.get(name, ""))
        for key in ("inputs", "quantities"):
            model[key] = [x for x in model[key] if x["name"] in used]
    lines = ["def f(given):", " " + ", ".join(i["name"] for i in model["inputs"]) + " = given"]
    lines += [f" {q['name']} = {q['formula']}" for q in model["quantities"]]
    lines.append(" return [" + ", ".join(model["outputs"]) + "]")
    scope = {"sqrt": umath.sqrt, "sq": sq}
    exec("\n".join(lines), scope)
    f = scope["f"]
    took, used = [], []
    for _ in range(int(sys.argv[2])):
        began, before = time.perf_counter(), time.process_time()
        y = f([ufloat(i["mean"], i["standard"]) for i in model["inputs"]])
        standard = [x.std_dev for x in y]
        used.append(time.process_time() - before)
        took.append(time.perf_counter() - began)
    print(json.dumps({
        "seconds": statistics.median(took), "processor": statistics.median(used),
        "standard": standard, "value": [x.nominal_value for x in y],
    }))
