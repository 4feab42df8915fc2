"""Heat conduction through tooth | mix | tray, coupled to the setting of the mix.

    rho c dT/dt = d/dx(k dT/dx) + rho H dalpha/dt        (source in the mix only)
    dalpha/dt   = g(I) [k1(T) + k2(T) alpha^m] (1 - alpha)^n
    dI/dt       = 1 / tau(T)                              (case B only; g = 0 for I < 1, 1 for I > 1)

k1, k2 and 1/tau follow exp[-(E/R)(1/T - 1/T_ref)].  T and the flux are continuous at both interfaces.  The left face
of the tooth is held at 37 C; the right face of the tray loses h (T - 32 C) with h = 10 W/m2K.

Finite volumes on equal cells in each layer, second order.  alpha is carried at every cell centre of the mix and at its
two faces, where T is the flux-consistent face value.  Time: solve_ivp, BDF.  The step g is written
(1 + tanh((I - 1)/w))/2; its error is of order w^2 and is removed, with the mesh error, by Richardson extrapolation.

Prints JSON: the time at which the slowest place of the mix reaches the target, where that is, and T and alpha at five
depths (fraction of the mix, 0 = tooth face) at five times, each with the estimated error.  Two checks are printed too:
the largest error against the exact three-layer solution without reaction, and the difference from a solution in the
reduced time theta = int exp[-(E/R)(1/T - 1/T_ref)] dt, possible because each case has a single E, which needs no
smoothed step.  With --time it prints the best of five run times on a coarse mesh instead.
"""

import json
import sys
import time

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import BarycentricInterpolator
from scipy.optimize import brentq
from scipy.sparse import bmat, coo_matrix, diags, identity

R = 8.31446261815324
ZERO_C = 273.15
TIMES = [60.0, 120.0, 180.0, 240.0, 300.0]
DEPTHS = [0.0, 0.025, 0.5, 0.975, 1.0]

TOOTH = dict(length=3e-3, k=0.9, rho_c=2100.0 * 1200.0)
TRAY = dict(length=2e-3, k=0.2, rho_c=1180.0 * 1460.0)
CASE_A = dict(
    mix=dict(length=3e-3, k=0.30, rho_c=1450.0 * 1300.0), rho=1450.0, start_c=(34.0, 23.0, 23.0),
    k1=1.0e-3, k2=1.8e-2, t_ref=298.15, e=50e3, m=0.9, n=1.4, heat=15e3, alpha_0=0.05, target=0.90, tau=None,
)
CASE_B = dict(
    mix=dict(length=4e-3, k=0.67, rho_c=1180.0 * 3200.0), rho=1180.0, start_c=(34.0, 21.0, 23.0),
    k1=3.1e-3, k2=9.3e-2, t_ref=296.15, e=47e3, m=1.0, n=2.0, heat=2e3, alpha_0=0.0, target=0.92, tau=100.0, i_0=0.45,
)


def conduction(layers, cells, left_c, h, air_c):
    """Matrix A and vector b of dT/dt = A T + b, and the rows that give T at the two faces of the middle layer."""
    width = np.concatenate([np.full(n, layer["length"] / n) for layer, n in zip(layers, cells)])
    k = np.concatenate([np.full(n, layer["k"]) for layer, n in zip(layers, cells)])
    rho_c = np.concatenate([np.full(n, layer["rho_c"]) for layer, n in zip(layers, cells)])
    half = 2 * k / width
    inner = half[:-1] * half[1:] / (half[:-1] + half[1:])
    left, right = half[0], half[-1] * h / (half[-1] + h)
    diagonal = -(np.append(left, inner) + np.append(inner, right))
    capacity = rho_c * width
    a = diags([diagonal, inner, inner], [0, 1, -1]).multiply(1 / capacity[:, None]).tocsr()
    b = np.zeros(len(width))
    b[0], b[-1] = left * (left_c + ZERO_C), right * (air_c + ZERO_C)
    faces = np.zeros((2, len(width)))
    for row, i in enumerate((cells[0], cells[0] + cells[1])):
        faces[row, [i - 1, i]] = half[[i - 1, i]] / (half[i - 1] + half[i])
    return a, b / capacity, faces


def at_depths(values, n):
    """Values at DEPTHS from the two faces and the n cell centres; local polynomials of degree five."""
    x = np.concatenate([[0.0], (np.arange(n) + 0.5) / n, [1.0]])
    out = []
    for depth in DEPTHS:
        i = int(np.clip(np.searchsorted(x, depth) - 3, 0, n - 4))
        out.append(float(BarycentricInterpolator(x[i : i + 6], values[i : i + 6])(depth)))
    return out


