"""Reference numbers from general-purpose libraries, for the tests of the sums and the solver.

    python3 tests/reference/make.py            writes tests/reference/reference.json
    python3 tests/reference/make.py --check    compares a fresh run with the committed file

Needs scipy, numpy and CoolProp (pip install scipy numpy CoolProp). Nothing here shares code with the program: series are
summed with scipy's own Bessel functions and roots (brentq on the plain boundary condition), the limited bath is also solved
by finite differences in time, and brine comes from CoolProp. For the solver, what chains of stretches cost at least comes from
scipy's linear programming (HiGHS).
"""

import json
import math
import platform
import random
import sys
from pathlib import Path

import CoolProp
import numpy as np
import scipy
from CoolProp.CoolProp import PropsSI
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq, linprog
from scipy.special import erfcx, j0, j1, jn_zeros

HERE = Path(__file__).parent
TERMS = 400
KINDS = ["slab", "cylinder", "sphere"]


def biot_roots(kind, bi, n=TERMS):
    """Roots of the film condition, each between two neighbouring turning points of the plain equation."""
    out = []
    if kind == "slab":
        f = lambda q: q * math.sin(q) - bi * math.cos(q)
        edges = [i * math.pi for i in range(n + 1)]
    elif kind == "cylinder":
        f = lambda q: q * j1(q) - bi * j0(q)
        edges = [0.0] + list(jn_zeros(1, n))
    else:
        f = lambda q: (1 - bi) * math.sin(q) - q * math.cos(q)
        edges = [1e-7] + [i * math.pi for i in range(1, n + 1)]
    for a, b in zip(edges, edges[1:]):
        out.append(brentq(f, a, b, xtol=1e-14, rtol=1e-14, maxiter=300))
    return np.array(out)


def film(kind, bi, fo):
    q = biot_roots(kind, bi, 60)
    e = np.exp(-q * q * fo)
    if kind == "slab":
        a = 4 * np.sin(q) / (2 * q + np.sin(2 * q))
        return float((a * e).sum()), float((a * np.sin(q) / q * e).sum())
    if kind == "cylinder":
        a = 2 / q * j1(q) / (j0(q) ** 2 + j1(q) ** 2)
        return float((a * e).sum()), float((a * 2 * j1(q) / q * e).sum())
    a = 4 * (np.sin(q) - q * np.cos(q)) / (2 * q - np.sin(2 * q))
    return float((a * e).sum()), float((a * 3 * (np.sin(q) - q * np.cos(q)) / q**3 * e).sum())


def held(kind, fo):
    """Left at the centre and on average, surface held."""
    n = np.arange(1, TERMS + 1)
    if kind == "slab":
        q = (n - 0.5) * np.pi
        e = np.exp(-q * q * fo)
        return float((2 * (-1.0) ** (n - 1) / q * e).sum()), float((2 / q**2 * e).sum())
    if kind == "cylinder":
        q = jn_zeros(0, TERMS)
        e = np.exp(-q * q * fo)
        return float((2 / (q * j1(q)) * e).sum()), float((4 / q**2 * e).sum())
    q = n * np.pi
    e = np.exp(-q * q * fo)
    return float((2 * (-1.0) ** (n - 1) * e).sum()), float((6 / q**2 * e).sum())


def limited_by_lines(kind, alpha, times, cells=400):
    """Uptake over final uptake in a limited bath, by the method of lines: no series at all."""
    m = KINDS.index(kind)
    x = 1 - (1 - np.linspace(0, 1, cells + 1)) ** 2  # finer towards the surface
    mid = 0.5 * (x[1:] + x[:-1])
    vol = (x[1:] ** (m + 1) - x[:-1] ** (m + 1)) / (m + 1)
    area = x**m

    def rhs(_, y):
        c, s = y[:-1], y[-1]
        flux = np.zeros(cells + 1)
        flux[1:-1] = area[1:-1] * (c[1:] - c[:-1]) / (mid[1:] - mid[:-1])
        flux[-1] = area[-1] * (s - c[-1]) / (1 - mid[-1])
        return np.append((flux[1:] - flux[:-1]) / vol, -flux[-1] * (m + 1) / alpha)

    band = np.zeros((cells + 1, cells + 1))
    for i in range(cells + 1):
        band[i, max(0, i - 1) : i + 2] = 1
    y0 = np.append(np.zeros(cells), 1.0)
    sol = solve_ivp(rhs, (0, max(times)), y0, t_eval=times, method="BDF", rtol=1e-8, atol=1e-11, jac_sparsity=band)
    final = alpha / (1 + alpha)
    return [float((sol.y[:-1, i] * vol).sum() * (m + 1) / final) for i in range(len(times))]


