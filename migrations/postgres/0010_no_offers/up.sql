-- Asked not to hear what else is for sale. Messages about the customer's own orders go out all the same.
ALTER TABLE customer ADD COLUMN no_offers BOOLEAN NOT NULL DEFAULT FALSE;
