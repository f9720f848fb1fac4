-- What a share weighed packaged, as the farmer or its customer told it; what the plant entered stands in plant_entry. Every revision
-- stays; the last one of each source counts, and an empty weight takes what was told back. weight: in hundredths of the farm's unit.
CREATE TABLE packaged_weight (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    source TEXT NOT NULL CHECK (source IN ('farm', 'customer')),
    revision INTEGER NOT NULL CHECK (revision > 0),
    weight INTEGER CHECK (weight BETWEEN 1 AND 9999999),
    on_day TEXT NOT NULL CHECK (on_day GLOB '????-??-??'),
    told_by TEXT NOT NULL,
    told_at INTEGER NOT NULL
) STRICT;
-- an order's revisions, and one of each
CREATE UNIQUE INDEX packaged_weight_revision ON packaged_weight (reservation_id, source, revision);