def finite_cylinder_by_lines(alpha, ratio, times, nr=48, nz=48):
    """Uptake over final uptake, finite cylinder (half length / radius = ratio) in a limited bath; Fo on the radius."""
    grade = lambda n: 1 - (1 - np.linspace(0, 1, n + 1)) ** 1.6
    r, z = grade(nr), grade(nz) * ratio
    rm, zm = 0.5 * (r[1:] + r[:-1]), 0.5 * (z[1:] + z[:-1])
    vr, vz = (r[1:] ** 2 - r[:-1] ** 2) / 2, z[1:] - z[:-1]
    total = vr.sum() * vz.sum()

    def rhs(_, y):
        c, s = y[:-1].reshape(nr, nz), y[-1]
        fr = np.zeros((nr + 1, nz))
        fr[1:-1] = r[1:-1, None] * (c[1:] - c[:-1]) / (rm[1:] - rm[:-1])[:, None]
        fr[-1] = (s - c[-1]) / (1 - rm[-1])
        fz = np.zeros((nr, nz + 1))
        fz[:, 1:-1] = (c[:, 1:] - c[:, :-1]) / (zm[1:] - zm[:-1])
        fz[:, -1] = (s - c[:, -1]) / (ratio - zm[-1])
        d = (fr[1:] - fr[:-1]) / vr[:, None] + (fz[:, 1:] - fz[:, :-1]) / vz
        gain = (fr[-1] * vz).sum() + (fz[:, -1] * vr).sum()
        return np.append(d.ravel(), -gain / total / alpha)

    from scipy.sparse import lil_matrix

    n = nr * nz
    jac = lil_matrix((n + 1, n + 1))
    for i in range(nr):
        for j in range(nz):
            k = i * nz + j
            for di, dj in ((0, 0), (1, 0), (-1, 0), (0, 1), (0, -1)):
                a, b = i + di, j + dj
                if 0 <= a < nr and 0 <= b < nz:
                    jac[k, a * nz + b] = 1
            if i == nr - 1 or j == nz - 1:
                jac[k, n] = 1
                jac[n, k] = 1
    jac[n, n] = 1
    y0 = np.append(np.zeros(n), 1.0)
    sol = solve_ivp(rhs, (0, max(times)), y0, t_eval=times, method="BDF", rtol=1e-7, atol=1e-10, jac_sparsity=jac.tocsc())
    final = alpha / (1 + alpha)
    out = []
    for i in range(len(times)):
        c = sol.y[:-1, i].reshape(nr, nz)
        out.append({"fo": times[i], "uptake": float((c * vr[:, None] * vz).sum() / total / final), "core": float(c[0, 0] / final)})
    return out


