-- The farm and its settings: one row. Terms: 'days' = due terms_days after issue, 'pickup' = before pickup. split_basis: 'as_hung' or 'even' as in trade::carcass.
CREATE TABLE farm (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    name TEXT NOT NULL DEFAULT '',
    contact_name TEXT NOT NULL DEFAULT '',
    address TEXT NOT NULL DEFAULT '',
    phone TEXT NOT NULL DEFAULT '',
    mail TEXT NOT NULL DEFAULT '',
    unit TEXT NOT NULL DEFAULT 'lb' CHECK (unit IN ('lb', 'kg')),
    paper TEXT NOT NULL DEFAULT 'letter' CHECK (paper IN ('letter', 'a4')),
    time_zone TEXT NOT NULL DEFAULT 'America/Chicago',
    payee TEXT NOT NULL DEFAULT '',
    pay_address TEXT NOT NULL DEFAULT '',
    pay_words TEXT NOT NULL DEFAULT '',
    terms TEXT NOT NULL DEFAULT 'days' CHECK (terms IN ('days', 'pickup')),
    terms_days INTEGER NOT NULL DEFAULT 14 CHECK (terms_days BETWEEN 0 AND 365),
    deposit_policy TEXT NOT NULL DEFAULT '',
    split_basis TEXT NOT NULL DEFAULT 'as_hung' CHECK (split_basis IN ('as_hung', 'even')),
    set_up_at INTEGER,
    is_demo INTEGER NOT NULL DEFAULT 0 CHECK (is_demo IN (0, 1)),
    version INTEGER NOT NULL DEFAULT 1
) STRICT;

-- People who sign in. mail is stored folded to lower case.
CREATE TABLE account (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    mail TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    password_hash TEXT NOT NULL,
    role TEXT NOT NULL CHECK (role IN ('farmer', 'helper')),
    created_at INTEGER NOT NULL,
    disabled_at INTEGER
) STRICT;

-- Signed-in browsers. id_hash is the SHA-256 of the cookie's random id; form_secret keys that browser's one-use form keys.
CREATE TABLE session (
    id_hash TEXT NOT NULL PRIMARY KEY,
    account_id INTEGER NOT NULL REFERENCES account (id),
    form_secret TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    last_seen_at INTEGER NOT NULL,
    ends_at INTEGER NOT NULL
) STRICT;
-- end every session of one account
CREATE INDEX session_by_account ON session (account_id);

-- The link printed at the first start that makes the first account; good once.
CREATE TABLE setup_link (
    token_hash TEXT NOT NULL PRIMARY KEY,
    made_at INTEGER NOT NULL,
    ends_at INTEGER NOT NULL,
    used_at INTEGER
) STRICT;

-- One-use form keys already used, with where the first use led.
CREATE TABLE used_form_key (
    form_key TEXT NOT NULL PRIMARY KEY,
    used_at INTEGER NOT NULL,
    location TEXT NOT NULL
) STRICT;
-- forget keys after two days
CREATE INDEX used_form_key_by_age ON used_form_key (used_at);

-- Gap-free numbers: one row per series and year, counted up in the transaction that uses the number.
CREATE TABLE counter (
    name TEXT NOT NULL PRIMARY KEY,
    value INTEGER NOT NULL CHECK (value >= 0)
) STRICT;

-- Customers. search is name, mail and phone folded for finding.
CREATE TABLE customer (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    name TEXT NOT NULL CHECK (name <> ''),
    mail TEXT NOT NULL DEFAULT '',
    phone TEXT NOT NULL DEFAULT '',
    address TEXT NOT NULL DEFAULT '',
    notes TEXT NOT NULL DEFAULT '',
    search TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    version INTEGER NOT NULL DEFAULT 1
) STRICT;
-- the list of customers, paged by key
CREATE INDEX customer_by_name ON customer (name, id);
-- duplicates while typing
CREATE INDEX customer_by_mail ON customer (mail);

