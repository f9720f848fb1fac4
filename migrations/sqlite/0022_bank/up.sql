-- Money that came in and nobody knows from whom has no customer yet, so an entry of the ledger and its lines may be without one. The tables
-- are made anew with what is in them, because SQLite cannot take a NOT NULL away; lines first, because they point to entries.
CREATE TABLE ledger_line_before AS SELECT entry_id, position, account, amount, customer_id, reservation_id, invoice_id FROM ledger_line;
DROP TABLE ledger_line;
CREATE TABLE ledger_entry_anew (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    kind TEXT NOT NULL,
    day TEXT NOT NULL CHECK (day GLOB '????-??-??'),
    customer_id INTEGER REFERENCES customer (id),
    reservation_id INTEGER REFERENCES reservation (id),
    invoice_id INTEGER REFERENCES invoice (id),
    payment_id INTEGER REFERENCES payment (id),
    note TEXT NOT NULL DEFAULT '',
    actor TEXT NOT NULL,
    made_at INTEGER NOT NULL
) STRICT;
INSERT INTO ledger_entry_anew (id, kind, day, customer_id, reservation_id, invoice_id, payment_id, note, actor, made_at)
    SELECT id, kind, day, customer_id, reservation_id, invoice_id, payment_id, note, actor, made_at FROM ledger_entry;
DROP TABLE ledger_entry;
ALTER TABLE ledger_entry_anew RENAME TO ledger_entry;
-- balances as of a day, and the journal in order of days
CREATE INDEX ledger_entry_by_day ON ledger_entry (day, id);
-- the refund slips of an order's deposit
CREATE INDEX ledger_entry_by_reservation ON ledger_entry (reservation_id, payment_id);
CREATE TABLE ledger_line (
    entry_id INTEGER NOT NULL REFERENCES ledger_entry (id),
    position INTEGER NOT NULL,
    account TEXT NOT NULL,
    amount INTEGER NOT NULL CHECK (amount <> 0),
    customer_id INTEGER REFERENCES customer (id),
    reservation_id INTEGER REFERENCES reservation (id),
    invoice_id INTEGER REFERENCES invoice (id),
    PRIMARY KEY (entry_id, position)
) STRICT;
INSERT INTO ledger_line (entry_id, position, account, amount, customer_id, reservation_id, invoice_id)
    SELECT entry_id, position, account, amount, customer_id, reservation_id, invoice_id FROM ledger_line_before;
DROP TABLE ledger_line_before;
-- the balance of an account, and the entries behind it
CREATE INDEX ledger_line_by_account ON ledger_line (account, entry_id, amount);
-- a customer's credit and what is promised back
CREATE INDEX ledger_line_by_customer ON ledger_line (customer_id, account, amount);
CREATE TRIGGER ledger_entry_stays BEFORE UPDATE ON ledger_entry BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER ledger_entry_remains BEFORE DELETE ON ledger_entry BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER ledger_line_stays BEFORE UPDATE ON ledger_line BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER ledger_line_remains BEFORE DELETE ON ledger_line BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;

-- Money that came in and nobody knows from whom. payer: what is known, such as words of the bank. payment_id: what it became when it was
-- matched. back_*: given back instead. Neither: it waits.
CREATE TABLE unmatched_money (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    method TEXT NOT NULL CHECK (method IN ('cash', 'check', 'card', 'transfer', 'other')),
    amount INTEGER NOT NULL CHECK (amount > 0),
    received_on TEXT NOT NULL CHECK (received_on GLOB '????-??-??'),
    payer TEXT NOT NULL DEFAULT '',
    reference TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT '',
    recorded_at INTEGER NOT NULL,
    payment_id INTEGER UNIQUE REFERENCES payment (id),
    back_method TEXT CHECK (back_method IN ('cash', 'check', 'card', 'transfer', 'other')),
    back_on TEXT CHECK (back_on GLOB '????-??-??'),
    back_words TEXT NOT NULL DEFAULT '',
    CHECK ((back_method IS NULL) = (back_on IS NULL)),
    CHECK (payment_id IS NULL OR back_on IS NULL)
) STRICT;

