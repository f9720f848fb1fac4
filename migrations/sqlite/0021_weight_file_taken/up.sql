-- Files of weights that were taken into the book, so that the same one again is noticed. digest: SHA-256 of the decoded text.
-- head: how many head its lines changed. The key finds the file again by its date and digest.
CREATE TABLE weight_file_taken (
    date_id INTEGER NOT NULL REFERENCES processing_date (id),
    digest TEXT NOT NULL,
    name TEXT NOT NULL,
    head INTEGER NOT NULL CHECK (head >= 0),
    taken_by TEXT NOT NULL,
    taken_at INTEGER NOT NULL,
    PRIMARY KEY (date_id, digest)
) STRICT;