-- What the farm has for sale. expected_* are hanging weights per head. quarter_part: how quarters of it are divided.
CREATE TABLE offering (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    species TEXT NOT NULL CHECK (species IN ('beef', 'hog', 'lamb', 'goat')),
    season TEXT NOT NULL CHECK (season <> ''),
    head_count INTEGER NOT NULL CHECK (head_count BETWEEN 0 AND 10000),
    sells_whole INTEGER NOT NULL CHECK (sells_whole IN (0, 1)),
    sells_half INTEGER NOT NULL CHECK (sells_half IN (0, 1)),
    sells_quarter INTEGER NOT NULL CHECK (sells_quarter IN (0, 1)),
    quarter_part TEXT NOT NULL DEFAULT 'split' CHECK (quarter_part IN ('split', 'fore_hind')),
    expected_low INTEGER CHECK (expected_low >= 0),
    expected_high INTEGER CHECK (expected_high >= expected_low),
    notes TEXT NOT NULL DEFAULT '',
    closed_at INTEGER,
    created_at INTEGER NOT NULL,
    version INTEGER NOT NULL DEFAULT 1
) STRICT;

-- Price list: the row with the latest effective_from not after the day holds; same day: the latest id. Never updated. basis 'flat' uses flat_price, the others rate.
CREATE TABLE price (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    offering_id INTEGER NOT NULL REFERENCES offering (id),
    size TEXT NOT NULL CHECK (size IN ('whole', 'half', 'quarter')),
    effective_from TEXT NOT NULL CHECK (effective_from GLOB '????-??-??'),
    basis TEXT NOT NULL CHECK (basis IN ('hanging', 'live', 'flat')),
    rate INTEGER CHECK (rate >= 0),
    flat_price INTEGER CHECK (flat_price >= 0),
    deposit INTEGER NOT NULL CHECK (deposit >= 0),
    created_at INTEGER NOT NULL,
    CHECK ((basis = 'flat' AND flat_price IS NOT NULL AND rate IS NULL) OR (basis <> 'flat' AND rate IS NOT NULL AND flat_price IS NULL))
) STRICT;
-- the price in force
CREATE INDEX price_by_offering ON price (offering_id, size, effective_from);

-- Plants.
CREATE TABLE processor (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    name TEXT NOT NULL CHECK (name <> ''),
    address TEXT NOT NULL DEFAULT '',
    phone TEXT NOT NULL DEFAULT '',
    mail TEXT NOT NULL DEFAULT '',
    inspection TEXT NOT NULL CHECK (inspection IN ('custom', 'state', 'federal')),
    days_notice INTEGER NOT NULL DEFAULT 0 CHECK (days_notice BETWEEN 0 AND 365),
    notes TEXT NOT NULL DEFAULT '',
    retired_at INTEGER,
    created_at INTEGER NOT NULL,
    version INTEGER NOT NULL DEFAULT 1
) STRICT;

-- A plant's schedule of charges. species and size empty = for all. per head and its minima are for a whole head.
CREATE TABLE processor_charge (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    processor_id INTEGER NOT NULL REFERENCES processor (id),
    name TEXT NOT NULL CHECK (name <> ''),
    species TEXT CHECK (species IN ('beef', 'hog', 'lamb', 'goat')),
    size TEXT CHECK (size IN ('whole', 'half', 'quarter')),
    per TEXT NOT NULL CHECK (per IN ('head', 'share', 'unit_hanging', 'unit_product')),
    rate INTEGER NOT NULL CHECK (rate >= 0),
    minimum_quantity INTEGER CHECK (minimum_quantity >= 0),
    minimum_amount INTEGER CHECK (minimum_amount >= 0),
    billed_by TEXT NOT NULL CHECK (billed_by IN ('farm', 'processor')),
    tax_percent INTEGER NOT NULL DEFAULT 0 CHECK (tax_percent BETWEEN 0 AND 100000),
    position INTEGER NOT NULL DEFAULT 0,
    retired_at INTEGER
) STRICT;
-- a plant's schedule in order
CREATE INDEX processor_charge_by_processor ON processor_charge (processor_id, position);

