ALTER TABLE farm DROP COLUMN offer_days;
DROP TABLE waiting_offer;
