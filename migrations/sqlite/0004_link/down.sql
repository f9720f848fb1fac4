DROP TABLE cancel_request;
DROP TABLE link_session;
DROP TABLE customer_link;
