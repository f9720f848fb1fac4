-- One share's cutting instructions. sheet: what was chosen, as JSON; special: a wish in words. revision counts changes.
CREATE TABLE cut_sheet (
    reservation_id INTEGER NOT NULL PRIMARY KEY REFERENCES reservation (id),
    sheet TEXT NOT NULL,
    special TEXT NOT NULL DEFAULT '',
    origin TEXT NOT NULL CHECK (origin IN ('entered', 'standard')),
    revision INTEGER NOT NULL CHECK (revision > 0),
    entered_at INTEGER NOT NULL,
    version INTEGER NOT NULL DEFAULT 1
) STRICT;

-- What was made for the processor of a date: the document, frozen. Numbered from 1 for each date; never changed.
CREATE TABLE packet (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    date_id INTEGER NOT NULL REFERENCES processing_date (id),
    number INTEGER NOT NULL CHECK (number > 0),
    document TEXT NOT NULL,
    made_at INTEGER NOT NULL,
    UNIQUE (date_id, number)
) STRICT;

-- Which revision of whose sheet stands in a packet.
CREATE TABLE packet_sheet (
    packet_id INTEGER NOT NULL REFERENCES packet (id),
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    revision INTEGER NOT NULL,
    PRIMARY KEY (packet_id, reservation_id)
) STRICT;
