-- What a processor leaves out of a species' cuts, and its limits. One document (trade::cuts::offer), because it is always read
-- whole and names ids of the catalogue, which no table holds. No row: the processor does everything. Rows are never removed.
CREATE TABLE processor_offer (
    processor_id INTEGER NOT NULL REFERENCES processor (id),
    species TEXT NOT NULL CHECK (species IN ('beef', 'hog', 'lamb', 'goat')),
    document TEXT NOT NULL,
    changed_at INTEGER NOT NULL,
    version INTEGER NOT NULL DEFAULT 1,
    PRIMARY KEY (processor_id, species)
) STRICT;

-- What a charge by product or pack is for, so that it can be reckoned from a cut sheet; empty: only from what an order says.
ALTER TABLE processor_charge ADD COLUMN service TEXT CHECK (service IN ('pack', 'cure', 'season', 'link', 'patty', 'cube', 'lard'));

-- A charge can go by the pack. The column is made anew because its check becomes wider.
ALTER TABLE processor_charge ADD COLUMN reckoned_per TEXT NOT NULL DEFAULT 'head' CHECK (reckoned_per IN ('head', 'share', 'unit_hanging', 'unit_product', 'pack'));
UPDATE processor_charge SET reckoned_per = per;
ALTER TABLE processor_charge DROP COLUMN per;
ALTER TABLE processor_charge RENAME COLUMN reckoned_per TO per;
