"""Solves an integer program written by parts/basket with HiGHS, through scipy.

    basket_milp.py FILE.json

Reading the file is outside the clock.
"""
import json
import sys
import time

import numpy
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix

model = json.load(open(sys.argv[1]))
n = len(model["Cost"])
rows = coo_matrix((model["Factor"], (model["Row"], model["Column"])), shape=(len(model["Lower"]), n)).tocsr()
lower, upper = numpy.array(model["Lower"]), numpy.array(model["Upper"])
lower[lower < -1e29], upper[upper > 1e29] = -numpy.inf, numpy.inf
start = time.perf_counter()
answer = milp(model["Cost"], constraints=LinearConstraint(rows, lower, upper), integrality=numpy.ones(n),
              bounds=Bounds(0, model["Most"]), options={"time_limit": float(sys.argv[2]) if len(sys.argv) > 2 else 120, "mip_rel_gap": 0})
seconds = time.perf_counter() - start
print(json.dumps({"status": answer.status, "total": None if answer.fun is None else round(answer.fun), "seconds": seconds}))
