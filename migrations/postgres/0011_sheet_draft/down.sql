DROP TABLE sheet_draft;
