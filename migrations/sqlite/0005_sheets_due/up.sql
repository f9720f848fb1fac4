-- Cut sheets: on which days before the deadline customers are reminded ("14, 5, 1"; empty: never), and whether the standard cut is entered when time is up.
ALTER TABLE farm ADD COLUMN sheet_reminders TEXT NOT NULL DEFAULT '14, 5, 1';
ALTER TABLE farm ADD COLUMN sheets_standard INTEGER NOT NULL DEFAULT 1 CHECK (sheets_standard IN (0, 1));

-- Of one date: nobody is reminded; customers may change their sheets although the deadline is over or the packet is sent; what the plant calls the booking.
ALTER TABLE processing_date ADD COLUMN no_reminders INTEGER NOT NULL DEFAULT 0 CHECK (no_reminders IN (0, 1));
ALTER TABLE processing_date ADD COLUMN sheets_open INTEGER NOT NULL DEFAULT 0 CHECK (sheets_open IN (0, 1));
ALTER TABLE processing_date ADD COLUMN plant_reference TEXT NOT NULL DEFAULT '';

-- When the packet went to the plant and who sent it; without it a packet is a draft.
ALTER TABLE packet ADD COLUMN sent_at INTEGER;
ALTER TABLE packet ADD COLUMN sent_by TEXT NOT NULL DEFAULT '';

-- A packet can go with a message. The column is made anew because its check becomes wider.
ALTER TABLE message ADD COLUMN paper_kind TEXT CHECK (paper_kind IN ('invoice', 'receipt', 'credit_note', 'packet'));
UPDATE message SET paper_kind = attachment_kind;
ALTER TABLE message DROP COLUMN attachment_kind;
ALTER TABLE message RENAME COLUMN paper_kind TO attachment_kind;

-- Who was reminded of a missing cut sheet, for which day before the deadline; once each. message_id: what was written.
CREATE TABLE sheet_reminder (
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    date_id INTEGER NOT NULL REFERENCES processing_date (id),
    days INTEGER NOT NULL CHECK (days >= 0),
    made_at INTEGER NOT NULL,
    message_id INTEGER REFERENCES message (id),
    PRIMARY KEY (reservation_id, date_id, days)
) STRICT;

-- What a customer wants changed after the sheets of a date were closed. sheet and special as in cut_sheet.
CREATE TABLE sheet_request (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    sheet TEXT NOT NULL,
    special TEXT NOT NULL DEFAULT '',
    asked_at INTEGER NOT NULL,
    decided_at INTEGER,
    decision TEXT CHECK (decision IN ('taken', 'refused')),
    note TEXT NOT NULL DEFAULT '',
    CHECK ((decided_at IS NULL) = (decision IS NULL))
) STRICT;
-- an order's requests
CREATE INDEX sheet_request_by_reservation ON sheet_request (reservation_id, id);
-- what waits for the farmer; an order has one open request at most
CREATE UNIQUE INDEX sheet_request_open ON sheet_request (reservation_id) WHERE decided_at IS NULL;
