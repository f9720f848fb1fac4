"""Reads a journal of Gambrel's with Beancount, an independent program for plain-text accounting, and tells what it found as JSON:
its complaints (unbalanced entries, balances that are not as stated), how many entries there are, and the balance of each account.

    python tests/ledger_peer.py journal.txt
"""

import json
import sys

from beancount import loader
from beancount.core import data, inventory


def main() -> int:
    entries, errors, _ = loader.load_file(sys.argv[1])
    balances: dict[str, inventory.Inventory] = {}
    count = 0
    for entry in entries:
        if isinstance(entry, data.Transaction):
            count += 1
            for posting in entry.postings:
                balances.setdefault(posting.account, inventory.Inventory()).add_position(posting)
    told = {name: str(held.get_currency_units("USD").number) for name, held in balances.items()}
    stated = sum(isinstance(entry, data.Balance) for entry in entries)
    json.dump({"errors": [e.message for e in errors], "entries": count, "stated": stated, "balances": told}, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())
