-- What the farm decided where two quarters of one side wish otherwise. block: a block of the catalogue, or what holds for the whole
-- side such as steak_in. first and second: the two orders, the lower id first, and the revisions of their cut sheets it was decided
-- for, 0 for none; it holds only while both are those. A later decision of the same takes its place; the story keeps both.
CREATE TABLE side_decision (
    animal_id INTEGER NOT NULL REFERENCES animal (id),
    side TEXT NOT NULL CHECK (side IN ('left', 'right')),
    block TEXT NOT NULL,
    decision TEXT NOT NULL CHECK (decision IN ('first', 'second', 'pieces', 'standard')),
    first_id INTEGER NOT NULL REFERENCES reservation (id),
    first_revision INTEGER NOT NULL CHECK (first_revision >= 0),
    second_id INTEGER NOT NULL REFERENCES reservation (id),
    second_revision INTEGER NOT NULL CHECK (second_revision >= 0),
    decided_at INTEGER NOT NULL,
    decided_by TEXT NOT NULL,
    PRIMARY KEY (animal_id, side, block),
    CHECK (first_id < second_id)
) STRICT;
