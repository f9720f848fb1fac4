UPDATE processor_charge SET per = 'head' WHERE per = 'pack';
ALTER TABLE processor_charge DROP CONSTRAINT processor_charge_per_check;
ALTER TABLE processor_charge ADD CONSTRAINT processor_charge_per_check CHECK (per IN ('head', 'share', 'unit_hanging', 'unit_product'));
ALTER TABLE processor_charge DROP COLUMN service;
DROP TABLE processor_offer;
