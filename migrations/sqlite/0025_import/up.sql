-- Lists on their way into the book: kept for a day, then forgotten. kind: customers, offerings, animals, reservations, payments.
CREATE TABLE import_file (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    kind TEXT NOT NULL,
    name TEXT NOT NULL,
    content TEXT NOT NULL,
    made_at INTEGER NOT NULL
) STRICT;
-- Which heading of lists of a kind means what, as JSON.
CREATE TABLE import_columns (
    kind TEXT PRIMARY KEY NOT NULL,
    document TEXT NOT NULL,
    changed_at INTEGER NOT NULL
) STRICT;
-- Lists that were taken into the book, so that the same one again is noticed. digest: SHA-256 of the decoded text. made: how many
-- of its lines made something. The key finds the list again by its kind and digest.
CREATE TABLE import_taken (
    kind TEXT NOT NULL,
    digest TEXT NOT NULL,
    name TEXT NOT NULL,
    made INTEGER NOT NULL CHECK (made >= 0),
    taken_by TEXT NOT NULL,
    taken_at INTEGER NOT NULL,
    PRIMARY KEY (kind, digest)
) STRICT;
