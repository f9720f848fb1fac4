#!/usr/bin/env python3
"""Holds `gambrel reckon` against Python's decimal library on random cases.

    tests/decimal_check.py PATH-TO-GAMBREL [--cases N] [--seed N]

N cases (10,000 unless told) of weights and as many of invoices are made from the seed, reckoned here in decimal and
fractions, sent through `gambrel reckon WHAT --lines`, and compared byte for byte. Needs nothing but Python 3.
Prints what was compared; exits with status 1 on any difference and when the cases did not cover what they should.
"""

import argparse
import json
import random
import subprocess
import sys
from collections import Counter
from decimal import ROUND_HALF_UP, Decimal, getcontext
from fractions import Fraction

getcontext().prec = 60
CENT = Decimal("0.01")
seen = Counter()


def cents(value):
    """Rounded to two decimals, half away from zero (decimal's ROUND_HALF_UP is that, for either sign)."""
    return value.quantize(CENT, ROUND_HALF_UP)


def text(value):
    return f"{value if value else abs(value):.2f}"


def largest_remainder(total, ratios):
    """Whole hundredths of `total` in the ratios; ties go to whoever stands first."""
    units = int(total * 100)
    whole = sum(ratios)
    if whole == 0:
        return [Decimal(0)] * len(ratios)
    exact = [Fraction(units) * Fraction(r) / Fraction(whole) for r in ratios]
    parts = [int(e) for e in exact]
    over = units - sum(parts)
    order = sorted(range(len(ratios)), key=lambda i: (-(exact[i] - parts[i]), i))
    for i in order[:over]:
        parts[i] += 1
    remainders = sorted({exact[i] - int(exact[i]) for i in order})
    if over and len(ratios) == 2:
        if len(remainders) == 1:
            seen["odd hundredth, tie"] += 1
        elif order[0] == 0:
            seen["odd hundredth to the first by remainder"] += 1
        else:
            seen["odd hundredth to the second by remainder"] += 1
    return [Decimal(p) / 100 for p in parts]


# ---- weights -------------------------------------------------------------------------------------------------------------

def random_weight(rng, low=1):
    shape = rng.random()
    if shape < 0.1:
        return Decimal(rng.randint(low, 30)) / 100
    if shape < 0.3:
        return Decimal(rng.randint(max(low, 1), 1500))
    return Decimal(rng.randint(low, 150000)) / 100


def written(rng, value):
    """The figure as a person may write it: with or without needless zeros."""
    plain = f"{value:.2f}"
    if rng.random() < 0.4:
        plain = plain.rstrip("0").rstrip(".")
    return plain


def random_shares(rng):
    if rng.random() < 0.1:
        return [{"id": "W", "size": "whole"}]
    shares = []
    for side in ("left", "right"):
        kind = rng.choice(("none", "half", "split1", "split2", "fore", "hind", "both"))
        quarter = {"size": "quarter", "side": side}
        if kind == "half":
            shares.append({"size": "half", "side": side})
        elif kind.startswith("split"):
            for _ in range(int(kind[-1])):
                shares.append(dict(quarter, part="split") if rng.random() < 0.5 else dict(quarter))
        else:
            for part in {"fore": ("fore",), "hind": ("hind",), "both": ("fore", "hind")}.get(kind, ()):
                shares.append(dict(quarter, part=part))
    rng.shuffle(shares)
    return [dict(share, id=f"{i}-{rng.choice('ABCŁñ')}") for i, share in enumerate(shares)]


