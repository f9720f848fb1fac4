DROP INDEX customer_by_name;
-- the list of customers by folded name, paged by key; search begins with the folded name
CREATE INDEX customer_by_search ON customer (search, id);
