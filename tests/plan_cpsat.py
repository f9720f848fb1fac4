"""The same planning problem written for OR-tools CP-SAT, compared with the planner on made-up problems.

Usage: python tests/plan_cpsat.py PLANNER [--cases N] [--from SEED] [--sizes HEADSxORDERS,...] [--seconds S] [--jobs J]
                                          [--workers W] [--need N] [--budget S] [--problems FILE]

PLANNER is the command that reads one problem on standard input (such as "target/debug/gambrel reckon plan"). Needs the
package of tests/requirements-plan.txt. Every criterion is solved after the ones before it are held at their best. What the
planner answers is only a hint to CP-SAT, and the mark it has to reach at least: CP-SAT says itself whether the mark can be
reached and whether it can be surpassed. A problem is

- compared whole when both sides have proven all ten criteria and every one is the same;
- compared as far as both have proven when one of them ran out of time: the criteria that both have proven are the same, no
  plan that CP-SAT has found surpasses a proven figure, and the planner's bound holds;
- not comparable when CP-SAT has not proven even the first criterion.

A time-out never counts as agreement. Exit status 1 when anything disagrees or fewer than NEED problems are compared whole.
BUDGET seconds after the start no problem is begun when NEED are compared whole; a slow machine may take three times as
long to get them. With FILE the problems are its lines instead of made-up ones.
"""

import argparse
import json
import multiprocessing
import random
import shlex
import subprocess
import sys
import tempfile
import time
from fractions import Fraction

from ortools.sat.python import cp_model
from plan_made_up import QUARTERS, made_up

CRITERIA = ["paid", "unpaid", "moved", "unsold_custom", "groups", "date_rank", "opened", "weight_outside",
            "half_filled_sides", "sheet_differences"]
MORE = {"paid", "unpaid", "groups"}
SIDES = {"left": (1, 0), "right": (0, 1), "both": (1, 1)}


def hundredths(text):
    return int(Fraction(text) * 100)


def share_weight(hanging, quarters):
    return (hanging * quarters * 2 + 4) // 8