def solve(case, n, width, rtol):
    """One run with n cells in the mix.  Returns the time to the target, its depth, and {T, alpha} at TIMES x DEPTHS."""
    cells = (n, n, n)
    a, b, faces = conduction([TOOTH, case["mix"], TRAY], cells, 37.0, 10.0, 32.0)
    total, mix = sum(cells), slice(n, 2 * n)
    source = case["rho"] * case["heat"] / case["mix"]["rho_c"]
    face_rows = np.concatenate([[0], [n + 1]])
    induction = case["tau"] is not None

    def place_t(y):
        t_faces = faces @ y[:total]
        return np.concatenate([t_faces[:1], y[mix], t_faces[1:]])

    def rate(alpha, i, t):
        factor = np.exp(-case["e"] / R * (1 / t - 1 / case["t_ref"]))
        gate = 0.5 * (1 + np.tanh((i - 1) / width)) if induction else 1.0
        alpha = np.clip(alpha, 0.0, 1.0)
        cure = gate * factor * (case["k1"] + case["k2"] * alpha ** case["m"]) * (1 - alpha) ** case["n"]
        return cure, factor / case["tau"] if induction else None

    def derivative(_, y):
        alpha = y[total : total + n + 2]
        cure, i_rate = rate(alpha, y[total + n + 2 :], place_t(y))
        t_rate = a @ y[:total] + b
        t_rate[mix] += source * cure[1:-1]
        return np.concatenate([t_rate, cure] + ([i_rate] if induction else []))

    # Which temperatures each place sees: its own cell, or the two cells beside a face.
    seen = coo_matrix((np.ones(n), (np.arange(1, n + 1), np.arange(n, 2 * n))), shape=(n + 2, total)).tolil()
    seen[face_rows] = faces != 0
    inside = coo_matrix((np.ones(n), (np.arange(n, 2 * n), np.arange(1, n + 1))), shape=(total, n + 2))
    # Cure in a cell depends on its T, so the source couples a cell only to itself.
    rows = [[a != 0, inside], [seen, identity(n + 2)]]
    y_0 = np.concatenate([np.repeat(case["start_c"], n) + ZERO_C, np.full(n + 2, case["alpha_0"])])
    if induction:
        rows = [[a != 0, inside, inside], [seen, identity(n + 2), identity(n + 2)], [seen, None, identity(n + 2)]]
        y_0 = np.concatenate([y_0, np.full(n + 2, case["i_0"])])

    def set_everywhere(_, y):
        return y[total : total + n + 2].min() - case["target"]

    run = solve_ivp(derivative, (0.0, 900.0 if induction else 600.0), y_0, method="BDF", rtol=rtol, atol=rtol * 1e-2,
                    t_eval=TIMES, events=set_everywhere, jac_sparsity=bmat(rows).tocsr(), first_step=1e-6)
    y_set = run.y_events[0][0]
    alpha = y_set[total : total + n + 2]
    x = np.concatenate([[0.0], (np.arange(n) + 0.5) / n, [1.0]])
    return dict(
        t_set=float(run.t_events[0][0]), slowest=float(x[alpha.argmin()]),
        alpha_faces=[float(alpha[0]), float(alpha[-1])],
        t_c=[[v - ZERO_C for v in at_depths(place_t(y), n)] for y in run.y.T],
        alpha=[at_depths(y[total : total + n + 2], n) for y in run.y.T],
    )


def solve_reduced(case, n, rtol):
    """The same problem with the reduced time theta in place of alpha and I; alpha(theta) is one scalar equation."""
    onset = (1 - case["i_0"]) * case["tau"] if case["tau"] else 0.0
    speed = lambda alpha: (case["k1"] + case["k2"] * alpha ** case["m"]) * (1 - alpha) ** case["n"]
    curve = solve_ivp(lambda _, y: speed(y), (0.0, 2000.0), [case["alpha_0"]], method="DOP853", rtol=1e-13, atol=1e-15,
                      dense_output=True, max_step=2.0).sol
    alpha_of = lambda theta: np.where(theta > onset, curve(np.clip(theta - onset, 0.0, 2000.0))[0], case["alpha_0"])
    a, b, faces = conduction([TOOTH, case["mix"], TRAY], (n, n, n), 37.0, 10.0, 32.0)
    source = case["rho"] * case["heat"] / case["mix"]["rho_c"]

    def derivative(_, y):
        t_faces = faces @ y[: 3 * n]
        t = np.concatenate([t_faces[:1], y[n : 2 * n], t_faces[1:]])
        theta_rate = np.exp(-case["e"] / R * (1 / t - 1 / case["t_ref"]))
        theta = y[3 * n + 1 : 4 * n + 1]
        t_rate = a @ y[: 3 * n] + b
        t_rate[n : 2 * n] += source * np.where(theta > onset, speed(alpha_of(theta)), 0.0) * theta_rate[1:-1]
        return np.concatenate([t_rate, theta_rate])

    needed = onset + brentq(lambda s: curve(s)[0] - case["target"], 1.0, 2000.0, xtol=1e-12)
    event = lambda _, y: y[3 * n :].min() - needed
    seen = coo_matrix((np.ones(n), (np.arange(1, n + 1), np.arange(n, 2 * n))), shape=(n + 2, 3 * n)).tolil()
    seen[[0, n + 1]] = faces != 0
    inside = coo_matrix((np.ones(n), (np.arange(n, 2 * n), np.arange(1, n + 1))), shape=(3 * n, n + 2))
    y_0 = np.concatenate([np.repeat(case["start_c"], n) + ZERO_C, np.zeros(n + 2)])
    run = solve_ivp(derivative, (0.0, 600.0), y_0, method="BDF", rtol=rtol, atol=rtol, events=event, t_eval=TIMES,
                    jac_sparsity=bmat([[a != 0, inside], [seen, None]]).tocsr(), first_step=1e-6, max_step=1.0)
    return dict(t_set=float(run.t_events[0][0]), t_c=[[0.0] * len(DEPTHS)] * len(TIMES),
                alpha=[at_depths(alpha_of(y[3 * n :]), n) for y in run.y.T])