def weights_case(rng):
    form = rng.choice(("total", "sides", "quarters"))
    names = {"total": ["total"], "sides": ["left", "right"],
             "quarters": ["left_fore", "left_hind", "right_fore", "right_hind"]}[form]
    low = 1 if form == "total" else 0
    carcass = {name: random_weight(rng, low) for name in names}
    if not any(carcass.values()):
        carcass[names[0]] = Decimal(1)
    basis = rng.choice(("as_hung", "even"))
    shares = random_shares(rng)
    ask = {"unit": rng.choice(("lb", "kg")), "basis": basis,
           "carcass": {n: written(rng, v) for n, v in carcass.items()}, "shares": shares}

    total = sum(carcass.values())
    halves = largest_remainder(total, [1, 1])
    got = {}
    for side, half in zip(("left", "right"), halves):
        weight = half
        if basis == "as_hung" and form == "sides":
            weight = carcass[side]
        if basis == "as_hung" and form == "quarters":
            weight = carcass[f"{side}_fore"] + carcass[f"{side}_hind"]
        own = [s for s in shares if s.get("side") == side]
        if not own:
            continue
        if own[0]["size"] == "half":
            got[own[0]["id"]] = (weight, False)
            continue
        parts = [s.get("part", "split") for s in own]
        if len(parts) == 1:
            parts.append({"split": "split", "fore": "hind", "hind": "fore"}[parts[0]])
        estimated = False
        if parts[0] == "split" or basis == "even":
            ratios = [1, 1]
        elif form == "quarters":
            ratios = [carcass[f"{side}_{p}"] for p in parts]
        else:
            ratios = [{"fore": 55, "hind": 45}[p] for p in parts]
            estimated = True
        for share, part in zip(own, largest_remainder(weight, ratios)):
            got[share["id"]] = (part, estimated)
    if shares and shares[0]["size"] == "whole":
        got[shares[0]["id"]] = (total, False)
    billed = sum((weight for weight, _ in got.values()), Decimal(0))
    seen[f"weights, {basis}, {form}"] += 1
    want = {"shares": [{"id": s["id"], "weight": text(got[s["id"]][0]), "estimated": got[s["id"]][1]} for s in shares],
            "billed": text(billed), "unsold": text(total - billed), "total": text(total)}
    return ask, want


# ---- invoices ------------------------------------------------------------------------------------------------------------

def decimal_of(rng, most, places):
    return Decimal(rng.randint(0, most * 10 ** places)) / 10 ** places


def percent(rng, box, name):
    if rng.random() < 0.4:
        return Decimal(0)
    value = decimal_of(rng, 12, 3) if rng.random() < 0.8 else Decimal(rng.choice(("5", "6.25", "50", "100")))
    box[name] = str(value)
    return value


def note_rounding(exact):
    scaled = abs(exact) * 100
    rest = scaled - int(scaled)
    if rest:
        seen["amount rounded " + ("at the half" if rest == Decimal("0.5") else "up" if rest > Decimal("0.5") else "down")] += 1
        if exact < 0:
            seen["negative amount rounded"] += 1


def line(name, exact, tax_percent, billed_by):
    note_rounding(exact)
    amount = cents(exact)
    exact_tax = amount * tax_percent / 100
    note_rounding(exact_tax)
    return {"name": name, "amount": amount, "tax": cents(exact_tax), "billed_by": billed_by}


