ALTER TABLE processor_charge ADD COLUMN reckoned_per TEXT NOT NULL DEFAULT 'head' CHECK (reckoned_per IN ('head', 'share', 'unit_hanging', 'unit_product'));
UPDATE processor_charge SET reckoned_per = per WHERE per <> 'pack';
ALTER TABLE processor_charge DROP COLUMN per;
ALTER TABLE processor_charge RENAME COLUMN reckoned_per TO per;
ALTER TABLE processor_charge DROP COLUMN service;
DROP TABLE processor_offer;
