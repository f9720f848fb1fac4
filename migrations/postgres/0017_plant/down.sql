DROP TABLE processor_columns;
DROP TABLE weight_file;
DROP TABLE plant_entry;
DROP TABLE packet_receipt;
DROP TABLE plant_session;
DROP TABLE plant_link;
