#!/usr/bin/env python3
"""Makes the filled books of earlier schemas: python3 tests/books/make.py DEMO.json [STEP ...]

DEMO.json is `gambrel export` of a demo book. For each step of migrations/sqlite (or those named) the steps up to it are played into an
empty SQLite database, the demo's rows are put in as far as that schema has their tables and columns and takes their values, and what
lies there then is written as a file of the whole book, packed. A file that is there is left as it is: a kept book never changes.
It uses nothing of Gambrel but the SQL of the steps, so it also holds docs/book-json.md against a second writer.
"""
import gzip
import hashlib
import json
import pathlib
import re
import sqlite3
import sys

HERE = pathlib.Path(__file__).parent
STEPS = sorted((HERE / "../../migrations/sqlite").resolve().iterdir())
# What makes a file large without telling an upgrade anything: rows that are kept, at most, and pictures but the first.
AT_MOST = {"public_picture": 1, "used_form_key": 5, "story": 400}
# Columns that were there before anything was written into them: (table, column) -> the first step at which a program wrote it.
WRITTEN_FROM = {("reservation", "collected_at"): "0018"}


def number(folder):
    return folder.name.split("_")[0]


def kinds():
    """(table, column) -> type, from schema.rs: SQLite has no days and no yes or no."""
    table, found = "", {}
    for line in (HERE / "../../src/book/schema.rs").read_text().splitlines():
        line = line.strip()
        if line.endswith(") {") and " (" in line:
            table = line.split(" (")[0]
        elif " -> " in line and line.endswith(",") and not line.startswith("//"):
            name, kind = line.rstrip(",").split(" -> ")
            kind = re.sub(r"^Nullable<(.*)>$", r"\1", kind)
            found[table, name] = {"BigInt": "number", "Bool": "yes or no", "Date": "day", "Text": "text"}[kind]
    return found


def text_of(row, types):
    out = []
    for value, kind in zip(row, types):
        if value is None:
            out.append("-")
        else:
            text = str(int(value)) if kind in ("number", "yes or no") else value
            out.append(f"{len(text)}:{text}")
    return "".join(out)


def fill(db, demo, last):
    """Puts the demo's rows in; returns how many a table of that schema, whose last step is `last`, did not take."""
    left_out = {}
    for table in demo["tables"]:
        name = table["table"]
        there = {r[1] for r in db.execute(f'PRAGMA table_info("{name}")')}
        if not there:
            continue
        at = [(n, c["name"]) for n, c in enumerate(table["columns"]) if c["name"] in there]
        names = ", ".join(f'"{c}"' for _, c in at)
        for row in table["rows"][: AT_MOST.get(name)]:
            values = [None if last < WRITTEN_FROM.get((name, c), "") else row[n] for n, c in at]
            if name == "public_picture_size" and values[[c for _, c in at].index("picture_id")] != 1:
                continue
            try:
                db.execute(f'INSERT INTO "{name}" ({names}) VALUES ({", ".join("?" for _ in at)})', values)
            except sqlite3.IntegrityError as why:
                left_out.setdefault(name, []).append(str(why))
    return left_out


def tables_in_order(db):
    names = [r[0] for r in db.execute("SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name")]
    points = {n: {r[2] for r in db.execute(f'PRAGMA foreign_key_list("{n}")')} - {n} for n in names}
    done = []
    while names:
        ready = next(n for n in names if points[n] <= set(done))
        done.append(ready)
        names.remove(ready)
    return done


def write(db, steps, known, made_at):
    out = ["{", '"format": "gambrel-book", "version": 1,', f'"schema": {json.dumps(steps[-1])},',
           f'"steps": {json.dumps(steps)},', f'"made_at": {json.dumps(made_at)},', '"secrets": true,', '"tables": [']
    tables = []
    for name in tables_in_order(db):
        info = list(db.execute(f'PRAGMA table_info("{name}")'))
        keys = sorted((r for r in info if r[5]), key=lambda r: r[5])
        columns = [r[1] for r in keys] + sorted(r[1] for r in info if not r[5])
        types = [known.get((name, c)) or {"INTEGER": "number", "TEXT": "text"}[next(r[2] for r in info if r[1] == c)] for c in columns]
        picked = ", ".join(f'"{c}"' for c in columns)
        by = ", ".join(f'"{r[1]}"' for r in keys)
        rows = [list(r) for r in db.execute(f'SELECT {picked} FROM "{name}" ORDER BY {by}')]
        sum_ = hashlib.sha256("".join(text_of(r, types) + "\n" for r in rows).encode()).hexdigest()
        rows = [[bool(v) if t == "yes or no" and v is not None else v for v, t in zip(r, types)] for r in rows]
        last = next(iter(db.execute("SELECT seq FROM sqlite_sequence WHERE name = ?", [name])), None)
        has_ids = "AUTOINCREMENT" in next(iter(db.execute("SELECT sql FROM sqlite_schema WHERE name = ?", [name])))[0]
        parts = [f'{{"table": {json.dumps(name)},',
                 ' "columns": ' + json.dumps([{"name": c, "type": t} for c, t in zip(columns, types)]) + ","]
        if has_ids:
            parts.append(f' "last_id": {last[0] if last else 0},')
        parts.append(' "rows": [' + ",".join("\n  " + json.dumps(r, ensure_ascii=False, separators=(",", ":")) for r in rows) + "],")
        parts.append(f' "count": {len(rows)}, "sha256": "{sum_}"}}')
        tables.append("\n".join(parts))
    out.append(",\n".join(tables) + "\n]\n}\n")
    return "\n".join(out)


def main():
    demo = json.loads(pathlib.Path(sys.argv[1]).read_text())
    asked, known = set(sys.argv[2:]), kinds()
    for n, folder in enumerate(STEPS):
        target = HERE / f"{folder.name}.json.gz"
        if (asked and number(folder) not in asked) or target.exists():
            continue
        db = sqlite3.connect(":memory:", isolation_level=None)
        for step in STEPS[: n + 1]:
            db.executescript((step / "up.sql").read_text())
        db.execute("PRAGMA foreign_keys = ON")
        left_out = fill(db, demo, number(folder))
        assert not list(db.execute("PRAGMA foreign_key_check"))
        text = write(db, [number(s) for s in STEPS[: n + 1]], known, demo["made_at"])
        # Without the time, so that the same rows give the same file.
        target.write_bytes(gzip.compress(text.encode(), 9, mtime=0))
        said = "; ".join(f"{t}: {len(w)} ({sorted(set(w))[0]})" for t, w in left_out.items())
        print(f"{target.name}: {target.stat().st_size // 1000} KB" + (f", not taken: {said}" if said else ""))


main()