def extrapolate(coarse, fine):
    """Second-order Richardson extrapolation, field by field, for a mesh or a step width halved."""
    return {key: (4 * np.array(fine[key]) - np.array(coarse[key])) / 3 for key in ("t_set", "t_c", "alpha")}


def refined(case, meshes, widths, rtol):
    runs = [solve(case, n, w, rtol) for n, w in zip(meshes, widths)]
    first, best = extrapolate(runs[0], runs[1]), extrapolate(runs[1], runs[2])
    error = {key: float(np.max(np.abs(best[key] - first[key]))) for key in best}
    fine = runs[2]
    return dict(
        t_set_s=float(best["t_set"]), t_set_error_s=error["t_set"], slowest_depth_fraction=fine["slowest"],
        alpha_at_faces_when_set=fine["alpha_faces"], depth_fractions=DEPTHS, times_s=TIMES,
        t_c=best["t_c"].round(8).tolist(), t_error_k=error["t_c"],
        alpha=best["alpha"].round(9).tolist(), alpha_error=error["alpha"],
        t_set_by_mesh_s=[run["t_set"] for run in runs], cells_in_mix=list(meshes),
    )


def composite_error(n):
    """Largest error (K) against the exact Laplace solution of the three layers without reaction, at the tooth face."""
    exact = {5: 29.46480498417, 30: 31.47049191296, 60: 32.8340557725, 120: 34.38871142219, 300: 36.24733902309}
    layers = [TOOTH, dict(length=4e-3, k=0.5, rho_c=1150.0 * 3400.0), TRAY]
    found = []
    for cells in (n, 2 * n):
        a, b, faces = conduction(layers, (cells,) * 3, 37.0, 8.0, 30.0)
        y_0 = np.repeat([35.0, 23.0, 23.0], cells) + ZERO_C
        run = solve_ivp(lambda _, y: a @ y + b, (0.0, 300.0), y_0, method="BDF", rtol=1e-10, atol=1e-9,
                        jac=a, t_eval=list(exact), first_step=1e-6)
        found.append(faces[0] @ run.y - ZERO_C)
    return float(np.max(np.abs((4 * found[1] - found[0]) / 3 - np.array(list(exact.values())))))


def best_of_five(case, n, width, rtol):
    seconds = []
    for _ in range(5):
        start = time.perf_counter()
        solve(case, n, width, rtol)
        seconds.append(time.perf_counter() - start)
    return min(seconds)


def main():
    if "--time" in sys.argv:
        print(json.dumps(dict(
            cells_per_layer=20, rtol=1e-6,
            a_seconds=best_of_five(CASE_A, 20, None, 1e-6), b_seconds=best_of_five(CASE_B, 20, 0.02, 1e-6),
        ), indent=1))
        return
    meshes, widths = (60, 120, 240), (0.01, 0.005, 0.0025)
    report = {}
    for name, case in (("a", CASE_A), ("b", CASE_B)):
        report[name] = refined(case, meshes, widths, 1e-10)
        other = extrapolate(solve_reduced(case, 120, 1e-10), solve_reduced(case, 240, 1e-10))
        report[name]["t_set_from_reduced_time_s"] = float(other["t_set"])
        gap = abs(report[name]["t_set_s"] - float(other["t_set"]))
        report[name]["t_set_error_s"] = max(report[name]["t_set_error_s"], gap)
        report[name]["alpha_difference_from_reduced_time"] = float(
            np.max(np.abs(other["alpha"] - np.array(report[name]["alpha"]))))
    report["b_alpha_0_0.05_t_set_s"] = refined(CASE_B | dict(alpha_0=0.05), meshes, widths, 1e-10)["t_set_s"]
    report["composite_error_k"] = composite_error(120)
    print(json.dumps(report, indent=1))


if __name__ == "__main__":
    main()
