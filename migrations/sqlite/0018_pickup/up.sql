-- How the farm hands meat over; one row, none means the defaults of trade::pickup. hours_before: until how many hours before a window
-- customers choose by themselves. ask_every: who chose nothing is reminded every so many days, 0 never. storage_per empty: no charge.
CREATE TABLE pickup_rule (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    hold_until_paid INTEGER NOT NULL CHECK (hold_until_paid IN (0, 1)),
    hours_before INTEGER NOT NULL CHECK (hours_before BETWEEN 0 AND 336),
    ask_every INTEGER NOT NULL CHECK (ask_every BETWEEN 0 AND 60),
    remind_before INTEGER NOT NULL CHECK (remind_before IN (0, 1)),
    free_days INTEGER NOT NULL CHECK (free_days BETWEEN 0 AND 365),
    storage_per TEXT CHECK (storage_per IN ('day', 'week')),
    storage_amount INTEGER NOT NULL CHECK (storage_amount >= 0),
    version INTEGER NOT NULL DEFAULT 1
) STRICT;

-- Where meat is handed over: the processor's counter, the farm, a market stop. words: how to find it, what to bring.
CREATE TABLE pickup_place (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    name TEXT NOT NULL CHECK (name <> ''),
    address TEXT NOT NULL DEFAULT '',
    words TEXT NOT NULL DEFAULT '',
    retired_at INTEGER,
    created_at INTEGER NOT NULL,
    version INTEGER NOT NULL DEFAULT 1
) STRICT;

-- When the meat of a processing date can be collected, and by how many customers. opens and closes: 'HH:MM' on the farm's clock.
CREATE TABLE pickup_window (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    date_id INTEGER NOT NULL REFERENCES processing_date (id),
    place_id INTEGER NOT NULL REFERENCES pickup_place (id),
    on_day TEXT NOT NULL CHECK (on_day GLOB '????-??-??'),
    opens TEXT NOT NULL CHECK (opens GLOB '??:??'),
    closes TEXT NOT NULL CHECK (closes GLOB '??:??' AND closes > opens),
    most INTEGER NOT NULL CHECK (most BETWEEN 1 AND 1000),
    cancelled_at INTEGER,
    created_at INTEGER NOT NULL,
    version INTEGER NOT NULL DEFAULT 1
) STRICT;
-- a date's windows in order of time
CREATE INDEX pickup_window_by_date ON pickup_window (date_id, on_day, opens);
-- windows of a day, for reminders
CREATE INDEX pickup_window_by_day ON pickup_window (on_day);

-- An order's meat is ready. The storage rule is the one that was said with it. boxes empty: not known. message_id: the ready notice.
CREATE TABLE pickup_ready (
    reservation_id INTEGER PRIMARY KEY NOT NULL REFERENCES reservation (id),
    ready_on TEXT NOT NULL CHECK (ready_on GLOB '????-??-??'),
    boxes INTEGER CHECK (boxes BETWEEN 1 AND 999),
    free_days INTEGER NOT NULL CHECK (free_days BETWEEN 0 AND 365),
    storage_per TEXT CHECK (storage_per IN ('day', 'week')),
    storage_amount INTEGER NOT NULL CHECK (storage_amount >= 0),
    message_id INTEGER REFERENCES message (id),
    said_at INTEGER NOT NULL
) STRICT;
-- what is ready and not collected, of the last two years
CREATE INDEX pickup_ready_by_day ON pickup_ready (ready_on);

-- The window an order was given; empty when it lost the one it had. times counts the changes, for calendars.
CREATE TABLE pickup_choice (
    reservation_id INTEGER PRIMARY KEY NOT NULL REFERENCES reservation (id),
    window_id INTEGER REFERENCES pickup_window (id),
    chosen_at INTEGER NOT NULL,
    chosen_by TEXT NOT NULL,
    times INTEGER NOT NULL DEFAULT 0 CHECK (times >= 0)
) STRICT;
-- how many come in a window
CREATE INDEX pickup_choice_by_window ON pickup_choice (window_id);

-- What a customer wrote because no window fits.
CREATE TABLE pickup_note (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    words TEXT NOT NULL CHECK (words <> ''),
    asked_at INTEGER NOT NULL,
    answered_at INTEGER
) STRICT;
-- what waits for the farmer; an order has one open note at most
CREATE UNIQUE INDEX pickup_note_open ON pickup_note (reservation_id) WHERE answered_at IS NULL;

-- Whom Gambrel reminded by itself, once for each kind and day. kind 'choose': nothing was chosen; 'coming': the window comes.
CREATE TABLE pickup_reminder (
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    kind TEXT NOT NULL CHECK (kind IN ('choose', 'coming')),
    for_day TEXT NOT NULL CHECK (for_day GLOB '????-??-??'),
    message_id INTEGER NOT NULL REFERENCES message (id),
    made_at INTEGER NOT NULL,
    PRIMARY KEY (reservation_id, kind, for_day)
) STRICT;

-- Who collected an order's meat, and who ticked it off; reservation.collected_at is when.
CREATE TABLE pickup_collected (
    reservation_id INTEGER PRIMARY KEY NOT NULL REFERENCES reservation (id),
    by_name TEXT NOT NULL CHECK (by_name <> ''),
    noted_by TEXT NOT NULL,
    noted_at INTEGER NOT NULL
) STRICT;

-- Storage the farmer charged: through which day, and where it stands: a line of the order (gone with it), or a change of an issued invoice.
CREATE TABLE storage_charge (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    through_day TEXT NOT NULL CHECK (through_day GLOB '????-??-??'),
    amount INTEGER NOT NULL CHECK (amount > 0),
    order_charge_id INTEGER REFERENCES order_charge (id) ON DELETE CASCADE,
    change_id INTEGER REFERENCES invoice_change (id),
    made_at INTEGER NOT NULL,
    CHECK ((order_charge_id IS NULL) <> (change_id IS NULL))
) STRICT;
-- what an order was charged so far
CREATE INDEX storage_charge_by_reservation ON storage_charge (reservation_id);
-- what goes when a line is taken off
CREATE INDEX storage_charge_by_line ON storage_charge (order_charge_id);
