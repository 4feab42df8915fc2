"""Drying of a slab of gel with one open face, with the cooling it causes.

    dc/dt = D d2c/dx2,  0 < x < L;   dc/dx = 0 at the tray (x = 0)
    -D dc/dx = J = h_m [a_w(c_s) rho_sat(T) - RH rho_sat(T_air)] at the open face;   a_w(c) = 1 - 0.01 c_0/c
    C dT/dt = (h + h_rad + h_tray)(T_air - T) - L_v(T) J,   C = gel 5 mm + acrylic tray 2 mm, one temperature

L 5 mm, D 1.3e-9 m2/s, c_0 = 0.83*1080 kg/m3, h_m = 5e-3 m/s (constant), h 5.5, h_rad 5.7, h_tray 8 W/m2K, start 33 C,
air 23 C, RH 0.5 and 0.3.  L_v is linear through 2446415.4 J/kg at 23 C and 2413145.0 J/kg at 37 C.  rho_sat is the
density of saturated steam of IAPWS-95 (CoolProp), replaced by a Chebyshev fit of its logarithm between 1 and 40 C.

Finite volumes on cells graded towards the open face, second order; the surface concentration solves a quadratic.
Time: solve_ivp, BDF.  Prints JSON: evaporated mass, temperature and surface concentration at 10, 30, 60 and 180 min,
extrapolated from two meshes, with the difference from the next coarser pair as the error; the closure of the water
balance; the largest error of the fit; and the evaporated mass with IAPWS-97 densities in place of IAPWS-95.
With --time it prints the best of five run times on a coarse mesh instead.
"""

import json
import sys
import time

import numpy as np
from CoolProp.CoolProp import PropsSI
from iapws import IAPWS97
from numpy.polynomial import Chebyshev
from scipy.integrate import solve_ivp
from scipy.sparse import lil_matrix

ZERO_C = 273.15
LENGTH, D, C_0 = 5e-3, 1.3e-9, 0.83 * 1080.0
H_M, H_SUM, AIR_C, START_C = 5e-3, 5.5 + 5.7 + 8.0, 23.0, 33.0
CAPACITY = 1080.0 * 3400.0 * 5e-3 + 1180.0 * 1460.0 * 2e-3
TIMES = [600.0, 1800.0, 3600.0, 10800.0]


def steam_95(t_c):
    return PropsSI("D", "T", t_c + ZERO_C, "Q", 1, "Water")


def steam_97(t_c):
    return IAPWS97(T=t_c + ZERO_C, x=1).rho


def log_fit(density):
    return Chebyshev.interpolate(lambda x: np.log([density(v) for v in np.atleast_1d(x)]), 14, domain=[1.0, 40.0])


def solve(n, rh, log_density, rtol):
    """Evaporated mass (kg/m2), temperature (C), surface concentration (kg/m3) at TIMES, and the water balance error."""
    edges = LENGTH * np.sin(np.linspace(0.0, np.pi / 2, n + 1))
    width = np.diff(edges)
    conductance = 2 * D / (width[:-1] + width[1:])
    g = 2 * D / width[-1]
    air = rh * np.exp(log_density(AIR_C))

    def surface(c_last, t_c):
        """c_s and J from g (c_last - c_s) = h_m [(1 - 0.01 c_0/c_s) rho_sat - rho_air], a quadratic in c_s."""
        sat = np.exp(log_density(t_c))
        q = c_last - H_M * (sat - air) / g
        c_s = 0.5 * (q + np.sqrt(q * q + 4 * H_M * sat * 0.01 * C_0 / g))
        return c_s, H_M * ((1 - 0.01 * C_0 / c_s) * sat - air)

    def derivative(_, y):
        c, t_c = y[:n], y[n]
        _, flux = surface(c[-1], t_c)
        inner = conductance * np.diff(c)
        latent = 2446415.4 + (2413145.0 - 2446415.4) * (t_c - 23.0) / 14.0
        c_rate = (np.append(inner, -flux) - np.insert(inner, 0, 0.0)) / width
        return np.concatenate([c_rate, [(H_SUM * (AIR_C - t_c) - latent * flux) / CAPACITY, flux]])

    pattern = lil_matrix((n + 2, n + 2))
    for i in range(n):
        pattern[i, max(i - 1, 0) : min(i + 2, n)] = 1
    pattern[n - 1 :, n - 1 : n + 1] = 1
    y_0 = np.concatenate([np.full(n, C_0), [START_C, 0.0]])
    scale = np.concatenate([np.full(n, C_0), [10.0, 0.1]])
    run = solve_ivp(derivative, (0.0, TIMES[-1]), y_0, method="BDF", rtol=rtol, atol=0.1 * rtol * scale, t_eval=TIMES,
                    jac_sparsity=pattern.tocsr(), first_step=1e-6)
    lost = ((C_0 - run.y[:n]) * width[:, None]).sum(axis=0)
    c_s = [surface(y[n - 1], y[n])[0] for y in run.y.T]
    return np.array([run.y[n + 1], run.y[n], c_s]), float(np.abs(lost - run.y[n + 1]).max())


def refined(rh, log_density, meshes=(100, 200, 400), rtol=1e-10):
    runs = [solve(n, rh, log_density, rtol) for n in meshes]
    first = (4 * runs[1][0] - runs[0][0]) / 3
    best = (4 * runs[2][0] - runs[1][0]) / 3
    return best, np.abs(best - first).max(axis=1), runs[2][1]


def main():
    fit_95 = log_fit(steam_95)
    if "--time" in sys.argv:
        seconds = []
        for _ in range(5):
            start = time.perf_counter()
            solve(40, 0.5, fit_95, 1e-6)
            seconds.append(time.perf_counter() - start)
        print(json.dumps(dict(cells=40, rtol=1e-6, seconds=min(seconds))))
        return
    fit_97 = log_fit(steam_97)
    points = np.linspace(2.0, 39.0, 75)
    report = dict(times_s=TIMES,
                  fit_error_relative=float(max(abs(np.exp(fit_95(t)) / steam_95(t) - 1) for t in points)),
                  difference_97_95_relative=float(max(abs(steam_97(t) / steam_95(t) - 1) for t in points)))
    for rh in (0.5, 0.3):
        best, error, balance = refined(rh, fit_95)
        report[f"rh_{rh}"] = dict(
            evaporated_kg_m2=best[0].round(12).tolist(), evaporated_error=float(error[0]),
            temperature_c=best[1].round(9).tolist(), temperature_error_k=float(error[1]),
            surface_kg_m3=best[2].round(7).tolist(), surface_error=float(error[2]), balance_error_kg_m2=balance,
            evaporated_iapws97_kg_m2=refined(rh, fit_97)[0][0].round(12).tolist(),
        )
    print(json.dumps(report, indent=1))


if __name__ == "__main__":
    main()
