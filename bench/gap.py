"""The smallest gap between valve and piston, by numpy, one valve at a time.

    gap.py CASES NAME

Looks at every tenth of a degree of the whole cycle. The lift curve is scipy's periodic
cubic spline; sine and cosine of the steps are taken once. One valve at a time is the
quickest form: several at once leave the cache. Prints the seconds, by the wall and of the
processor, and the gaps. Reading the file and making the spline are outside the clock.
"""
import json
import sys
import time

import numpy
from scipy.interpolate import CubicSpline

STEP = 0.1

if __name__ == "__main__":
    with open(sys.argv[1]) as file:
        case = next(c for c in json.load(file) if c["name"] == sys.argv[2])
    angle, lift = numpy.array(case["angle"] + [case["angle"][0] + 720]), numpy.array(case["lift"] + [case["lift"][0]])
    spline = CubicSpline(angle, lift, bc_type="periodic")
    phi = numpy.linspace(-360, 360, int(720 / STEP) + 1)
    began, before = time.perf_counter(), time.process_time()
    sine, cosine = numpy.sin(numpy.radians(phi)), numpy.cos(numpy.radians(phi))
    gaps, places = [], []
    for v in case["valve"]:
        r, l, d = v["Stroke"] / 2, v["Rod"], v["Offset"]
        top = numpy.arcsin(d / (l + r))  # the piston's top, the zero of the wheel
        s = sine * numpy.cos(top) + cosine * numpy.sin(top)
        c = cosine * numpy.cos(top) - sine * numpy.sin(top)
        x = numpy.sqrt((l + r) ** 2 - d * d) - r * c - numpy.sqrt(l * l - (r * s - d) ** 2)
        y = numpy.maximum(v["Ratio"] * spline(phi - v["Peak"]) - v["Lash"], 0)
        gap = v["Closed"] + numpy.cos(numpy.radians(v["Inclination"])) * x - y
        at = int(gap.argmin())
        gaps.append(float(gap[at]))
        places.append(float(phi[at]))
    print(json.dumps({"seconds": time.perf_counter() - began, "processor": time.process_time() - before, "gap": gaps, "angle": places}))
