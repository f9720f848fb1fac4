DROP TABLE import_taken;
DROP TABLE import_columns;
DROP TABLE import_file;
