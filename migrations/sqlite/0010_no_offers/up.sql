-- Asked not to hear what else is for sale. Messages about the customer's own orders go out all the same.
ALTER TABLE customer ADD COLUMN no_offers INTEGER NOT NULL DEFAULT 0 CHECK (no_offers IN (0, 1));
