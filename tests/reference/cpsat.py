#!/usr/bin/env python3
"""The neutral scheduling problem as a model for OR-Tools CP-SAT (PyPI `ortools`), a general-purpose reference library.

    cpsat.py PROBLEM.json [SECONDS_PER_LEVEL] [WORKERS] [--total]

Solves level by level and prints one JSON object: status, cost and bound by level, starts and choices, seconds to the first
solution and each level's better ones as they came, peak memory. With --total the seconds are for all levels together, and the
model of each level holds the terms of that level and the ones before only, so that a first plan does not wait for the rest.
It shares nothing with the solver but the format.
"""
import json
import resource
import sys
import time

from ortools.sat.python import cp_model


def build(p):
    m = cp_model.CpModel()
    horizon = p["horizon"]
    starts = []
    for i, a in enumerate(p["activities"]):
        if a["pinned"] is not None:
            lo = hi = a["pinned"]
            if lo + a["duration"] > horizon:
                return None
        else:
            lo, hi = a["release"], min(a["latest"], horizon - a["duration"])
        if lo > hi:
            return None
        starts.append(m.new_int_var(lo, hi, f"s{i}"))
    for lag in p["lags"]:
        m.add(starts[lag["to"]] >= starts[lag["from"]] + lag["least"])

    def at(point):
        return starts[point["activity"]] + point["offset"]

    far = 4 * (horizon + 100) + sum(abs(o) for h in p["holds"] for o in [h["from"]["offset"]] + [t["offset"] for t in h["to"]])

    def stretch(frm, tos, name):
        """start, size (0 when it ends before it begins), end"""
        owner = frm["activity"]
        if all(t["activity"] == owner for t in tos):
            size = max(0, max(t["offset"] for t in tos) - frm["offset"])
            return at(frm), size, at(frm) + size
        size = m.new_int_var(0, far, name)
        m.add_max_equality(size, [at(t) - at(frm) for t in tos] + [0])
        end = m.new_int_var(-far, far, name + "e")
        m.add(end == at(frm) + size)
        return at(frm), size, end

    def gaps(calendar):
        edge, out = -far, []
        for o in p["calendars"][calendar]["open"]:
            out.append((edge, o["from"]))
            edge = o["to"]
        out.append((edge, far))
        return out

    for k, w in enumerate(p["within"]):
        s, size, e = stretch(w["from"], [w["to"]], f"w{k}")
        inside = m.new_interval_var(s, size, e, f"wi{k}")
        closed = [m.new_fixed_size_interval_var(a, b - a, "gap") for a, b in gaps(w["calendar"])]
        m.add_cumulative([inside] + closed, [1] * (1 + len(closed)), 1)

    on = [[] for _ in p["resources"]]
    choices, classes = [], {}
    for h, hold in enumerate(p["holds"]):
        s, size, e = stretch(hold["from"], hold["to"], f"h{h}")
        if hold["same"] is not None and hold["same"] in classes:
            picks = classes[hold["same"]]
        else:
            picks = [m.new_bool_var(f"c{h}.{k}") for k in range(len(hold["choose"]))]
            m.add_exactly_one(picks)
            if hold["same"] is not None:
                classes[hold["same"]] = picks
        choices.append(picks)
        if hold["amount"] == 0:
            continue
        for k, r in enumerate(hold["choose"]):
            interval = m.new_optional_interval_var(s, size, e, picks[k], f"h{h}.{k}")
            on[r].append((interval, hold["amount"], picks[k], s, size, e, p["families"][h]))
    for r, resource in enumerate(p["resources"]):
        intervals = [x[0] for x in on[r]]
        demands = [x[1] for x in on[r]]
        if resource["capacity"] == 0 or any(d > resource["capacity"] for d in demands):
            # A hold that can never fit may still be empty.
            for x in on[r]:
                if x[1] > resource["capacity"]:
                    if isinstance(x[4], int):
                        if x[4] > 0:
                            m.add(x[2] == 0)
                    else:
                        m.add(x[4] == 0).only_enforce_if(x[2])
            keep = [i for i, x in enumerate(on[r]) if x[1] <= resource["capacity"]]
            intervals = [intervals[i] for i in keep]
            demands = [demands[i] for i in keep]
        if intervals and resource["capacity"] > 0:
            m.add_cumulative(intervals, demands, resource["capacity"])
        if resource["calendar"] is not None and on[r]:
            closed = [m.new_fixed_size_interval_var(a, b - a, "gap") for a, b in gaps(resource["calendar"])]
            # A count so large that holds never disturb each other here, while a gap takes all of it.
            n = len(on[r])
            m.add_cumulative([x[0] for x in on[r]] + closed, [1] * n + [n] * len(closed), n)
        table = {}
        for a, b, minutes in resource["changeover"]:
            table[a, b] = max(table.get((a, b), 0), minutes)
        if table:
            for i in range(len(on[r])):
                for j in range(i):
                    x, y = on[r][i], on[r][j]
                    first = m.new_bool_var("first")
                    both = [x[2], y[2]]
                    some = []
                    for z in (x, y):
                        if isinstance(z[4], int):
                            if z[4] == 0:
                                some = None
                                break
                        else:
                            b = m.new_bool_var("some")
                            m.add(z[4] >= 1).only_enforce_if(b)
                            m.add(z[4] == 0).only_enforce_if(~b)
                            some.append(b)
                    if some is None:
                        continue
                    m.add(y[3] >= x[5] + table.get((x[6], y[6]), 0)).only_enforce_if(both + some + [first])
                    m.add(x[3] >= y[5] + table.get((y[6], x[6]), 0)).only_enforce_if(both + some + [~first])

    def positive(expression, most):
        v = m.new_int_var(0, most, "over")
        m.add_max_equality(v, [expression, 0])
        return v

    levels = []
    for level in p["levels"]:
        parts = []
        for term in level["terms"]:
            (kind, t), = term.items()
            w = t["weight"]
            if kind == "late":
                parts.append(w * positive(at(t["point"]) - t["due"], far))
            elif kind == "short-of-spare":
                parts.append(w * positive(t["want"] - t["due"] + at(t["point"]), far))
            elif kind == "over":
                parts.append(w * positive(at(t["to"]) - at(t["from"]) - t["good"], far))
            elif kind == "under":
                parts.append(w * positive(t["good"] - at(t["to"]) + at(t["from"]), far))
            elif kind == "length":
                parts.append(w * positive(at(t["to"]) - at(t["from"]), far))
            elif kind == "at":
                parts.append(w * positive(at(t["point"]), far))
            elif kind == "moved":
                b = m.new_bool_var("stays")
                m.add(starts[t["activity"]] == t["promised"]).only_enforce_if(b)
                parts.append(w * (1 - b))
            elif kind == "inside":
                for o in p["calendars"][t["calendar"]]["open"]:
                    lo = m.new_int_var(-far, far, "lo")
                    hi = m.new_int_var(-far, far, "hi")
                    m.add_max_equality(lo, [at(t["from"]), m.new_constant(o["from"])])
                    m.add_min_equality(hi, [at(t["to"]), m.new_constant(o["to"])])
                    parts.append(w * positive(hi - lo, far))
            elif kind == "spells":
                used = {}
                outside_count = {}
                for a in t["activities"]:
                    picks, edge = [], -far
                    lits = []
                    for k, o in enumerate(p["calendars"][t["calendar"]]["open"]):
                        b = m.new_bool_var("in")
                        m.add_linear_expression_in_domain(
                            starts[a], cp_model.Domain.from_intervals([[o["from"], o["to"] - 1]])
                        ).only_enforce_if(b)
                        if k not in used:
                            used[k] = m.new_bool_var("used")
                        m.add_implication(b, used[k])
                        lits.append(b)
                        picks.append([edge, o["from"] - 1])
                        edge = o["to"]
                    picks.append([edge, far])
                    b = m.new_bool_var("outside")
                    m.add_linear_expression_in_domain(
                        starts[a], cp_model.Domain.from_intervals(picks)
                    ).only_enforce_if(b)
                    m.add_exactly_one(lits + [b])
                    outside_count.setdefault(a, []).append(b)
                parts += [w * u for u in used.values()]
                parts += [w * b for bs in outside_count.values() for b in bs]
            else:
                raise SystemExit(f"unknown term {kind}")
        levels.append(sum(parts) if parts else 0)
    return m, starts, choices, levels


