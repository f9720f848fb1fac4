-- What was offered to somebody on the waiting list: their share, held for them until the end of the day answer_by. words: what was
-- offered, as it was said. outcome and closed_at come together when it is over. Rows are never removed.
CREATE TABLE waiting_offer (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    offering_id INTEGER NOT NULL REFERENCES offering (id),
    words TEXT NOT NULL,
    offered_at INTEGER NOT NULL,
    answer_by TEXT NOT NULL CHECK (answer_by GLOB '????-??-??'),
    outcome TEXT CHECK (outcome IN ('accepted', 'declined', 'lapsed', 'withdrawn')),
    closed_at INTEGER,
    CHECK ((outcome IS NULL) = (closed_at IS NULL))
) STRICT;
-- one open offer for a reservation, and finding it
CREATE UNIQUE INDEX waiting_offer_open ON waiting_offer (reservation_id) WHERE outcome IS NULL;
-- what is held of an offering, and who was asked
CREATE INDEX waiting_offer_by_offering ON waiting_offer (offering_id, outcome);

-- Days a person on the waiting list has to answer an offer.
ALTER TABLE farm ADD COLUMN offer_days INTEGER NOT NULL DEFAULT 3 CHECK (offer_days BETWEEN 1 AND 60);