-- Booked days at a plant.
CREATE TABLE processing_date (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    processor_id INTEGER NOT NULL REFERENCES processor (id),
    kill_on TEXT NOT NULL CHECK (kill_on GLOB '????-??-??'),
    deliver_on TEXT CHECK (deliver_on GLOB '????-??-??'),
    deliver_time TEXT NOT NULL DEFAULT '',
    sheets_due TEXT CHECK (sheets_due GLOB '????-??-??'),
    pickup_from TEXT CHECK (pickup_from GLOB '????-??-??'),
    pickup_to TEXT CHECK (pickup_to GLOB '????-??-??'),
    notes TEXT NOT NULL DEFAULT '',
    cancelled_at INTEGER,
    created_at INTEGER NOT NULL,
    version INTEGER NOT NULL DEFAULT 1
) STRICT;
-- dates in order
CREATE INDEX processing_date_by_day ON processing_date (kill_on, id);

-- Head slots booked for a date, by species.
CREATE TABLE date_slot (
    date_id INTEGER NOT NULL REFERENCES processing_date (id),
    species TEXT NOT NULL CHECK (species IN ('beef', 'hog', 'lamb', 'goat')),
    head INTEGER NOT NULL CHECK (head BETWEEN 0 AND 1000),
    PRIMARY KEY (date_id, species)
) STRICT;

-- One head. birth_precision 'exact', 'month' or 'unknown'. lost_on: died or was taken out before its date.
CREATE TABLE animal (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    tag TEXT NOT NULL CHECK (tag <> ''),
    species TEXT NOT NULL CHECK (species IN ('beef', 'hog', 'lamb', 'goat')),
    class TEXT NOT NULL,
    sex TEXT NOT NULL CHECK (sex IN ('female', 'male', 'castrated')),
    birth_on TEXT CHECK (birth_on GLOB '????-??-??'),
    birth_precision TEXT NOT NULL DEFAULT 'unknown' CHECK (birth_precision IN ('exact', 'month', 'unknown')),
    breed TEXT NOT NULL DEFAULT '',
    official_id TEXT NOT NULL DEFAULT '',
    notes TEXT NOT NULL DEFAULT '',
    date_id INTEGER REFERENCES processing_date (id),
    lost_on TEXT CHECK (lost_on GLOB '????-??-??'),
    lost_reason TEXT NOT NULL DEFAULT '',
    created_at INTEGER NOT NULL,
    version INTEGER NOT NULL DEFAULT 1
) STRICT;
-- the head of one date
CREATE INDEX animal_by_date ON animal (date_id, id);
-- search and repeated tags
CREATE INDEX animal_by_tag ON animal (tag);

-- Live weights. girth and length in hundredths of an inch (farm in lb) or centimetre (farm in kg).
CREATE TABLE live_weight (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    animal_id INTEGER NOT NULL REFERENCES animal (id),
    weighed_on TEXT NOT NULL CHECK (weighed_on GLOB '????-??-??'),
    weight INTEGER NOT NULL CHECK (weight > 0),
    method TEXT NOT NULL CHECK (method IN ('scale', 'girth')),
    girth INTEGER,
    length INTEGER,
    created_at INTEGER NOT NULL
) STRICT;
-- the latest weight
CREATE INDEX live_weight_by_animal ON live_weight (animal_id, weighed_on);

-- Drug treatments. last_dose_time 'HH:MM' or empty when not known; counted in whole days of 24 hours from the last dose.
CREATE TABLE treatment (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    animal_id INTEGER NOT NULL REFERENCES animal (id),
    product TEXT NOT NULL CHECK (product <> ''),
    last_dose_on TEXT NOT NULL CHECK (last_dose_on GLOB '????-??-??'),
    last_dose_time TEXT NOT NULL DEFAULT '',
    withdrawal_days INTEGER NOT NULL CHECK (withdrawal_days BETWEEN 0 AND 1000),
    notes TEXT NOT NULL DEFAULT '',
    created_at INTEGER NOT NULL
) STRICT;
-- withdrawal check
CREATE INDEX treatment_by_animal ON treatment (animal_id);

