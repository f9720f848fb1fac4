-- The secret address of the farm's calendar feed; one works at a time. token_hash is the SHA-256 of the token.
CREATE TABLE calendar_feed (
    token_hash TEXT NOT NULL PRIMARY KEY,
    made_at INTEGER NOT NULL,
    ended_at INTEGER
) STRICT;

-- A calendar file (RFC 5545) that goes with a message, frozen. method as in RFC 5546.
CREATE TABLE message_calendar (
    message_id INTEGER PRIMARY KEY NOT NULL REFERENCES message (id),
    method TEXT NOT NULL CHECK (method IN ('PUBLISH', 'CANCEL')),
    body TEXT NOT NULL
) STRICT;
