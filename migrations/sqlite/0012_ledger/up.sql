-- Double entry: what each act did to the accounts. Append-only: the triggers below refuse every change. kind: the act; day: the day it counts
-- for; note: in words. Derived from payments, allocations and invoices in the transaction of the act; `gambrel check` proves them equal.
CREATE TABLE ledger_entry (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    kind TEXT NOT NULL,
    day TEXT NOT NULL CHECK (day GLOB '????-??-??'),
    customer_id INTEGER NOT NULL REFERENCES customer (id),
    reservation_id INTEGER REFERENCES reservation (id),
    invoice_id INTEGER REFERENCES invoice (id),
    payment_id INTEGER REFERENCES payment (id),
    note TEXT NOT NULL DEFAULT '',
    actor TEXT NOT NULL,
    made_at INTEGER NOT NULL
) STRICT;
-- balances as of a day, and the journal in order of days
CREATE INDEX ledger_entry_by_day ON ledger_entry (day, id);
-- the refund slips of an order's deposit
CREATE INDEX ledger_entry_by_reservation ON ledger_entry (reservation_id, payment_id);

-- The lines of an entry; they add up to zero. Debit is positive, credit negative. Whose it is, and of which order or invoice.
CREATE TABLE ledger_line (
    entry_id INTEGER NOT NULL REFERENCES ledger_entry (id),
    position INTEGER NOT NULL,
    account TEXT NOT NULL,
    amount INTEGER NOT NULL CHECK (amount <> 0),
    customer_id INTEGER NOT NULL REFERENCES customer (id),
    reservation_id INTEGER REFERENCES reservation (id),
    invoice_id INTEGER REFERENCES invoice (id),
    PRIMARY KEY (entry_id, position)
) STRICT;
-- the balance of an account, and the entries behind it
CREATE INDEX ledger_line_by_account ON ledger_line (account, entry_id, amount);
-- a customer's credit and what is promised back
CREATE INDEX ledger_line_by_customer ON ledger_line (customer_id, account, amount);

-- Two payments that belong together. 'bounced': second, a refund, undoes first, which was received. 'moved': first, a refund of the giver,
-- became second, received by the taker; no money changed hands.
CREATE TABLE payment_pair (
    second_id INTEGER NOT NULL PRIMARY KEY REFERENCES payment (id),
    first_id INTEGER NOT NULL UNIQUE REFERENCES payment (id),
    kind TEXT NOT NULL CHECK (kind IN ('bounced', 'moved'))
) STRICT;

-- What an issued invoice's balance changed by other than by payment. 'write_off' and 'credit' take off (amount < 0), 'charge' adds (amount > 0).
-- Append-only. tax: what of the amount is tax. number and document: the credit note's paper, frozen.
CREATE TABLE invoice_change (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    invoice_id INTEGER NOT NULL REFERENCES invoice (id),
    kind TEXT NOT NULL CHECK (kind IN ('write_off', 'credit', 'charge')),
    amount INTEGER NOT NULL CHECK (amount <> 0),
    tax INTEGER NOT NULL DEFAULT 0,
    made_on TEXT NOT NULL CHECK (made_on GLOB '????-??-??'),
    reason TEXT NOT NULL,
    number TEXT UNIQUE,
    document TEXT,
    made_at INTEGER NOT NULL
) STRICT;
-- what is owed on an invoice
CREATE INDEX invoice_change_by_invoice ON invoice_change (invoice_id, amount);

-- Numbered slips of money given back; document is the paper's content, frozen.
CREATE TABLE refund_slip (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    number TEXT NOT NULL UNIQUE,
    payment_id INTEGER NOT NULL UNIQUE REFERENCES payment (id),
    made_on TEXT NOT NULL CHECK (made_on GLOB '????-??-??'),
    document TEXT NOT NULL
) STRICT;

-- A refund slip and a credit note for a part can go with a message. The column is made anew because its check becomes wider.
ALTER TABLE message ADD COLUMN paper_kind TEXT CHECK (paper_kind IN ('invoice', 'receipt', 'credit_note', 'packet', 'refund_slip', 'part_credit'));
UPDATE message SET paper_kind = attachment_kind;
ALTER TABLE message DROP COLUMN attachment_kind;
ALTER TABLE message RENAME COLUMN paper_kind TO attachment_kind;

CREATE TRIGGER ledger_entry_stays BEFORE UPDATE ON ledger_entry BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER ledger_entry_remains BEFORE DELETE ON ledger_entry BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER ledger_line_stays BEFORE UPDATE ON ledger_line BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER ledger_line_remains BEFORE DELETE ON ledger_line BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
