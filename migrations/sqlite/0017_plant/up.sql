-- Private links of processors: each opens one processing date and nothing else. token_hash: SHA-256 of the token; the token itself is
-- nowhere. made_for as in customer_link. Several may be live; they are revoked together.
CREATE TABLE plant_link (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    date_id INTEGER NOT NULL REFERENCES processing_date (id),
    token_hash TEXT NOT NULL UNIQUE,
    made_at INTEGER NOT NULL,
    made_for TEXT NOT NULL CHECK (made_for IN ('mail', 'shown')),
    last_used_at INTEGER,
    revoked_at INTEGER
) STRICT;
-- the live links of a date: shown on its page, revoked together
CREATE INDEX plant_link_live ON plant_link (date_id) WHERE revoked_at IS NULL;

-- Browsers at the plant that opened one. name: who opened it, as they typed it.
CREATE TABLE plant_session (
    id_hash TEXT NOT NULL PRIMARY KEY,
    link_id INTEGER NOT NULL REFERENCES plant_link (id),
    name TEXT NOT NULL,
    form_secret TEXT NOT NULL,
    made_at INTEGER NOT NULL,
    last_seen_at INTEGER NOT NULL,
    ends_at INTEGER NOT NULL
) STRICT;
-- forgetting those that ended
CREATE INDEX plant_session_end ON plant_session (ends_at);

-- The plant said that it has a packet, once for each.
CREATE TABLE packet_receipt (
    packet_id INTEGER NOT NULL PRIMARY KEY REFERENCES packet (id),
    received_by TEXT NOT NULL,
    received_at INTEGER NOT NULL
) STRICT;

-- What the plant entered, every revision of it, waiting for the farm's answer. document: trade::plant_entry as JSON, because its kinds
-- differ and it is always read whole. told_at: when the farm was mailed about it. Rows are never removed.
CREATE TABLE plant_entry (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    date_id INTEGER NOT NULL REFERENCES processing_date (id),
    kind TEXT NOT NULL CHECK (kind IN ('carcass', 'boxes', 'ready', 'note')),
    animal_id INTEGER REFERENCES animal (id),
    reservation_id INTEGER REFERENCES reservation (id),
    revision INTEGER NOT NULL CHECK (revision > 0),
    document TEXT NOT NULL,
    entered_by TEXT NOT NULL,
    entered_at INTEGER NOT NULL,
    told_at INTEGER,
    answer TEXT CHECK (answer IN ('taken', 'refused', 'replaced')),
    answered_by TEXT NOT NULL DEFAULT '',
    answered_at INTEGER,
    words TEXT NOT NULL DEFAULT '',
    CHECK ((answer IS NULL) = (answered_at IS NULL)),
    CHECK ((kind = 'carcass') = (animal_id IS NOT NULL)),
    CHECK ((kind = 'boxes') = (reservation_id IS NOT NULL))
) STRICT;
-- a date's entries, and one of each revision
CREATE UNIQUE INDEX plant_entry_revision ON plant_entry (date_id, kind, COALESCE(animal_id, 0), COALESCE(reservation_id, 0), revision);
-- one of each waits at most (notes are read one by one); what waits, on Today and for the mail about it
CREATE UNIQUE INDEX plant_entry_waits ON plant_entry (date_id, kind, COALESCE(animal_id, 0), COALESCE(reservation_id, 0)) WHERE answer IS NULL AND kind <> 'note';
CREATE INDEX plant_entry_open ON plant_entry (date_id) WHERE answer IS NULL;
-- the boxes of an order
CREATE INDEX plant_entry_order ON plant_entry (reservation_id) WHERE reservation_id IS NOT NULL;

-- A file of weights that somebody is about to take in, decoded; it is gone when it was taken, and after a day.
CREATE TABLE weight_file (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    date_id INTEGER NOT NULL REFERENCES processing_date (id),
    name TEXT NOT NULL,
    content TEXT NOT NULL,
    made_at INTEGER NOT NULL
) STRICT;

-- Which heading of a processor's files means what, as the farmer matched them last. document: heading by field, as JSON.
CREATE TABLE processor_columns (
    processor_id INTEGER NOT NULL PRIMARY KEY REFERENCES processor (id),
    document TEXT NOT NULL,
    changed_at INTEGER NOT NULL
) STRICT;
