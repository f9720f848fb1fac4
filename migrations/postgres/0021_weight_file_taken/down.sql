DROP TABLE weight_file_taken;
