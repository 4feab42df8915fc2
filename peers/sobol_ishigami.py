"""Sobol' indices of the Ishigami function by sampling, against the exact values.

    y = sin x1 + a sin^2 x2 + b x3^4 sin x1,   x uniform on [-pi, pi]^3,   a = 7, b = 0.1

First-order indices by the estimator of Saltelli et al. (2010), total indices by that of Jansen (1999), both from SALib,
on scrambled Sobol' points (Saltelli's scheme, no second-order block).  One scrambling can carry a bias that does not
shrink with N, so eight are averaged.

Prints JSON: the exact mean, variance and indices (closed forms), and for each N the mean of the estimates over the
scramblings, their standard deviation, and the largest error of the mean.
"""

import json

import numpy as np
from SALib.analyze import sobol as analyse
from SALib.sample import sobol as sample
from SALib.test_functions import Ishigami

A, B = 7.0, 0.1
PROBLEM = dict(num_vars=3, names=["x1", "x2", "x3"], bounds=[[-np.pi, np.pi]] * 3)


def exact():
    v1 = 0.5 * (1 + B * np.pi**4 / 5) ** 2
    v2 = A * A / 8
    v13 = B * B * np.pi**8 * 8 / 225
    v = v1 + v2 + v13
    return dict(mean=A / 2, variance=v, s1=[v1 / v, v2 / v, 0.0], s13=v13 / v, st=[(v1 + v13) / v, v2 / v, v13 / v])


def estimate(n, seed):
    x = sample.sample(PROBLEM, n, calc_second_order=False, scramble=True, seed=seed)
    found = analyse.analyze(PROBLEM, Ishigami.evaluate(x, A, B), calc_second_order=False, num_resamples=2, seed=seed)
    return np.array([found["S1"], found["ST"]])


def main():
    truth = exact()
    report = dict(exact=truth, estimates=[])
    for n in (2**10, 2**13, 2**16):
        found = np.array([estimate(n, seed) for seed in range(8)])
        mean, spread = found.mean(axis=0), found.std(axis=0, ddof=1)
        report["estimates"].append(dict(
            n=n, s1=mean[0].tolist(), st=mean[1].tolist(), s1_sd=spread[0].tolist(), st_sd=spread[1].tolist(),
            largest_error=float(np.abs(mean - np.array([truth["s1"], truth["st"]])).max()),
        ))
    print(json.dumps(report, indent=1))


if __name__ == "__main__":
    main()
