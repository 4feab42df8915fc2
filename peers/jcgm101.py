"""Exact or quadrature values for the examples of JCGM 101:2008, in place of its Monte Carlo results.

9.2.2  Y = X1+X2+X3+X4, each N(0, 1).
9.2.3  the same, each rectangular with sd 1.  P(Y > y) = (4h - y)^4 / (4! (2h)^4) near the end, h = sqrt 3.
9.2.4  three rectangular with sd 1, one with sd 10; the tail is E[(S - d)+]/(2 w), S the sum of three, w = 10 sqrt 3.
9.3    dm = (m_Rc + dm_Rc)[1 + (rho_a - 1.2)(1/rho_W - 1/rho_R)] - 1e5 mg, m_Rc N(1e5, 0.050), dm_Rc N(1.234, 0.020),
       rho_a U[1.10, 1.30], rho_W U[7000, 9000], rho_R U[7950, 8050] kg/m3.  Given the three densities Y is normal; the
       distribution is a Gauss-Legendre average of normal ones.
9.4    Y = X1^2 + X2^2, X1 N(x1, 0.005), X2 N(0, 0.005), correlation 0 or 0.9, unit 1e-6; integrated in
       principal axes.
ln x   y = ln x, x uniform on [0.1, 1.1].  The density e^y rises, so the shortest interval ends at ln 1.1.

Prints JSON: mean, standard deviation, half-width of the symmetric or ends of the shortest 95 % interval, the values
of the first- and second-order law of propagation where the guide gives them, and for the quadratures the change on
doubling the points.  An end of a shortest interval is known to about 1e-5 of its width, since the minimum is flat.
"""

import json

import numpy as np
from mpmath import erfinv, findroot, log, mp, mpf, nstr, sqrt
from scipy.optimize import brentq, minimize_scalar
from scipy.special import ndtr

mp.dps = 30
K95 = sqrt(2) * erfinv(mpf(95) / 100)


def text(value, digits=16):
    return nstr(value, digits)


def additive():
    h, w = sqrt(mpf(3)), 10 * sqrt(mpf(3))
    rectangular = 4 * h - 2 * h * (mpf(24) * mpf(25) / 1000) ** mpf("0.25")

    def tail(y):
        d = y - w
        terms = [(-1) ** k * c * max(3 * h - 2 * h * k - d, 0) ** 4 for k, c in enumerate((1, 3, 3, 1))]
        return sum(terms) / (24 * (2 * h) ** 3) / (2 * w)

    wide = findroot(lambda y: tail(y) - mpf(25) / 1000, mpf(17))
    return {
        "9.2.2": dict(sd=2.0, half_width_95=text(2 * K95)),
        "9.2.3": dict(sd=2.0, half_width_95=text(rectangular)),
        "9.2.4": dict(sd=text(sqrt(mpf(103))), half_width_95=text(wide), gum_half_width_95=text(K95 * sqrt(mpf(103)))),
    }


def shortest(cdf, low, high, floor=None):
    """Ends of the shortest interval with probability 0.95, for a density with one peak (or falling from `floor`)."""
    start = low if floor is None else floor
    last = brentq(lambda y: cdf(y) - 0.05, start, high, xtol=1e-15)
    upper = lambda a: brentq(lambda y: cdf(y) - cdf(a) - 0.95, a, high, xtol=1e-15)
    best = minimize_scalar(lambda a: upper(a) - a, bounds=(start, last), method="bounded", options=dict(xatol=1e-13))
    if floor is not None and upper(floor) - floor <= best.fun:
        return [floor, upper(floor)]
    return [float(best.x), upper(best.x)]


