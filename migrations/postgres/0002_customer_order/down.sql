DROP INDEX customer_by_search;
CREATE INDEX customer_by_name ON customer (name, id);
