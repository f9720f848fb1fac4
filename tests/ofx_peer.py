"""Reads bank statements (OFX 1 and 2) with an independent library and tells what is in them, as JSON: one list of accounts per file."""

from __future__ import annotations

import io
import json
import sys

from ofxparse import OfxParser


def told(path: str) -> list:
    with open(path, "rb") as file:
        data = file.read()
    # The library reads the letters of OFX 1 only; others are given to it as character references.
    ofx = OfxParser.parse(io.BytesIO(data.decode("utf-8").encode("ascii", "xmlcharrefreplace")))
    accounts = []
    for account in ofx.accounts:
        lines = [
            {"day": t.date.date().isoformat(), "amount": str(t.amount), "id": t.id, "name": t.payee, "memo": t.memo, "check": t.checknum}
            for t in account.statement.transactions
        ]
        accounts.append({"account": account.account_id, "bank": account.routing_number, "lines": lines})
    return accounts


if __name__ == "__main__":
    json.dump([told(path) for path in sys.argv[1:]], sys.stdout)