class Truth:
    """The problem as a model. Nothing here comes from the planner: only from the words of the rules."""

    def __init__(self, problem):
        self.p = problem
        self.m = cp_model.CpModel()
        self.animals = {a["id"]: a for a in problem["animals"]}
        self.orders = problem["reservations"]
        self.x = [dict() for _ in self.orders]
        self.taken = {}
        for a in problem["animals"]:
            sides = {"left": 0, "right": 0}
            for t in a["taken"]:
                sides[t["side"]] += t["quarters"]
            self.taken[a["id"]] = sides
        self.stands = {a["id"]: bool(a["taken"]) for a in problem["animals"]}
        for r in self.orders:
            if r["current"]:
                self.stands[r["current"]["animal"]] = True
        self.place()
        self.rooms()
        self.mirror()
        self.terms = {
            "paid": self.worth(True), "unpaid": self.worth(False), "moved": self.moved(), "unsold_custom": self.unsold(),
            "groups": self.groups(), "date_rank": self.date_rank(), "opened": self.opened(),
            "weight_outside": self.weights(), "half_filled_sides": self.halves(), "sheet_differences": self.sheets(),
        }

    def barred(self, a):
        return a["not_before"] is not None and a["date"] < a["not_before"]

    def place(self):
        for i, r in enumerate(self.orders):
            lock = r["current"] if r["current"] and r["current"]["locked"] else None
            sides = ["both"] if r["size"] == "whole" else ["left", "right"]
            for a in self.p["animals"]:
                for side in sides:
                    here = lock and lock["animal"] == a["id"] and lock["side"] == side
                    if lock and not here:
                        continue
                    suits = (a["species"] == r["species"] and not self.barred(a)
                             and (not r["dates"] or a["date"] in r["dates"]))
                    if here or (not lock and suits):
                        self.x[i][a["id"], side] = self.m.new_bool_var(f"x{i}_{a['id']}_{side}")
            if self.x[i]:
                self.m.add_at_most_one(self.x[i].values())
            if lock:
                self.m.add(sum(self.x[i].values()) == 1)

    def on(self, animal, side):
        """Quarters that reservations put on one side."""
        terms = []
        for i, r in enumerate(self.orders):
            for (a, s), var in self.x[i].items():
                if a == animal and s in (side, "both"):
                    terms.append((2 if s == "both" else QUARTERS[r["size"]]) * var)
        return terms

    def rooms(self):
        self.load, self.carries = {}, {}
        for a in self.p["animals"]:
            name = a["id"]
            for side in ("left", "right"):
                self.load[name, side] = sum(self.on(name, side)) + self.taken[name][side]
                self.m.add(self.load[name, side] <= 2)
            here = [v for i in range(len(self.orders)) for (b, _), v in self.x[i].items() if b == name]
            carries = self.m.new_bool_var(f"carries_{name}")
            for v in here:
                self.m.add_implication(v, carries)
            self.m.add_bool_or(here + [carries.Not()])
            self.carries[name] = carries
            if a["custom_exempt"] and not self.stands[name]:
                new = sum(self.on(name, "left")) + sum(self.on(name, "right"))
                self.m.add(new >= self.p["open_custom_from"]).only_enforce_if(carries)

    def mirror(self):
        """An animal that nothing stands on is the same seen from the other side: its left carries no less than its right."""
        self.even = [a["id"] for a in self.p["animals"] if not self.stands[a["id"]]]
        for name in self.even:
            self.m.add(self.load[name, "left"] >= self.load[name, "right"])

    def hint(self, assignments):
        """Starts from a plan; even animals are turned the way they are wanted."""
        places = {a["reservation"]: (a["animal"], a["side"]) for a in assignments}
        load = {}
        for a in assignments:
            key = (a["animal"], a["side"])
            load[key] = load.get(key, 0) + a["quarters"]
        turned = {n for n in self.even if load.get((n, "right"), 0) > load.get((n, "left"), 0)}
        other = {"left": "right", "right": "left", "both": "both"}
        for r, vars_of in zip(self.orders, self.x):
            animal, side = places.get(r["id"], (None, None))
            side = other[side] if animal in turned else side
            for key, v in vars_of.items():
                self.m.add_hint(v, key == (animal, side))

    def worth(self, paid):
        terms = []
        for i, r in enumerate(self.orders):
            later = sum(1 for j, o in enumerate(self.orders)
                        if o["species"] == r["species"] and (o["taken_at"], j) > (r["taken_at"], i))
            if r["deposit_paid"] == paid:
                terms += [QUARTERS[r["size"]] * (1 + later) * v for v in self.x[i].values()]
        return sum(terms)

    def moved(self):
        if not self.p["keep"]:
            return 0
        terms = []
        for i, r in enumerate(self.orders):
            if r["current"]:
                same = self.x[i].get((r["current"]["animal"], r["current"]["side"]))
                terms.append(1 - same if same is not None else 1)
        return sum(terms)

    def unsold(self):
        terms = []
        for a in self.p["animals"]:
            if a["custom_exempt"] and not self.barred(a):
                load = self.load[a["id"], "left"] + self.load[a["id"], "right"]
                if a["taken"]:
                    terms.append(4 - load)
                else:
                    terms.append(4 * self.carries[a["id"]] - load)
        return sum(terms)

    def groups(self):
        names = {}
        for i, r in enumerate(self.orders):
            if r["together"] is not None:
                names.setdefault(r["together"], []).append(i)
        met = []
        for name, members in sorted(names.items()):
            if len(members) < 2:
                continue
            one = (len({self.orders[i]["species"] for i in members}) == 1
                   and sum(QUARTERS[self.orders[i]["size"]] for i in members) <= 4)
            key = (lambda a: a) if one else (lambda a: self.animals[a]["date"])
            for where in sorted({key(a) for i in members for (a, _) in self.x[i]}):
                together = self.m.new_bool_var(f"group_{name}_{where}")
                for i in members:
                    here = [v for (a, _), v in self.x[i].items() if key(a) == where]
                    self.m.add_bool_or(here + [together.Not()])
                met.append(together)
        return sum(met)

    def date_rank(self):
        terms = []
        for i, r in enumerate(self.orders):
            for (a, _), v in self.x[i].items():
                day = self.animals[a]["date"]
                rank = 0 if not r["dates"] else r["dates"].index(day) if day in r["dates"] else len(r["dates"])
                terms.append(QUARTERS[r["size"]] * rank * v)
        return sum(terms)

    def opened(self):
        return sum(self.carries[a["id"]] for a in self.p["animals"] if not self.stands[a["id"]])

    def weights(self):
        terms = []
        for i, r in enumerate(self.orders):
            asked = r["weight"] or {"low": None, "high": None}
            for (a, _), v in self.x[i].items():
                if self.animals[a]["expected_hanging"] is None:
                    continue
                weight = share_weight(hundredths(self.animals[a]["expected_hanging"]), QUARTERS[r["size"]])
                low = 0 if asked["low"] is None else max(0, hundredths(asked["low"]) - weight)
                high = 0 if asked["high"] is None else max(0, weight - hundredths(asked["high"]))
                terms.append(max(low, high) * v)
        return sum(terms)

    def halves(self):
        terms = []
        for key, load in self.load.items():
            half, full = self.m.new_bool_var(f"half_{key}"), self.m.new_bool_var(f"full_{key}")
            self.m.add(load == half + 2 * full)
            terms.append(half)
        return sum(terms)

    def sheets(self):
        index = {r["id"]: i for i, r in enumerate(self.orders)}
        terms = []
        for pair in self.p["sheet_differences"]:
            i, j = index[pair["a"]], index[pair["b"]]
            for place in set(self.x[i]) & set(self.x[j]):
                both = self.m.new_bool_var("both")
                self.m.add(both >= self.x[i][place] + self.x[j][place] - 1)
                terms.append(pair["blocks"] * both)
        return sum(terms)

    def solve(self, answer, seconds, workers):
        """The best figures in order, then what stopped it: a criterion not proven in time with the best that was found for
        it, or a criterion whose figure in the answer no plan reaches."""
        mark, end = figures(answer), time.monotonic() + seconds
        self.hint(answer["assignments"])
        best = {}
        for criterion in CRITERIA:
            term = self.terms[criterion]
            if isinstance(term, int):
                best[criterion] = term
                continue
            (self.m.maximize if criterion in MORE else self.m.minimize)(term)
            if all(best[c] == mark[c] for c in best):
                self.m.add(term >= mark[criterion] if criterion in MORE else term <= mark[criterion])
            solver = cp_model.CpSolver()
            solver.parameters.max_time_in_seconds = max(0.1, end - time.monotonic())
            solver.parameters.num_workers = workers
            status = solver.solve(self.m)
            if status == cp_model.INFEASIBLE:
                return best, ("none", criterion, None)
            if status != cp_model.OPTIMAL:
                found = round(solver.objective_value) if status == cp_model.FEASIBLE else None
                return best, ("time", criterion, found)
            best[criterion] = round(solver.objective_value)
            self.m.add(term == best[criterion])
            self.m.clear_hints()
            for vars_of in self.x:
                for v in vars_of.values():
                    self.m.add_hint(v, solver.value(v))
        return best, None