def chain(seed):
    """Starts in windows, tied by lags, and what the stretches between them cost at least: a linear program over differences,
    whose best is whole (its matrix is totally unimodular). Rows of numbers as text: windows `from to`; lags `i j least`; terms
    `i j good over under`, `over` a minute longer than good and `under` a minute shorter."""
    rng = random.Random(seed)
    n = rng.randint(4, 16)
    at = [rng.randint(0, 20_000)]
    for _ in range(n - 1):
        at.append(at[-1] + rng.randint(200, 6_000))
    windows = [(max(0, a - rng.randint(0, 4_000)), a + rng.randint(0, 4_000)) for a in at]
    lags = []
    for i in range(n - 1):
        lags.append((i, i + 1, at[i + 1] - at[i] - rng.randint(0, 3_000)))
        lags.append((i + 1, i, at[i] - at[i + 1] - rng.randint(0, 3_000)))
    for _ in range(n // 3):
        i, j = sorted(rng.sample(range(n), 2))
        lags.append((i, j, at[j] - at[i] - rng.randint(0, 4_000)))
    terms = [(i, i + 1, rng.randint(200, 6_000), rng.randint(1, 3), rng.randint(0, 3)) for i in range(n - 1)]
    terms.append((0, n - 1, rng.randint(1_000, 5_000 * n), 2, 1))
    m = len(terms)
    rows, limits = [], []
    for i, j, least in lags:
        row = [0] * (n + 2 * m)
        row[i], row[j] = 1, -1
        rows.append(row)
        limits.append(-least)
    for k, (i, j, good, _, _) in enumerate(terms):
        for sign, column in ((1, n + 2 * k), (-1, n + 2 * k + 1)):
            row = [0] * (n + 2 * m)
            row[j], row[i], row[column] = sign, -sign, -1
            rows.append(row)
            limits.append(sign * good)
    costs = [0] * n + [w for t in terms for w in t[3:]]
    best = linprog(costs, rows, limits, bounds=windows + [(0, None)] * (2 * m), method="highs")
    assert best.success and abs(best.fun - round(best.fun)) < 1e-6
    text = lambda rows: ", ".join(" ".join(map(str, r)) for r in rows)
    return {"windows": text(windows), "lags": text(lags), "terms": text(terms), "least": round(best.fun)}


def build():
    fos = [0.002, 0.01, 0.03, 0.1, 0.3, 1.0]
    films = [
        {"kind": k, "bi": bi, "fo": fo, "centre": film(k, bi, fo)[0], "mean": film(k, bi, fo)[1]}
        for k in KINDS
        for bi in (0.05, 0.7, 3.0, 40.0)
        for fo in (0.05, 0.2, 1.0, 4.0)
    ]
    roots = [{"kind": k, "bi": bi, "roots": [float(q) for q in biot_roots(k, bi, 25)]} for k in KINDS for bi in (0.01, 1.0, 25.0)]
    profile = [50.0, 58.0, 64.0, 68.0, 70.0, 70.0, 66.0]
    line = lambda t: np.interp(t, np.arange(7) * 10.0, profile)
    lethal = quad(lambda t: 10 ** ((line(t) - 70) / 7.5), 0, 60, points=[10, 20, 30, 40, 50], epsabs=1e-12, epsrel=1e-12)[0]
    brine = [
        {"percent": p, "t": t, "density": PropsSI("D", "T", t + 273.15, "P", 101325, f"INCOMP::MNA[{p / 100}]")}
        for p in (1, 4, 8, 12, 16, 20, 22)
        for t in (2, 5, 10, 15, 20, 30, 40)
    ]
    water = [{"t": t, "density": PropsSI("D", "T", t + 273.15, "P", 101325, "Water")} for t in (1, 4, 10, 20, 40, 60, 90)]
    return {
        "command": "python3 tests/reference/make.py",
        "versions": {"python": platform.python_version(), "scipy": scipy.__version__, "numpy": np.__version__, "CoolProp": CoolProp.__version__},
        "held": [{"kind": k, "fo": fo, "centre": held(k, fo)[0], "mean": held(k, fo)[1]} for k in KINDS for fo in fos],
        "film": films,
        "film_roots": roots,
        "j0_zeros": [float(z) for z in jn_zeros(0, 200)[[0, 1, 9, 49, 199]]],
        "j1_zeros": [float(z) for z in jn_zeros(1, 200)[[0, 1, 9, 49, 199]]],
        "erfcx": [{"x": x, "y": float(erfcx(x))} for x in (0.0, 0.1, 1.0, 5.0, 19.9, 25.0, 300.0)],
        "limited": [
            {"kind": k, "alpha": a, "fo": fo, "uptake": u}
            for k in KINDS
            for a in (0.4, 1.7, 6.0)
            for fo, u in zip([0.005, 0.02, 0.1, 0.4], limited_by_lines(k, a, [0.005, 0.02, 0.1, 0.4]))
        ],
        "finite_cylinder": [{"alpha": a, "ratio": 1.4, "rows": finite_cylinder_by_lines(a, 1.4, [0.02, 0.06, 0.15, 0.4])} for a in (0.8, 1.7)],
        "lethality": {"temperatures": profile, "every": 10.0, "reference": 70.0, "z": 7.5, "minutes": lethal},
        "brine_density": brine,
        "water_density": water,
        "chains": [chain(seed) for seed in range(40)],
    }


def same(a, b, where=""):
    if isinstance(a, dict):
        return [x for k in a if k != "versions" for x in same(a[k], b.get(k), f"{where}.{k}")]
    if isinstance(a, list):
        return [x for i, v in enumerate(a) for x in same(v, b[i], f"{where}[{i}]")] if len(a) == len(b) else [where]
    if isinstance(a, float) and isinstance(b, (int, float)):
        return [] if abs(a - b) <= 1e-6 * max(1.0, abs(a)) else [f"{where}: {b} committed, {a} now"]
    return [] if a == b else [f"{where}: {b} committed, {a} now"]


if __name__ == "__main__":
    path = HERE / "reference.json"
    fresh = build()
    if "--check" in sys.argv:
        off = same(fresh, json.loads(path.read_text()))
        print("\n".join(off) or "the committed reference is what these libraries say")
        sys.exit(bool(off))
    path.write_text(json.dumps(fresh, indent=1) + "\n")
    print(f"wrote {path.name}")