-- Accounts at a bank whose statements are read. form: how its statements come, once the first one was read. known: SHA-256 of the numbers by
-- which an OFX file names it; the numbers themselves are not kept. matched: which column is which in its tables (JSON).
CREATE TABLE bank_account (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    name TEXT NOT NULL UNIQUE,
    form TEXT CHECK (form IN ('csv', 'ofx')),
    known TEXT UNIQUE,
    matched TEXT NOT NULL DEFAULT '[]',
    made_at INTEGER NOT NULL
) STRICT;

-- Tables of a bank on their way in, for a day, until their columns are matched.
CREATE TABLE bank_upload (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    account_id INTEGER NOT NULL REFERENCES bank_account (id),
    name TEXT NOT NULL,
    content TEXT NOT NULL,
    made_at INTEGER NOT NULL
) STRICT;

-- Statements that were read: how many lines they have, and how many of them were new.
CREATE TABLE bank_file (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    account_id INTEGER NOT NULL REFERENCES bank_account (id),
    name TEXT NOT NULL,
    first_on TEXT NOT NULL CHECK (first_on GLOB '????-??-??'),
    last_on TEXT NOT NULL CHECK (last_on GLOB '????-??-??'),
    line_count INTEGER NOT NULL CHECK (line_count >= 0),
    new_count INTEGER NOT NULL CHECK (new_count >= 0),
    taken_by TEXT NOT NULL,
    taken_at INTEGER NOT NULL
) STRICT;

-- Lines of statements, each kept once. amount: added to the account, below zero when taken off. line_key: what the line is known by when it
-- comes again; the unique index finds it. Never changed.
CREATE TABLE bank_line (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    account_id INTEGER NOT NULL REFERENCES bank_account (id),
    file_id INTEGER NOT NULL REFERENCES bank_file (id),
    line_key TEXT NOT NULL,
    day TEXT NOT NULL CHECK (day GLOB '????-??-??'),
    amount INTEGER NOT NULL CHECK (amount <> 0),
    words TEXT NOT NULL,
    reference TEXT NOT NULL,
    UNIQUE (account_id, line_key)
) STRICT;
-- the lines in order of days
CREATE INDEX bank_line_by_day ON bank_line (day, id);

-- A bank deposit slip: which money was taken to the bank. cash: what was counted. document: the paper's content, frozen.
CREATE TABLE deposit_slip (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    made_on TEXT NOT NULL CHECK (made_on GLOB '????-??-??'),
    cash INTEGER NOT NULL CHECK (cash >= 0),
    total INTEGER NOT NULL CHECK (total > 0),
    document TEXT NOT NULL,
    made_by TEXT NOT NULL,
    made_at INTEGER NOT NULL
) STRICT;
-- What is on a slip: payments, or money that is not matched. Each is on one slip at most.
CREATE TABLE deposit_slip_item (
    slip_id INTEGER NOT NULL REFERENCES deposit_slip (id),
    position INTEGER NOT NULL,
    payment_id INTEGER UNIQUE REFERENCES payment (id),
    unmatched_id INTEGER UNIQUE REFERENCES unmatched_money (id),
    PRIMARY KEY (slip_id, position),
    CHECK ((payment_id IS NULL) <> (unmatched_id IS NULL))
) STRICT;

-- What a line of a statement is: a payment that came in or was given back, money that is not matched (came in, or given back), a deposit slip,
-- or nothing of this book (set aside). Taken away again by hand.
CREATE TABLE bank_tie (
    line_id INTEGER PRIMARY KEY NOT NULL REFERENCES bank_line (id),
    kind TEXT NOT NULL CHECK (kind IN ('payment', 'refund', 'unmatched', 'given_back', 'slip', 'aside')),
    payment_id INTEGER UNIQUE REFERENCES payment (id),
    unmatched_id INTEGER REFERENCES unmatched_money (id),
    slip_id INTEGER UNIQUE REFERENCES deposit_slip (id),
    words TEXT NOT NULL DEFAULT '',
    tied_by TEXT NOT NULL,
    tied_at INTEGER NOT NULL,
    UNIQUE (unmatched_id, kind),
    CHECK ((kind IN ('payment', 'refund')) = (payment_id IS NOT NULL)),
    CHECK ((kind IN ('unmatched', 'given_back')) = (unmatched_id IS NOT NULL)),
    CHECK ((kind = 'slip') = (slip_id IS NOT NULL))
) STRICT;
-- the payments of a day, for the day's takings and for what a line of the bank may be
CREATE INDEX payment_by_day ON payment (received_on, id);
