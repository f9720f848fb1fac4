"""The list of what went wrong: kept while the walk goes on, printed at its end."""

from __future__ import annotations


class Faults:
    """Collects faults by place; the same fault at the same place is kept once."""

    def __init__(self) -> None:
        self.found: dict[tuple[str, str], int] = {}
        self.checked = 0

    def add(self, where: str, what: str) -> None:
        self.found[where, what] = self.found.get((where, what), 0) + 1

    def check(self, holds: bool, where: str, what: str) -> bool:
        """Counts one assertion; a fault when it does not hold."""
        self.checked += 1
        if not holds:
            self.add(where, what)
        return holds

    def same(self, where: str, what: str, found: object, wanted: object) -> bool:
        """Counts one comparison and says both sides when they differ."""
        return self.check(found == wanted, where, f"{what}: found {found!r}, wanted {wanted!r}")

    def print(self) -> None:
        for (where, what), times in self.found.items():
            print(f"  {where}: {what}" + (f"  (× {times})" if times > 1 else ""))
