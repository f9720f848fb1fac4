-- What an animal or a lot (several animals) cost the farm. amount: in cents. by 'head': shared evenly; 'hanging': by hanging weight once
-- all of them hang. What each animal bears is reckoned, never stored. taken_back_at: it was entered by mistake and counts nowhere.
CREATE TABLE cost (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('feeder', 'feed', 'vet', 'haul', 'other')),
    on_day TEXT NOT NULL CHECK (on_day GLOB '????-??-??'),
    words TEXT NOT NULL DEFAULT '',
    amount INTEGER NOT NULL CHECK (amount > 0),
    shared_by TEXT NOT NULL CHECK (shared_by IN ('head', 'hanging')),
    made_at INTEGER NOT NULL,
    taken_back_at INTEGER,
    version INTEGER NOT NULL DEFAULT 1
) STRICT;
-- the latest costs, page by page
CREATE INDEX cost_by_day ON cost (on_day, id);

-- The animals a cost is of.
CREATE TABLE cost_head (
    cost_id INTEGER NOT NULL REFERENCES cost (id),
    animal_id INTEGER NOT NULL REFERENCES animal (id),
    PRIMARY KEY (cost_id, animal_id)
) STRICT;
-- what an animal cost
CREATE INDEX cost_head_by_animal ON cost_head (animal_id, cost_id);

-- The words of the farm's bill of sale; one row, none means the sample of trade::bill_of_sale.
CREATE TABLE bill_of_sale_text (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    body TEXT NOT NULL CHECK (body <> ''),
    version INTEGER NOT NULL DEFAULT 1
) STRICT;

-- Bills of sale as they were made, for a share of a live animal. document: the frozen paper. Made before the day of slaughter.
CREATE TABLE bill_of_sale (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    customer_id INTEGER NOT NULL REFERENCES customer (id),
    animal_id INTEGER NOT NULL REFERENCES animal (id),
    made_on TEXT NOT NULL CHECK (made_on GLOB '????-??-??'),
    kill_on TEXT CHECK (kill_on > made_on),
    document TEXT NOT NULL,
    made_at INTEGER NOT NULL
) STRICT;
-- the bills of sale of an order
CREATE INDEX bill_of_sale_by_reservation ON bill_of_sale (reservation_id, id);

-- When Gambrel reminds of balances by itself, in days after the due day; empty: it does not. interest: per cent a month in thousandths on
-- what is overdue, empty: none. One row, none means nothing goes out by itself and no interest.
CREATE TABLE balance_rule (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    friendly_after INTEGER CHECK (friendly_after BETWEEN 1 AND 365),
    firm_after INTEGER CHECK (firm_after BETWEEN 1 AND 365),
    interest INTEGER CHECK (interest BETWEEN 1 AND 100000),
    version INTEGER NOT NULL DEFAULT 1
) STRICT;

-- Customers who get no reminder of a balance by itself.
CREATE TABLE balance_stop (
    customer_id INTEGER PRIMARY KEY NOT NULL REFERENCES customer (id),
    reason TEXT NOT NULL DEFAULT '',
    stopped_at INTEGER NOT NULL
) STRICT;

-- Letters about an overdue balance that were written. by_itself 1: by schedule; then once for each tone of an invoice.
CREATE TABLE balance_letter (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    invoice_id INTEGER NOT NULL REFERENCES invoice (id),
    tone TEXT NOT NULL CHECK (tone IN ('friendly', 'firm', 'last')),
    message_id INTEGER NOT NULL REFERENCES message (id),
    by_itself INTEGER NOT NULL CHECK (by_itself IN (0, 1)),
    written_on TEXT NOT NULL CHECK (written_on GLOB '????-??-??'),
    made_at INTEGER NOT NULL
) STRICT;
-- the letters of an invoice; by schedule one of each tone
CREATE INDEX balance_letter_by_invoice ON balance_letter (invoice_id, id);
CREATE UNIQUE INDEX balance_letter_once ON balance_letter (invoice_id, tone) WHERE by_itself = 1;

-- Interest charged on an overdue invoice, month by month. through_day: the end of the last month charged.
CREATE TABLE interest_charge (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    invoice_id INTEGER NOT NULL REFERENCES invoice (id),
    months INTEGER NOT NULL CHECK (months > 0),
    through_day TEXT NOT NULL CHECK (through_day GLOB '????-??-??'),
    change_id INTEGER NOT NULL REFERENCES invoice_change (id),
    made_at INTEGER NOT NULL
) STRICT;
-- what was charged on an invoice already, and each month once
CREATE UNIQUE INDEX interest_charge_by_invoice ON interest_charge (invoice_id, through_day);