class Trace(cp_model.CpSolverSolutionCallback):
    """Seconds from the beginning, level, and what the level comes to, for each solution found."""

    def __init__(self, began):
        super().__init__()
        self.began, self.level, self.rows = began, 0, []

    def on_solution_callback(self):
        self.rows.append([round(time.time() - self.began, 4), self.level, round(self.objective_value)])


def main():
    with open(sys.argv[1], encoding="utf-8") as f:
        read = json.load(f)
    assert read["format"] == "scheduling-problem" and read["version"] == 1
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 10.0
    workers = int(sys.argv[3]) if len(sys.argv) > 3 else 1
    total = "--total" in sys.argv
    start = time.time()
    whole = read["problem"]
    names = whole["levels"]
    built = build({**whole, "levels": names[:1]} if total else whole)
    if built is None:
        print(json.dumps({"status": "infeasible", "levels": []}))
        return
    m, starts, choices, levels = built
    out, status, hint = [], "optimal", None
    trace = Trace(start)
    for level in range(max(len(names), 1)):
        trace.level = level
        if total and level > 0:
            m, starts, choices, levels = build({**whole, "levels": names[: level + 1]})
            for before, found in zip(levels, out):
                if not isinstance(before, int):
                    m.add(before <= found["cost"])
            hint = [(v, x) for v, x in zip(starts, answer["starts"])]
            # Holds that choose together share their literals, and a hint is given once.
            picks = {b.index: (b, int(k == x)) for c, x in zip(choices, answer["chosen"]) for k, b in enumerate(c)}
            hint += picks.values()
        objective = levels[level] if levels else 0
        solver = cp_model.CpSolver()
        left = seconds - (time.time() - start) if total else seconds
        if left <= 0.05 and out:
            status = "feasible"
            break
        solver.parameters.max_time_in_seconds = max(left, 0.01)
        solver.parameters.num_workers = workers
        if hint:
            m.clear_hints()
            for v, x in hint:
                m.add_hint(v, x)
        if not isinstance(objective, int):
            m.minimize(objective)
        began = time.time()
        code = solver.solve(m, trace)
        if code == cp_model.INFEASIBLE:
            status = "infeasible"
            break
        if code not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            # Out of time on a later level: what the levels before it found still stands.
            status = "feasible" if out and total else "unknown"
            break
        cost = objective if isinstance(objective, int) else round(solver.objective_value)
        bound = cost if isinstance(objective, int) or code == cp_model.OPTIMAL else int(solver.best_objective_bound)
        if code != cp_model.OPTIMAL:
            status = "feasible"
        out.append({"cost": cost, "bound": bound, "seconds": round(time.time() - began, 3)})
        hint = [(v, solver.value(v)) for v in starts]
        answer = {
            "starts": [solver.value(v) for v in starts],
            "chosen": [next(k for k, b in enumerate(c) if solver.value(b)) for c in choices],
        }
        if not isinstance(objective, int):
            m.add(objective <= cost)
    result = {
        "status": status,
        "levels": out,
        "trace": trace.rows,
        "seconds": round(time.time() - start, 3),
        "peak_kib": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss,
    }
    if out:
        result.update(answer)
    print(json.dumps(result))


main()