def invoice_case(rng):
    share = Decimal(rng.choice(("1", "0.5", "0.25")))
    weight = random_weight(rng)
    ask = {"weight": written(rng, weight), "share_of_head": str(share)}
    if rng.random() < 0.8:
        rate = decimal_of(rng, 12, rng.choice((0, 1, 2, 2, 3, 4)))
        ask["price_per_unit"] = str(rate)
        exact = weight * rate
    else:
        exact = decimal_of(rng, 2000, 2)
        ask["flat_price"] = str(exact)
    lines = [line("Share", exact, percent(rng, ask, "share_tax_percent"), "farm")]

    charges = []
    for i in range(rng.randint(0, 4)):
        per = rng.choice(("head", "share", "unit_hanging", "unit_product"))
        places = rng.choice((0, 2, 2, 4))
        rate = decimal_of(rng, 150 if per in ("head", "share") else 3, places)
        billed_by = rng.choice(("farm", "processor"))
        charge = {"name": f"{per} {i}", "per": per, "rate": str(rate), "billed_by": billed_by}
        quantity = weight
        if per == "unit_product":
            quantity = random_weight(rng, 0)
            charge["quantity"] = written(rng, quantity)
        if per in ("head", "share"):
            exact = rate * (share if per == "head" else 1)
        else:
            if rng.random() < 0.3:
                least = random_weight(rng, 0)
                charge["minimum_quantity"] = written(rng, least)
                if least * share > quantity:
                    seen["minimum weight applied"] += 1
                quantity = max(quantity, least * share)
            exact = quantity * rate
        if rng.random() < 0.3:
            least = decimal_of(rng, 300, 2)
            charge["minimum_amount"] = str(least)
            if least * share > exact:
                seen["minimum amount applied"] += 1
            exact = max(exact, least * share)
        lines.append(line(charge["name"], exact, percent(rng, charge, "tax_percent"), billed_by))
        charges.append(charge)
    if charges or rng.random() < 0.5:
        ask["charges"] = charges

    adjustments = []
    for i in range(rng.choice((0, 0, 1, 2))):
        amount = decimal_of(rng, 40, 2) * rng.choice((1, -1, -1))
        adjustment = {"name": f"line {i}", "amount": str(amount)}
        lines.append(line(adjustment["name"], amount, percent(rng, adjustment, "tax_percent"), "farm"))
        adjustments.append(adjustment)
    if adjustments:
        ask["adjustments"] = adjustments

    deposit = Decimal(0)
    if rng.random() < 0.7:
        deposit = decimal_of(rng, 500, 2)
        ask["deposit"] = str(deposit)
    payments = [Decimal(rng.randint(1, 50000)) / 100 for _ in range(rng.choice((0, 0, 1, 3)))]
    if payments:
        ask["payments"] = [str(p) for p in payments]

    def total(key, by):
        return sum((entry[key] for entry in lines if entry["billed_by"] == by), Decimal(0))

    farm, farm_tax = total("amount", "farm"), total("tax", "farm")
    plant, plant_tax = total("amount", "processor"), total("tax", "processor")
    if farm < 0:
        seen["invoice refused: discounts larger than the rest"] += 1
        return ask, "adjustments"
    all_in = farm + farm_tax + plant + plant_tax
    per_unit = cents(all_in / weight)
    balance = farm + farm_tax - deposit - sum(payments)
    seen["invoice, customer is owed" if balance < 0 else "invoice, balance due"] += 1
    want = {"lines": [dict(entry, amount=text(entry["amount"]), tax=text(entry["tax"])) for entry in lines],
            "farm_total": text(farm), "farm_tax": text(farm_tax), "deposit": text(deposit), "paid": text(sum(payments, Decimal(0))),
            "balance_due": text(balance), "processor_total": text(plant), "processor_tax": text(plant_tax),
            "all_in": text(all_in), "all_in_per_unit_hanging": text(per_unit)}
    return ask, want


# ---- comparing -----------------------------------------------------------------------------------------------------------

def compare(program, what, cases):
    asked = "".join(json.dumps(ask, ensure_ascii=False) + "\n" for ask, _ in cases)
    run = subprocess.run([program, "reckon", what, "--lines"], input=asked.encode(), stdout=subprocess.PIPE, timeout=120)
    answers = run.stdout.decode().splitlines()
    refused = any(isinstance(want, str) for _, want in cases)
    if run.returncode != (2 if refused else 0) or len(answers) != len(cases):
        sys.exit(f"{what}: exit status {run.returncode}, {len(answers)} answers to {len(cases)} questions")
    differences = 0
    for (ask, want), answer in zip(cases, answers):
        if isinstance(want, str):
            same = json.loads(answer).get("at") == want
        else:
            same = answer == json.dumps(want, ensure_ascii=False, separators=(",", ":"))
        if not same:
            differences += 1
            if differences <= 3:
                print(f"{what} differs\n  asked    {json.dumps(ask)}\n  gambrel  {answer}\n  decimal  {json.dumps(want)}")
    print(f"{what}: {len(cases)} cases, {differences} differences")
    return differences


MUST_BE_SEEN = [
    "odd hundredth, tie", "odd hundredth to the first by remainder", "odd hundredth to the second by remainder",
    "amount rounded up", "amount rounded down", "amount rounded at the half", "negative amount rounded",
    "minimum weight applied", "minimum amount applied", "invoice, balance due", "invoice, customer is owed",
]


def main():
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("program")
    arguments.add_argument("--cases", type=int, default=10000)
    arguments.add_argument("--seed", type=int, default=20270923)
    given = arguments.parse_args()
    rng = random.Random(given.seed)
    print(f"seed {given.seed}")
    differences = compare(given.program, "weights", [weights_case(rng) for _ in range(given.cases)])
    differences += compare(given.program, "invoice", [invoice_case(rng) for _ in range(given.cases)])
    for name, count in sorted(seen.items()):
        print(f"  {count:6} {name}")
    unseen = [name for name in MUST_BE_SEEN if not seen[name]]
    if unseen and given.cases >= 1000:
        sys.exit(f"the cases never had: {', '.join(unseen)}")
    sys.exit(1 if differences else 0)


main()
