-- The farm's terms in versions, counted from 1: other words are another version, and a version never changes. An empty body: from then on
-- the farm asks for none.
CREATE TABLE sale_terms (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    number INTEGER NOT NULL UNIQUE CHECK (number >= 1),
    body TEXT NOT NULL,
    made_on TEXT NOT NULL CHECK (made_on GLOB '????-??-??'),
    made_at INTEGER NOT NULL,
    made_by TEXT NOT NULL
) STRICT;

-- Which version the customer of an order accepted, when and how: 'request' with the request on the farm's page, 'link' on the order's page by
-- private link, 'paper' or 'person' as the farmer noted it. One for each customer an order had.
CREATE TABLE terms_acceptance (
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    customer_id INTEGER NOT NULL REFERENCES customer (id),
    terms_id INTEGER NOT NULL REFERENCES sale_terms (id),
    way TEXT NOT NULL CHECK (way IN ('request', 'link', 'paper', 'person')),
    accepted_on TEXT NOT NULL CHECK (accepted_on GLOB '????-??-??'),
    noted_by TEXT NOT NULL,
    noted_at INTEGER NOT NULL,
    PRIMARY KEY (reservation_id, customer_id)
) STRICT;

-- Confirmations of reservations as they went out, and to whom; document is the paper's content, frozen. deposit_due_on: by when the deposit
-- was asked, if one was.
CREATE TABLE confirmation (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    customer_id INTEGER NOT NULL REFERENCES customer (id),
    made_on TEXT NOT NULL CHECK (made_on GLOB '????-??-??'),
    deposit_due_on TEXT CHECK (deposit_due_on GLOB '????-??-??'),
    document TEXT NOT NULL
) STRICT;
-- the last confirmation that went to the customer of an order
CREATE INDEX confirmation_by_reservation ON confirmation (reservation_id, customer_id, id);

-- A stranger's request to reserve a share. price_*, rate, flat_price, deposit: what the page showed. terms_id: the version accepted with it.
-- message_id: the mail that carries the link to confirm the address, until confirm_by. outcome: 'accepted' (then reservation_id) or
-- 'declined' (then answer holds the words). Requests that were never confirmed are removed when their time is up.
CREATE TABLE reserve_request (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    offering_id INTEGER NOT NULL REFERENCES offering (id),
    size TEXT NOT NULL CHECK (size IN ('whole', 'half', 'quarter')),
    part TEXT CHECK (part IN ('split', 'fore', 'hind')),
    name TEXT NOT NULL,
    mail TEXT NOT NULL,
    phone TEXT NOT NULL,
    address TEXT NOT NULL,
    only_these INTEGER NOT NULL DEFAULT 0 CHECK (only_these IN (0, 1)),
    together TEXT NOT NULL,
    note TEXT NOT NULL,
    price_basis TEXT NOT NULL CHECK (price_basis IN ('hanging', 'live', 'flat')),
    rate INTEGER,
    flat_price INTEGER,
    deposit INTEGER NOT NULL,
    terms_id INTEGER REFERENCES sale_terms (id),
    message_id INTEGER REFERENCES message (id),
    asked_at INTEGER NOT NULL,
    confirm_by INTEGER NOT NULL,
    confirmed_at INTEGER,
    outcome TEXT CHECK (outcome IN ('accepted', 'declined')),
    answered_at INTEGER,
    answered_by TEXT NOT NULL DEFAULT '',
    answer TEXT NOT NULL DEFAULT '',
    reservation_id INTEGER REFERENCES reservation (id),
    CHECK ((outcome IS NULL) = (answered_at IS NULL))
) STRICT;
-- those to answer, oldest first; those whose time to confirm is up
CREATE INDEX reserve_request_open ON reserve_request (outcome, confirmed_at, id);
-- how many of an address wait to be confirmed or answered
CREATE INDEX reserve_request_by_mail ON reserve_request (mail, outcome);
-- the request an order came of
CREATE INDEX reserve_request_by_reservation ON reserve_request (reservation_id);
-- the request a mail is about
CREATE INDEX reserve_request_by_message ON reserve_request (message_id);

-- The dates a request would like, best first.
CREATE TABLE request_date (
    request_id INTEGER NOT NULL REFERENCES reserve_request (id),
    place INTEGER NOT NULL,
    date_id INTEGER NOT NULL REFERENCES processing_date (id),
    PRIMARY KEY (request_id, place)
) STRICT;

-- Links that confirm the address of a request; token_hash is the SHA-256 of the token (192 random bits). Several of one request live side by
-- side, because a mail may be sent again.
CREATE TABLE request_link (
    token_hash TEXT NOT NULL PRIMARY KEY,
    request_id INTEGER NOT NULL REFERENCES reserve_request (id),
    made_at INTEGER NOT NULL
) STRICT;
-- the links of a request, removed with it
CREATE INDEX request_link_by_request ON request_link (request_id);

-- requests: whether strangers may ask for a share on the farm's page, and who accepts. deposit_days: days to send a deposit.
ALTER TABLE farm ADD COLUMN requests TEXT NOT NULL DEFAULT 'off' CHECK (requests IN ('off', 'by_hand', 'automatic'));
ALTER TABLE farm ADD COLUMN deposit_days INTEGER NOT NULL DEFAULT 14 CHECK (deposit_days BETWEEN 1 AND 90);

-- A confirmation can go with a message. The column is made anew without a list of kinds: the program knows them, and the next kind of paper
-- needs no new column.
ALTER TABLE message ADD COLUMN paper_kind TEXT;
UPDATE message SET paper_kind = attachment_kind;
ALTER TABLE message DROP COLUMN attachment_kind;
ALTER TABLE message RENAME COLUMN paper_kind TO attachment_kind;

CREATE TRIGGER sale_terms_stay BEFORE UPDATE ON sale_terms BEGIN SELECT RAISE(ABORT, 'a version of the terms never changes'); END;
CREATE TRIGGER sale_terms_remain BEFORE DELETE ON sale_terms BEGIN SELECT RAISE(ABORT, 'a version of the terms never changes'); END;
