"""Heat of setting stone in a mould: radial conduction through stone | rubber | acrylic tray.

    rho c dT/dt = (1/r) d/dr(r k dT/dr) + q dalpha/dt      (source in the stone only)
    alpha = 0.95 {1 - exp[-(K (t - 180 s))^3]} after 180 s, else 0;   K fixed by alpha(600 s) = 0.4 * 0.95

dT/dr = 0 at r = 0; T and the flux are continuous at the interfaces; the tray loses h (T - 23 C), h = 8 W/m2K.  All at
23 C at t = 0.  Core radius 4 or 8 mm; rubber 3 mm, k 0.25 W/mK, rho c 1400*1300; tray 2 mm, k 0.2, rho c 1180*1460.

Stone: W/P 0.23 of hemihydrate 2757 kg/m3 and water 997.54 kg/m3 at ideal volumes, so 1685.54 kg of hemihydrate and
2073.2 kg of slurry in a cubic metre; 118 kJ per kg of hemihydrate at alpha = 1; c is the mass mean of 1090 (solid) and
4180 J/kgK (water), 1667.8 J/kgK; k 0.8 W/mK.

Finite volumes on equal cells in each layer, second order.  The source is a known function of time, so the system is
linear; solve_ivp, BDF with the exact Jacobian.  Prints JSON: alpha, the wall temperature and the mean temperature (by
volume) of rubber and tray at 4, 8, 12, 16, 24 and 36 min, extrapolated from two meshes, with the difference from the
next coarser pair as the error, and the balance of heat.
With --time it prints the best of five run times on a coarse mesh instead.
"""

import json
import sys
import time

import numpy as np
from scipy.integrate import solve_ivp
from scipy.sparse import bmat, diags

MINUTES = [4.0, 8.0, 12.0, 16.0, 24.0, 36.0]
INDUCTION, FINAL = 180.0, 0.95
RATE = (-np.log(0.6)) ** (1 / 3) / (600.0 - INDUCTION)
POWDER = 1.0 / (1 / 2757.0 + 0.23 / 997.54)  # kg of hemihydrate in a cubic metre of slurry
SLURRY_C = (1090.0 + 0.23 * 4180.0) / 1.23  # J/kgK
STONE = dict(k=0.8, rho_c=1.23 * POWDER * SLURRY_C)
RUBBER = dict(length=3e-3, k=0.25, rho_c=1400.0 * 1300.0)
TRAY = dict(length=2e-3, k=0.2, rho_c=1180.0 * 1460.0)
HEAT, H, AIR_C = 118e3, 8.0, 23.0


def alpha(t):
    return FINAL * -np.expm1(-((RATE * np.maximum(t - INDUCTION, 0.0)) ** 3))


def solve(core, n, rtol, stone=STONE):
    """Rows wall, rubber mean, tray mean, at MINUTES (C), and the error of the heat balance (J per metre of length)."""
    layers = [dict(length=core) | stone, RUBBER, TRAY]
    edges = np.concatenate([[0.0]] + [core_out + layer["length"] * np.arange(1, n + 1) / n for core_out, layer in
                                      zip((0.0, core, core + 3e-3), layers)])
    centre = 0.5 * (edges[1:] + edges[:-1])
    area = np.pi * np.diff(edges**2)
    k = np.repeat([layer["k"] for layer in layers], n)
    rho_c = np.repeat([layer["rho_c"] for layer in layers], n)
    # Exact conductances of cylindrical shells between centres and faces.
    outward = 2 * np.pi * k / np.log(edges[1:] / centre)
    inward = 2 * np.pi * k[1:] / np.log(centre[1:] / edges[1:-1])
    inner = outward[:-1] * inward / (outward[:-1] + inward)
    film = 2 * np.pi * edges[-1] * H
    loss = outward[-1] * film / (outward[-1] + film)
    capacity = rho_c * area
    a = diags([-(np.append(inner, loss) + np.insert(inner, 0, 0.0)), inner, inner], [0, 1, -1]).multiply(
        1 / capacity[:, None]).tocsr()
    power = np.where(np.arange(3 * n) < n, POWDER * HEAT / stone["rho_c"], 0.0)

    def derivative(t, y):
        u = y[:-1]
        alpha_rate = 3 * RATE**3 * np.maximum(t - INDUCTION, 0.0) ** 2 * (FINAL - alpha(t))
        return np.append(a @ u + power * alpha_rate, loss * u[-1])

    lost_row = np.zeros((1, 3 * n))
    lost_row[0, -1] = loss
    jacobian = bmat([[a, None], [lost_row, np.zeros((1, 1))]]).tocsc()
    run = solve_ivp(derivative, (0.0, 60 * MINUTES[-1]), np.zeros(3 * n + 1), method="BDF", rtol=rtol, atol=rtol,
                    jac=jacobian, t_eval=60 * np.array(MINUTES), first_step=1e-3, max_step=30.0)
    u = run.y[:-1]
    wall = (outward[n - 1] * u[n - 1] + inward[n - 1] * u[n]) / (outward[n - 1] + inward[n - 1])
    mean = lambda part: area[part] @ u[part] / area[part].sum()
    out = AIR_C + np.array([wall, mean(slice(n, 2 * n)), mean(slice(2 * n, 3 * n))])
    released = POWDER * HEAT * np.pi * core**2 * alpha(60 * np.array(MINUTES))
    return out, float(np.abs(released - capacity @ u - run.y[-1]).max())


def main():
    if "--time" in sys.argv:
        seconds = []
        for _ in range(5):
            start = time.perf_counter()
            solve(4e-3, 20, 1e-6)
            seconds.append(time.perf_counter() - start)
        print(json.dumps(dict(cells_per_layer=20, rtol=1e-6, seconds=min(seconds))))
        return
    report = dict(minutes=MINUTES, alpha=alpha(60 * np.array(MINUTES)).round(12).tolist(), powder_kg_m3=POWDER,
                  stone_k_w_mk=STONE["k"], stone_rho_c_j_m3k=STONE["rho_c"], rate_per_s=RATE)
    for core in (4e-3, 8e-3):
        runs = [solve(core, n, 1e-10) for n in (50, 100, 200)]
        first, best = (4 * runs[1][0] - runs[0][0]) / 3, (4 * runs[2][0] - runs[1][0]) / 3
        report[f"core_{core * 1e3:.0f}_mm"] = dict(
            wall_c=best[0].round(8).tolist(), rubber_mean_c=best[1].round(8).tolist(),
            tray_mean_c=best[2].round(8).tolist(), error_k=float(np.abs(best - first).max()),
            balance_error_j_m=runs[2][1],
        )
    print(json.dumps(report, indent=1))


if __name__ == "__main__":
    main()