-- One customer's claim on one share. The price fields are locked when it is taken and never change. waiting_since: on the waiting list.
CREATE TABLE reservation (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    number TEXT NOT NULL UNIQUE,
    customer_id INTEGER NOT NULL REFERENCES customer (id),
    offering_id INTEGER NOT NULL REFERENCES offering (id),
    size TEXT NOT NULL CHECK (size IN ('whole', 'half', 'quarter')),
    part TEXT CHECK (part IN ('split', 'fore', 'hind')),
    taken_at INTEGER NOT NULL,
    price_basis TEXT NOT NULL CHECK (price_basis IN ('hanging', 'live', 'flat')),
    rate INTEGER,
    flat_price INTEGER,
    deposit_asked INTEGER NOT NULL CHECK (deposit_asked >= 0),
    price_locked_on TEXT NOT NULL CHECK (price_locked_on GLOB '????-??-??'),
    wishes TEXT NOT NULL DEFAULT '',
    preferred_date_id INTEGER REFERENCES processing_date (id),
    waiting_since INTEGER,
    cancelled_at INTEGER,
    cancel_reason TEXT NOT NULL DEFAULT '',
    cancel_deposit TEXT CHECK (cancel_deposit IN ('none', 'refund', 'keep', 'carry')),
    collected_at INTEGER,
    version INTEGER NOT NULL DEFAULT 1,
    CHECK ((size = 'quarter') = (part IS NOT NULL))
) STRICT;
-- a customer's orders
CREATE INDEX reservation_by_customer ON reservation (customer_id, id);
-- what is left, and the waiting list in order of time
CREATE INDEX reservation_by_offering ON reservation (offering_id, waiting_since);

-- Which quarters of which animal a reservation has. slot: l1, l2, r1, r2; for fore and hind quarters 1 is fore, 2 is hind.
CREATE TABLE placement (
    animal_id INTEGER NOT NULL REFERENCES animal (id),
    slot TEXT NOT NULL CHECK (slot IN ('l1', 'l2', 'r1', 'r2')),
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    PRIMARY KEY (animal_id, slot)
) STRICT;
-- where an order stands
CREATE INDEX placement_by_reservation ON placement (reservation_id);

-- Whose shares had a place on an animal that was lost or condemned, and whether they were told.
CREATE TABLE lost_share (
    animal_id INTEGER NOT NULL REFERENCES animal (id),
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    lost_at INTEGER NOT NULL,
    told_at INTEGER,
    PRIMARY KEY (animal_id, reservation_id)
) STRICT;

-- Hanging weights the processor reported. Exactly one way of weighing is filled in; condemned 'whole' has none.
CREATE TABLE weigh_in (
    animal_id INTEGER NOT NULL PRIMARY KEY REFERENCES animal (id),
    weighed_on TEXT NOT NULL CHECK (weighed_on GLOB '????-??-??'),
    basis TEXT NOT NULL CHECK (basis IN ('hot', 'cold')),
    head_on INTEGER NOT NULL DEFAULT 0 CHECK (head_on IN (0, 1)),
    skin_on INTEGER NOT NULL DEFAULT 0 CHECK (skin_on IN (0, 1)),
    total INTEGER CHECK (total > 0),
    left_side INTEGER CHECK (left_side >= 0),
    right_side INTEGER CHECK (right_side >= 0),
    left_fore INTEGER CHECK (left_fore >= 0),
    left_hind INTEGER CHECK (left_hind >= 0),
    right_fore INTEGER CHECK (right_fore >= 0),
    right_hind INTEGER CHECK (right_hind >= 0),
    carcass_number TEXT NOT NULL DEFAULT '',
    condemned TEXT NOT NULL DEFAULT 'none' CHECK (condemned IN ('none', 'parts', 'whole')),
    condemned_note TEXT NOT NULL DEFAULT '',
    doubtful_confirmed INTEGER NOT NULL DEFAULT 0 CHECK (doubtful_confirmed IN (0, 1)),
    recorded_at INTEGER NOT NULL,
    version INTEGER NOT NULL DEFAULT 1
) STRICT;