def mass():
    mean_m, var_m = mpf("100001.234"), mpf("0.05") ** 2 + mpf("0.02") ** 2
    reciprocal = lambda lo, hi: ((log(mpf(hi)) - log(mpf(lo))) / (hi - lo), 1 / mpf(lo) / hi)  # mean, mean square
    (w1, w2), (r1, r2) = reciprocal(7000, 9000), reciprocal(7950, 8050)
    spread = mpf("0.2") ** 2 / 12 * (w2 - 2 * w1 * r1 + r2)
    var = (mean_m**2 + var_m) * spread + var_m
    # The second-order law adds the squared mixed derivatives with rho_a times the variances.
    second = var_m + mpf("100001.234") ** 2 * mpf("0.2") ** 2 / 12 * (
        (mpf(2000) ** 2 / 12) / mpf(8000) ** 4 + (mpf(100) ** 2 / 12) / mpf(8000) ** 4)

    def interval(points):
        x, weight = np.polynomial.legendre.leggauss(points)
        a, w, r = np.meshgrid(0.1 * x, 8000 + 1000 * x, 8000 + 50 * x, indexing="ij")
        weights = np.einsum("i,j,k->ijk", weight, weight, weight) / 8
        factor = a * (1 / w - 1 / r)
        # About 1.234 mg; the sum of 1e5 and small terms would lose digits.
        centre, sd = 100001.234 * factor, float(sqrt(var_m)) * (1 + factor)
        cdf = lambda y: float((weights * ndtr((y - centre) / sd)).sum())
        half = brentq(lambda y: cdf(y) - cdf(-y) - 0.95, 0.0, 1.0, xtol=1e-15)
        return half, abs(cdf(0.0) - 0.5)

    half, skew = interval(24)
    half_2, _ = interval(48)
    return dict(
        mean=1.234, sd=text(sqrt(var)), first_order_sd=text(sqrt(var_m)), second_order_sd=text(sqrt(second)),
        shortest_95=[1.234 - half_2, 1.234 + half_2], change_on_doubling=abs(half_2 - half), asymmetry_of_cdf=skew,
        first_order_95=[text(mpf("1.234") + s * K95 * sqrt(var_m)) for s in (-1, 1)],
        second_order_95=[text(mpf("1.234") + s * K95 * sqrt(second)) for s in (-1, 1)],
    )


def comparison_loss(x1, r):
    """All in units of 1e-6."""
    u2 = 25.0
    lam = np.array([u2 * (1 + r), u2 * (1 - r)])
    centre = np.full(2, x1 * 1e3 / np.sqrt(2)) / np.sqrt(lam)

    def cdf_with(points):
        node, weight = np.polynomial.legendre.leggauss(points)
        angle, weight = 0.5 * np.pi * node, 0.5 * np.pi * weight

        def cdf(y):
            if y <= 0:
                return 0.0
            z2 = np.sqrt(y / lam[1]) * np.sin(angle)
            z1 = np.sqrt(y / lam[0]) * np.cos(angle)
            inner = ndtr(z1 - centre[0]) - ndtr(-z1 - centre[0])
            density = np.exp(-0.5 * (z2 - centre[1]) ** 2) / np.sqrt(2 * np.pi)
            return float((weight * np.sqrt(y / lam[1]) * np.cos(angle) * density * inner).sum())

        return cdf

    high = (x1 * 1e3 + 60.0) ** 2
    coarse, fine = (shortest(cdf_with(n), 0.0, high, floor=0.0) for n in (150, 300))
    x = x1 * 1e3
    return dict(
        x1=x1, r=r, mean=x * x + 2 * u2, sd=float(np.sqrt(2 * (lam**2).sum() + 4 * x * x * u2)),
        gum_mean=x * x, gum_sd=2 * x * 5.0, shortest_95=fine,
        change_on_doubling=float(np.abs(np.array(fine) - np.array(coarse)).max()),
    )


def logarithm():
    a, b = mpf("0.1"), mpf("1.1")
    first = lambda x: x * log(x) - x
    second = lambda x: x * log(x) ** 2 - 2 * first(x)
    mean = first(b) - first(a)
    sd = sqrt(second(b) - second(a) - mean**2)
    middle = mpf("0.6")
    return dict(mean=text(mean), sd=text(sd), shortest_95=[text(log(mpf("0.15"))), text(log(b))],
                gum_mean=text(log(middle)), gum_sd=text(1 / sqrt(mpf(12)) / middle))


def main():
    report = additive()
    report["9.3"] = mass()
    report["9.4_in_1e-6"] = [comparison_loss(x1, r) for r in (0.0, 0.9) for x1 in (0.0, 0.010, 0.050)]
    report["ln_x"] = logarithm()
    print(json.dumps(report, indent=1))


if __name__ == "__main__":
    main()
