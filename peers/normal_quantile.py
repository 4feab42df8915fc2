"""Quantiles of the standard normal distribution.

Solves Phi(z) = p for the p below with scipy.special.ndtri (double precision) and with mpmath to 40 digits, where p is
the double nearest to the decimal shown.  Prints JSON: per p, both values to 17 digits and their relative difference.
"""

import json

from mpmath import erfc, findroot, mp, mpf, nstr, sqrt
from scipy.special import ndtri

P = [1e-10, 1e-6, 0.001, 0.02425, 0.05, 0.25, 0.5, 0.75, 0.975, 0.999999]


def main():
    mp.dps = 40
    rows = []
    for p in P:
        z = float(ndtri(p))
        exact = mpf(0) if p == 0.5 else findroot(lambda x: erfc(-x / sqrt(2)) / 2 - mpf(p), mpf(z))
        rows.append(dict(p=p, ndtri=f"{z:.17g}", exact=nstr(exact, 17),
                         relative_difference=float(abs(z / exact - 1)) if exact else abs(z)))
    print(json.dumps(rows, indent=1))


if __name__ == "__main__":
    main()