-- Free lines of an order: delivery, discount. Taken over into the invoice when it is issued.
CREATE TABLE order_charge (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    name TEXT NOT NULL CHECK (name <> ''),
    amount INTEGER NOT NULL,
    tax_percent INTEGER NOT NULL DEFAULT 0 CHECK (tax_percent BETWEEN 0 AND 100000),
    created_at INTEGER NOT NULL
) STRICT;
-- an order's lines
CREATE INDEX order_charge_by_reservation ON order_charge (reservation_id, id);

-- Weight of product made for an order (patties, sausage, smoked), for charges per unit of product.
CREATE TABLE order_product (
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    charge_id INTEGER NOT NULL REFERENCES processor_charge (id),
    quantity INTEGER NOT NULL CHECK (quantity > 0),
    PRIMARY KEY (reservation_id, charge_id)
) STRICT;

-- Money received from (amount > 0, kind 'received') or given back to (kind 'refund', amount > 0) a customer. Never changed.
CREATE TABLE payment (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    customer_id INTEGER NOT NULL REFERENCES customer (id),
    kind TEXT NOT NULL CHECK (kind IN ('received', 'refund')),
    method TEXT NOT NULL CHECK (method IN ('cash', 'check', 'card', 'transfer', 'other')),
    amount INTEGER NOT NULL CHECK (amount > 0),
    received_on TEXT NOT NULL CHECK (received_on GLOB '????-??-??'),
    reference TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT '',
    recorded_at INTEGER NOT NULL
) STRICT;
-- a customer's payments and credit
CREATE INDEX payment_by_customer ON payment (customer_id, id);

-- Numbered receipts; document is the paper's content, frozen.
CREATE TABLE receipt (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    number TEXT NOT NULL UNIQUE,
    payment_id INTEGER NOT NULL REFERENCES payment (id),
    made_on TEXT NOT NULL CHECK (made_on GLOB '????-??-??'),
    document TEXT NOT NULL
) STRICT;
-- a payment's receipt
CREATE INDEX receipt_by_payment ON receipt (payment_id);

-- Issued invoices: never changed. document is the paper's content, frozen; its PDF can be made again byte for byte. due_on empty = before pickup.
CREATE TABLE invoice (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    number TEXT NOT NULL UNIQUE,
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    customer_id INTEGER NOT NULL REFERENCES customer (id),
    issued_on TEXT NOT NULL CHECK (issued_on GLOB '????-??-??'),
    due_on TEXT CHECK (due_on GLOB '????-??-??'),
    farm_total INTEGER NOT NULL,
    farm_tax INTEGER NOT NULL,
    processor_total INTEGER NOT NULL,
    processor_tax INTEGER NOT NULL,
    balance_due INTEGER NOT NULL,
    billed_weight INTEGER,
    document TEXT NOT NULL,
    issued_at INTEGER NOT NULL
) STRICT;
-- an order's invoices
CREATE INDEX invoice_by_reservation ON invoice (reservation_id, id);
-- a customer's invoices
CREATE INDEX invoice_by_customer ON invoice (customer_id, id);

-- The lines of an issued invoice, farm-billed and processor-billed.
CREATE TABLE invoice_line (
    invoice_id INTEGER NOT NULL REFERENCES invoice (id),
    position INTEGER NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('share', 'charge', 'free')),
    name TEXT NOT NULL,
    amount INTEGER NOT NULL,
    tax INTEGER NOT NULL,
    billed_by TEXT NOT NULL CHECK (billed_by IN ('farm', 'processor')),
    charge_id INTEGER REFERENCES processor_charge (id),
    PRIMARY KEY (invoice_id, position)
) STRICT;