def figures(answer):
    return {c: hundredths(v) if c == "weight_outside" else v for c, v in answer["score"].items()}


def better(criterion, a, b):
    return a > b if criterion in MORE else a < b


def verdict(answer, best, stop):
    """"whole", "part" or "none", and what is wrong if anything is."""
    got = figures(answer)
    bound = answer["bound"]
    if answer["proven"] != (bound is None):
        return "none", "proven and a bound, or neither"
    sure = CRITERIA if bound is None else CRITERIA[: CRITERIA.index(bound["criterion"])]
    for c in best:
        if c in sure and best[c] != got[c]:
            return "none", f"{c} is said to be the best, but is {got[c]} and not {best[c]}"
        if c not in sure:
            break
    if stop and stop[0] == "none":
        return "none", f"no plan has the {stop[1]} of the answer: {got[stop[1]]}"
    if stop and stop[1] in sure and stop[2] is not None and better(stop[1], stop[2], got[stop[1]]):
        return "none", f"{stop[1]} is said to be the best, but is {got[stop[1]]} and {stop[2]} can be had"
    if bound is not None:
        c = bound["criterion"]
        value = hundredths(bound["value"]) if c == "weight_outside" else int(bound["value"])
        if not better(c, value, got[c]):
            return "none", f"the bound {value} of {c} is not better than {got[c]}"
        known = best.get(c, stop[2] if stop and stop[1] == c else None)
        if known is not None and better(c, known, value):
            return "none", f"{c} is bounded by {value}, but {known} can be had"
    if bound is None and stop is None and len(best) == len(CRITERIA):
        return "whole", None
    return ("part" if "paid" in best and "paid" in sure else "none"), None


WHOLE = None


def share(whole):
    """Gives every process of the pool the count of problems compared whole."""
    global WHOLE
    WHOLE = whole


