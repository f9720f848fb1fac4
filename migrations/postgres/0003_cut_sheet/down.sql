DROP TABLE packet_sheet;
DROP TABLE packet;
DROP TABLE cut_sheet;
