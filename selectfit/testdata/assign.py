"""Reads tables of whole-number costs (-1: may not be) and writes the least sum of each."""
import json
import sys

import numpy as np
from scipy.optimize import linear_sum_assignment

totals = []
for table in json.load(sys.stdin):
    cost = np.array(table, dtype=float)
    cost[cost < 0] = np.inf
    rows, columns = linear_sum_assignment(cost)
    totals.append(sum(int(table[i][j]) for i, j in zip(rows, columns)))
json.dump(totals, sys.stdout)