def one(task):
    """Plans one problem both ways."""
    name, text, planner, seconds, workers, need, end, last = task
    if time.monotonic() > (end if WHOLE.value >= need else last):
        return name, text, "late", None, 0, 0, None
    begun = time.monotonic()
    run = subprocess.run(shlex.split(planner), input=text, capture_output=True, text=True)
    ours = time.monotonic() - begun
    if run.returncode != 0:
        return name, text, "none", f"refused {run.stdout} {run.stderr}", ours, 0, None
    answer = json.loads(run.stdout)
    begun = time.monotonic()
    best, stop = Truth(json.loads(text)).solve(answer, seconds, workers)
    theirs = time.monotonic() - begun
    kind, fault = verdict(answer, best, stop)
    if kind == "whole":
        with WHOLE.get_lock():
            WHOLE.value += 1
    return name, text, kind, fault, ours, theirs, stop and stop[1]


def main():
    args = argparse.ArgumentParser()
    args.add_argument("planner")
    args.add_argument("--cases", type=int, default=300)
    args.add_argument("--from", dest="start", type=int, default=0)
    args.add_argument("--sizes", default="4x10,8x24,12x36")
    args.add_argument("--seconds", type=float, default=30)
    args.add_argument("--jobs", type=int, default=1)
    args.add_argument("--workers", type=int, default=2)
    args.add_argument("--need", type=int, default=0)
    args.add_argument("--budget", type=float, default=1e9)
    args.add_argument("--problems")
    args.add_argument("--each", action="store_true")
    args = args.parse_args()
    sizes = [tuple(int(n) for n in s.split("x")) for s in args.sizes.split(",")]
    problems = []
    if args.problems:
        with open(args.problems, encoding="utf-8") as lines:
            problems = [(f"line {n}", line.strip()) for n, line in enumerate(lines, 1)]
    else:
        for seed in range(args.start, args.start + args.cases):
            heads, orders = sizes[seed % len(sizes)]
            text = json.dumps(made_up(heads, orders, random.Random(seed)))
            problems.append((f"seed {seed} ({heads}x{orders})", text, orders))
        # The small ones first: what is not begun in time are large ones.
        problems = [(name, text) for name, text, _ in sorted(problems, key=lambda p: p[2])]
    begun = time.monotonic()
    tasks = [(*p, args.planner, args.seconds, args.workers, args.need, begun + args.budget, begun + 3 * args.budget)
             for p in problems]
    count = {"whole": 0, "part": 0, "none": 0, "late": 0, "wrong": 0}
    ours, theirs, stops, whole = [], [], {}, {}
    with multiprocessing.Pool(args.jobs, share, (multiprocessing.Value("i", 0),)) as pool:
        for name, text, kind, fault, here, there, stop in pool.imap(one, tasks):
            if args.each:
                print(f"{name}: {fault or kind}, {here:.2f} s here, {there:.2f} s CP-SAT {stop or ''}", flush=True)
            if kind == "late":
                count["late"] += 1
                continue
            ours.append(here)
            theirs.append(there)
            if fault:
                count["wrong"] += 1
                with tempfile.NamedTemporaryFile("w", prefix="plan-wrong-", suffix=".json", delete=False) as out:
                    out.write(text)
                print(f"{name}: {fault}; the problem is in {out.name}", flush=True)
                continue
            count[kind] += 1
            size = name.split()[-1].strip("()")
            if kind == "whole":
                whole[size] = whole.get(size, 0) + 1
            if stop:
                stops[stop] = stops.get(stop, 0) + 1
    middle = lambda times: sorted(times)[len(times) // 2] if times else 0
    print(f"{len(problems)} problems: {count['whole']} compared whole and the same, {count['part']} compared as far as both have "
          f"proven, {count['none']} not comparable, {count['late']} not begun in time, {count['wrong']} wrong")
    if not args.problems:
        print("  compared whole by animals x reservations: " + ", ".join(f"{s} {n}" for s, n in whole.items()))
    print(f"  CP-SAT ran out of time at: {stops or 'none'}")
    print(f"  median {middle(ours):.3f} s here, {middle(theirs):.3f} s CP-SAT; most {max(ours, default=0):.1f} s and "
          f"{max(theirs, default=0):.1f} s; in all {time.monotonic() - begun:.0f} s")
    if count["whole"] < args.need:
        print(f"  {args.need} should have been compared whole")
    sys.exit(1 if count["wrong"] or count["whole"] < args.need else 0)


if __name__ == "__main__":
    main()
