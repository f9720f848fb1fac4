-- What an order asks of the planner beside its first choice of date, which is reservation.preferred_date_id. only_these: no other
-- date suits; else the others come after its choices. together: a name that the orders of one group share; empty: none.
-- weight_low and weight_high: what the share should weigh, hanging, in hundredths of the farm's unit.
CREATE TABLE share_wish (
    reservation_id INTEGER NOT NULL PRIMARY KEY REFERENCES reservation (id),
    only_these INTEGER NOT NULL DEFAULT 0 CHECK (only_these IN (0, 1)),
    together TEXT NOT NULL DEFAULT '',
    weight_low INTEGER CHECK (weight_low > 0),
    weight_high INTEGER CHECK (weight_high > 0),
    CHECK (weight_low <= weight_high)
) STRICT;

-- Second and later choices of date, in order.
CREATE TABLE later_choice (
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    place INTEGER NOT NULL CHECK (place BETWEEN 2 AND 20),
    date_id INTEGER NOT NULL REFERENCES processing_date (id),
    PRIMARY KEY (reservation_id, place),
    UNIQUE (reservation_id, date_id)
) STRICT;

-- Shares that stay where they are, whatever is planned. A share that loses its place loses its lock.
CREATE TABLE place_lock (
    reservation_id INTEGER NOT NULL PRIMARY KEY REFERENCES reservation (id),
    animal_id INTEGER NOT NULL REFERENCES animal (id),
    locked_at INTEGER NOT NULL
) STRICT;
-- the locks that go with a lost animal
CREATE INDEX place_lock_by_animal ON place_lock (animal_id);

-- Plans that were taken, whole or in part; undoes: the acceptance that this one took back.
CREATE TABLE plan_acceptance (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    accepted_at INTEGER NOT NULL,
    accepted_by TEXT NOT NULL,
    undoes INTEGER UNIQUE REFERENCES plan_acceptance (id)
) STRICT;

-- What moved: animal and sides ('left', 'right', 'both'), and the date the animal had then; nothing where the share had or got no
-- place. told_at: when its customer was written to about it.
CREATE TABLE plan_move (
    acceptance_id INTEGER NOT NULL REFERENCES plan_acceptance (id),
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    from_animal_id INTEGER REFERENCES animal (id),
    from_sides TEXT CHECK (from_sides IN ('left', 'right', 'both')),
    from_date_id INTEGER REFERENCES processing_date (id),
    to_animal_id INTEGER REFERENCES animal (id),
    to_sides TEXT CHECK (to_sides IN ('left', 'right', 'both')),
    to_date_id INTEGER REFERENCES processing_date (id),
    told_at INTEGER,
    PRIMARY KEY (acceptance_id, reservation_id),
    CHECK ((from_animal_id IS NULL) = (from_sides IS NULL)),
    CHECK ((to_animal_id IS NULL) = (to_sides IS NULL)),
    CHECK (from_animal_id IS NOT NULL OR to_animal_id IS NOT NULL)
) STRICT;

-- Quarters that must come onto a head for a custom-exempt plant before the planner begins it.
ALTER TABLE farm ADD COLUMN open_custom_from INTEGER NOT NULL DEFAULT 1 CHECK (open_custom_from BETWEEN 1 AND 4);