-- Credit notes: each voids one invoice in full.
CREATE TABLE credit_note (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    number TEXT NOT NULL UNIQUE,
    invoice_id INTEGER NOT NULL UNIQUE REFERENCES invoice (id),
    issued_on TEXT NOT NULL CHECK (issued_on GLOB '????-??-??'),
    amount INTEGER NOT NULL,
    reason TEXT NOT NULL,
    document TEXT NOT NULL,
    issued_at INTEGER NOT NULL
) STRICT;

-- What a payment is for: a deposit on a reservation, or an invoice. Signed and append-only; a move is a minus and a plus. What is not allocated is the customer's credit.
CREATE TABLE allocation (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    payment_id INTEGER NOT NULL REFERENCES payment (id),
    reservation_id INTEGER REFERENCES reservation (id),
    invoice_id INTEGER REFERENCES invoice (id),
    amount INTEGER NOT NULL CHECK (amount <> 0),
    made_at INTEGER NOT NULL,
    CHECK ((reservation_id IS NULL) <> (invoice_id IS NULL))
) STRICT;
-- what is left of a payment
CREATE INDEX allocation_by_payment ON allocation (payment_id);
-- deposits held for an order
CREATE INDEX allocation_by_reservation ON allocation (reservation_id);
-- what is paid on an invoice
CREATE INDEX allocation_by_invoice ON allocation (invoice_id);

-- The outbox. channel 'mail', 'text' or 'letter'. attachment: kind and id of the paper ('invoice', 'receipt', 'credit_note'), made again when sent. What became of it is told by the *_at columns.
CREATE TABLE message (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    customer_id INTEGER REFERENCES customer (id),
    reservation_id INTEGER REFERENCES reservation (id),
    purpose TEXT NOT NULL,
    channel TEXT NOT NULL CHECK (channel IN ('mail', 'text', 'letter')),
    to_name TEXT NOT NULL,
    to_address TEXT NOT NULL,
    subject TEXT NOT NULL,
    body TEXT NOT NULL,
    attachment_kind TEXT CHECK (attachment_kind IN ('invoice', 'receipt', 'credit_note')),
    attachment_id INTEGER,
    message_id TEXT NOT NULL UNIQUE,
    queued_at INTEGER NOT NULL,
    next_try_at INTEGER,
    tries INTEGER NOT NULL DEFAULT 0,
    last_error TEXT,
    sent_at INTEGER,
    failed_at INTEGER,
    handed_over_at INTEGER,
    version INTEGER NOT NULL DEFAULT 1
) STRICT;
-- what the mail worker sends next
CREATE INDEX message_due ON message (next_try_at);
-- a customer's messages
CREATE INDEX message_by_customer ON message (customer_id, id);
-- an order's messages
CREATE INDEX message_by_reservation ON message (reservation_id, id);
-- what still waits for somebody, newest first
CREATE INDEX message_open ON message (id) WHERE sent_at IS NULL AND handed_over_at IS NULL;

-- Message wordings the farmer changed; a missing row means the default. short: the text message.
CREATE TABLE message_template (
    purpose TEXT NOT NULL PRIMARY KEY,
    subject TEXT NOT NULL,
    body TEXT NOT NULL,
    short TEXT NOT NULL,
    version INTEGER NOT NULL DEFAULT 1
) STRICT;

-- What happened, in sentences, oldest first; append-only. actor is the account's name or 'Gambrel'.
CREATE TABLE story (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    at INTEGER NOT NULL,
    actor TEXT NOT NULL,
    line TEXT NOT NULL,
    detail TEXT NOT NULL DEFAULT '',
    customer_id INTEGER REFERENCES customer (id),
    reservation_id INTEGER REFERENCES reservation (id),
    animal_id INTEGER REFERENCES animal (id),
    date_id INTEGER REFERENCES processing_date (id),
    invoice_id INTEGER REFERENCES invoice (id)
) STRICT;
-- an order's story
CREATE INDEX story_by_reservation ON story (reservation_id, id);
-- a customer's story
CREATE INDEX story_by_customer ON story (customer_id, id);
-- an animal's story
CREATE INDEX story_by_animal ON story (animal_id, id);
-- a date's story
CREATE INDEX story_by_date ON story (date_id, id);
