DROP INDEX payment_by_day;
DROP TABLE bank_tie;
DROP TABLE deposit_slip_item;
DROP TABLE deposit_slip;
DROP TABLE bank_line;
DROP TABLE bank_file;
DROP TABLE bank_upload;
DROP TABLE bank_account;
DROP TABLE unmatched_money;
-- Entries about nobody known cannot be kept by the tables as they were.
CREATE TABLE ledger_line_before AS SELECT entry_id, position, account, amount, customer_id, reservation_id, invoice_id FROM ledger_line
    WHERE entry_id NOT IN (SELECT entry_id FROM ledger_line WHERE customer_id IS NULL);
DROP TABLE ledger_line;
CREATE TABLE ledger_entry_anew (
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
INSERT INTO ledger_entry_anew (id, kind, day, customer_id, reservation_id, invoice_id, payment_id, note, actor, made_at)
    SELECT id, kind, day, customer_id, reservation_id, invoice_id, payment_id, note, actor, made_at FROM ledger_entry
    WHERE id IN (SELECT entry_id FROM ledger_line_before) AND customer_id IS NOT NULL;
DROP TABLE ledger_entry;
ALTER TABLE ledger_entry_anew RENAME TO ledger_entry;
CREATE INDEX ledger_entry_by_day ON ledger_entry (day, id);
CREATE INDEX ledger_entry_by_reservation ON ledger_entry (reservation_id, payment_id);
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
INSERT INTO ledger_line (entry_id, position, account, amount, customer_id, reservation_id, invoice_id)
    SELECT entry_id, position, account, amount, customer_id, reservation_id, invoice_id FROM ledger_line_before
    WHERE entry_id IN (SELECT id FROM ledger_entry);
DROP TABLE ledger_line_before;
CREATE INDEX ledger_line_by_account ON ledger_line (account, entry_id, amount);
CREATE INDEX ledger_line_by_customer ON ledger_line (customer_id, account, amount);
CREATE TRIGGER ledger_entry_stays BEFORE UPDATE ON ledger_entry BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER ledger_entry_remains BEFORE DELETE ON ledger_entry BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER ledger_line_stays BEFORE UPDATE ON ledger_line BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER ledger_line_remains BEFORE DELETE ON ledger_line BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
