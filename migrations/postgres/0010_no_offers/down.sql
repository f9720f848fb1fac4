ALTER TABLE customer DROP COLUMN no_offers;
