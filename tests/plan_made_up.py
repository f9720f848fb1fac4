"""Made-up planning problems for plan_cpsat.py, the same for the same seed."""

from datetime import date, timedelta

QUARTERS = {"whole": 4, "half": 2, "quarter": 1}


def made_up(heads, orders, rng):
    """A made-up farm. Its own way of throwing dice, apart from the one in the Rust tests."""
    species = rng.sample(["beef", "hog", "lamb", "goat"], rng.choice([1, 2, 3, 4, 4, 4]))
    days = [date(2027, 9, 1) + timedelta(days=7 * n) for n in range(rng.randint(2, max(2, min(9, heads // 3 + 1))))]
    usual = {"beef": 720, "hog": 180, "lamb": 60, "goat": 45}
    plants = [(f"P{n}", rng.random() < 0.6) for n in range(3)]
    crowd, custom_from = rng.random(), rng.choice([1, 1, 1, 2, 3, 4])
    animals, free = [], {}
    for n in range(heads):
        kind, plant, day = rng.choice(species), rng.choice(plants), rng.choice(days)
        taken = []
        if rng.random() < 0.15:
            taken = [{"side": rng.choice(["left", "right"]), "quarters": rng.choice([1, 2])}]
        weight = None if rng.random() < 0.1 else f"{usual[kind] * rng.uniform(0.85, 1.2):.{rng.choice([0, 1, 2])}f}"
        first = None
        if rng.random() < 0.2:
            first = str(day + timedelta(days=rng.choice([-30, 0, 1]) if rng.random() < 0.3 else -20))
        animals.append({"id": f"A{n}", "species": kind, "date": str(day), "processor": plant[0],
                        "custom_exempt": plant[1], "not_before": first, "expected_hanging": weight, "taken": taken})
        free[f"A{n}"] = {"left": 2, "right": 2}
        for t in taken:
            free[f"A{n}"][t["side"]] -= t["quarters"]
    reservations = []
    standing, grouped, ranged = rng.random() * 0.8, rng.random() * 0.4, rng.random() * 0.6
    for n in range(orders):
        kind = rng.choice(species)
        size = rng.choices(["whole", "half", "quarter"], [1, 2 + crowd, 3])[0]
        wanted = [] if rng.random() < 0.2 else [str(d) for d in rng.sample(days, min(len(days), rng.randint(1, 3)))]
        weight = None
        if rng.random() < ranged:
            low = usual[kind] * QUARTERS[size] / 4 * rng.uniform(0.85, 1.15)
            weight = {"low": None if rng.random() < 0.2 else f"{low:.2f}",
                      "high": None if rng.random() < 0.2 else f"{low * 1.06:.2f}"}
        current = None
        if rng.random() < standing:
            fitting = [a for a in animals if a["species"] == kind and (not wanted or a["date"] in wanted
                                                                         or rng.random() < 0.1)]
            rng.shuffle(fitting)
            for a in fitting[:6]:
                side = "both" if size == "whole" else rng.choice(["left", "right"])
                need = {s: 2 if size == "whole" else QUARTERS[size] for s in (["left", "right"] if side == "both" else [side])}
                if all(free[a["id"]][s] >= q for s, q in need.items()):
                    for s, q in need.items():
                        free[a["id"]][s] -= q
                    current = {"animal": a["id"], "side": side, "locked": rng.random() < 0.2}
                    break
        reservations.append({
            "id": f"R{n}", "species": kind, "size": size,
            "taken_at": f"2027-0{rng.randint(1, 6)}-{rng.randint(1, 28):02d}T{rng.randint(0, 23):02d}:00:00Z",
            "deposit_paid": rng.random() < 0.6, "dates": wanted,
            "together": f"g{rng.randint(1, max(1, orders // 5))}" if rng.random() < grouped else None,
            "weight": weight, "current": current})
    pairs = {tuple(sorted(rng.sample(range(orders), 2))) for _ in range(rng.choice([0, orders // 2, 2 * orders]))}
    differences = [{"a": f"R{a}", "b": f"R{b}", "blocks": rng.randint(0, 6)} for a, b in sorted(pairs)]
    return {"animals": animals, "reservations": reservations, "sheet_differences": differences,
            "keep": rng.random() < 0.6, "open_custom_from": custom_from, "time_limit_ms": 800}
